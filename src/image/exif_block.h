/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * exif_block.h - the few EXIF fields of interest, out of a TIFF stream
 *
 * Private to this folder.  An EXIF block is a TIFF stream: a whole TIFF or BigTIFF
 * file, or the bytes of a PNG's eXIf chunk, which hold directories without a
 * picture.  One parser serves both, because libtiff refuses directories without
 * a picture and gives rationals as float or double depending on its version.
 *
 * Made for hostile input: every offset is read through the source's own bounds
 * check, no count is trusted, nothing is allocated, and nothing fails: what
 * cannot be read is not there.
 *
 * Tags and types: CIPA DC-008 (Exif 2.3) and TIFF 6.0, numbers checked against
 * libtiff's tiff.h.
 */
#ifndef QS_IMAGE_EXIF_BLOCK_H
#define QS_IMAGE_EXIF_BLOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Bytes from somewhere: false where offset ... offset + bytes - 1 are not all there. */
struct qs_exif_source {
    bool (*read_at)(void *context, uint64_t offset, void *into, size_t bytes);
    void *context;
};

/* A context for qs_exif_read_memory. */
struct qs_exif_memory {
    const unsigned char *bytes;
    size_t size;
};

/* A stream whose header has been understood. */
struct qs_exif_stream {
    struct qs_exif_source source;
    bool big_endian;
    bool big_tiff;
    uint64_t first_directory; /* offset */
};

enum qs_exif_field {
    QS_EXIF_MAKE,        /* text */
    QS_EXIF_MODEL,       /* text */
    QS_EXIF_ORIENTATION, /* 1 to 8 in a sound file */
    QS_EXIF_DIRECTORY,   /* offset of the EXIF directory, in a main directory */
    QS_EXIF_EXPOSURE_TIME,
    QS_EXIF_F_NUMBER,
    QS_EXIF_ISO,
    QS_EXIF_SENSITIVITY_TYPE,
    QS_EXIF_OUTPUT_SENSITIVITY,   /* SOS */
    QS_EXIF_RECOMMENDED_EXPOSURE, /* REI */
    QS_EXIF_ISO_SPEED,
    QS_EXIF_SHUTTER_SPEED, /* APEX Tv */
    QS_EXIF_APERTURE,      /* APEX Av */
    QS_EXIF_EXPOSURE_BIAS, /* stops */
    QS_EXIF_FIELDS
};

enum {
    QS_EXIF_TEXT_BYTES = 256
};

/* What one directory says.  A number is finite; of several values, the first. */
struct qs_exif_fields {
    bool has[QS_EXIF_FIELDS];
    double number[QS_EXIF_FIELDS];
    char make[QS_EXIF_TEXT_BYTES];  /* as stored, ends with NUL, cut if longer */
    char model[QS_EXIF_TEXT_BYTES]; /* likewise */
};

/* One entry of a directory, its values not yet fetched. */
struct qs_exif_entry {
    uint16_t tag;
    uint16_t type;
    uint64_t count;        /* of values, at least 1 */
    uint64_t value_offset; /* in the stream, of the first value */
};

/* read_at of a struct qs_exif_memory. */
bool
qs_exif_read_memory(void *context, uint64_t offset, void *into, size_t bytes);

/* Reads the header; false where it is not that of a TIFF stream. */
bool
qs_exif_start(struct qs_exif_stream *stream, struct qs_exif_source source);

/* Bytes of one value, 0 for a type that is not known. */
size_t
qs_exif_type_bytes(uint16_t type);

/*
 * Calls `visit` for the entries of the directory at `directory` in their order, until
 * it returns false.  Left out: entries of unknown type, and those without a value.
 */
void
qs_exif_each(const struct qs_exif_stream *stream, uint64_t directory,
             bool (*visit)(void *context, const struct qs_exif_entry *entry),
             void *context);

/* The first value of an entry as an offset; false where it is not a whole number. */
bool
qs_exif_offset(const struct qs_exif_stream *stream, const struct qs_exif_entry *entry,
               uint64_t *offset);

/* Fills *fields from the directory at `directory`; nothing there: all unknown. */
void
qs_exif_read(const struct qs_exif_stream *stream, uint64_t directory,
             struct qs_exif_fields *fields);

#endif
