/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * notes.h - what a file says besides its pixels, carried to another file
 *
 * The tags of a picture's directory that do not describe how the pixels lie there, and
 * those of its EXIF, GPS and interoperability directories: every tag of a known type,
 * maker notes byte for byte.  They come from a TIFF stream (image/exif_block.h) and go
 * into another, in this machine's byte order.
 *
 * Left out, because they would be untrue or lead nowhere: layout of the pixels,
 * resolution, orientation and profile, which whoever writes the picture sets; previews;
 * directories that are not one of the four.
 *
 * Threads: each struct belongs to one thread at a time.
 * Tags: TIFF 6.0 and CIPA DC-008 (Exif 2.3), numbers checked against libtiff's tiff.h.
 */
#ifndef QS_IMAGE_NOTES_H
#define QS_IMAGE_NOTES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "image/exif_block.h"

enum qs_note_place {
    QS_NOTES_PICTURE,
    QS_NOTES_EXIF,
    QS_NOTES_GPS,
    QS_NOTES_INTEROP,
    QS_NOTE_PLACES /* how many */
};

/* A tag of QS_NOTES_PICTURE: the XMP packet. */
#define QS_NOTE_XMP 700

struct qs_note {
    uint16_t tag;
    uint16_t type;
    uint64_t count; /* of values, below 2^32 */
    uint8_t *bytes; /* the values, numbers in the machine's byte order */
    size_t size;
};

/* One directory, by rising tag; no tag twice. */
struct qs_note_list {
    struct qs_note *notes;
    size_t count;
};

struct qs_notes {
    struct qs_note_list at[QS_NOTE_PLACES];
    size_t lost;   /* tags that were cut off or are too long to be carried */
    size_t unread; /* too damaged to be made true: image/notes_true.h */
};

/* More than this is not carried: no sound file says so much. */
#define QS_NOTES_MOST_BYTES ((size_t)64 << 20)

/*
 * Reads the directory at `directory`, and those it leads to.
 *
 *   QS_OK           *out is to be freed with qs_notes_free
 *   QS_ERR_MEMORY   *out is empty
 */
QS_MUST_CHECK enum qs_status
qs_notes_read(const struct qs_exif_stream *stream, uint64_t directory,
              struct qs_notes *out, struct qs_error *err);

/* Frees what it holds and makes it empty; an empty one is allowed. */
void
qs_notes_free(struct qs_notes *notes);

/* The note of this tag, NULL = there is none. */
struct qs_note *
qs_notes_find(struct qs_note_list *list, uint16_t tag);

/* Takes the note of this tag away, if there is one. */
void
qs_notes_drop(struct qs_note_list *list, uint16_t tag);

/*
 * Sets a tag to `size` bytes, which are copied, in place of what it said; of `type`,
 * whose values these are.  The second: to one whole number, TIFF's LONG.
 *
 *   QS_OK
 *   QS_ERR_MEMORY   the list is as before
 */
QS_MUST_CHECK enum qs_status
qs_notes_set_bytes(struct qs_note_list *list, uint16_t tag, uint16_t type,
                   const void *bytes, size_t size, struct qs_error *err);

QS_MUST_CHECK enum qs_status
qs_notes_set_number(struct qs_note_list *list, uint16_t tag, uint32_t value,
                    struct qs_error *err);

/*
 * All of it as a TIFF stream of its own without a picture, as in PNG's eXIf chunk; with
 * an `orientation` of 1 to 8 as in TIFF tag 274.
 *
 *   QS_OK           *out, of *size bytes, is to be freed with qs_free
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_notes_stream(const struct qs_notes *notes, int orientation, uint8_t **out,
                size_t *size, struct qs_error *err);

#endif
