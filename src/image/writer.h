/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * writer.h - a picture written to a TIFF or PNG file, strip by strip
 *
 * A file is made in four steps: open, pack each strip, put each strip, close.
 * Packing (predictor, filters, compression) takes nearly all of the time, and any
 * number of threads may do it at once, in any order; putting is quick, and is done
 * in order.  Memory: no more than the strips that are packed and not yet put, each
 * of some hundred kilobytes.  The bytes of a file do not depend on the number of
 * threads.
 *
 * TIFF: interleaved strips in the machine's byte order, unsigned integers, classic
 * where the file is sure to stay below 4 GB and BigTIFF elsewhere; predictor 2 with
 * every compression.  PNG: not interlaced, each row through the filter that leaves
 * the smallest differences, one deflate stream in which no strip looks back at
 * another.  Both may be none or deflate; LZW and zstd are TIFF's.
 *
 * Resolution, orientation, profile and notes (image/notes.h) go with the pixels: in
 * TIFF as tags, in PNG as pHYs, iCCP, eXIf and, for XMP, iTXt.
 *
 * Threads: a writer belongs to one thread at a time, but for qs_writer_pack, which
 * may run in many next to all else but close and drop.
 */
#ifndef QS_IMAGE_WRITER_H
#define QS_IMAGE_WRITER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "image/image.h"
#include "image/notes.h"
#include "image/seal.h"

enum qs_file_format {
    QS_FILE_TIFF,
    QS_FILE_PNG
};

enum qs_compression {
    QS_COMPRESS_NONE,
    QS_COMPRESS_DEFLATE,
    QS_COMPRESS_LZW,
    QS_COMPRESS_ZSTD,
    QS_COMPRESSIONS /* how many */
};

struct qs_compression_kind {
    const char *key;   /* as users write it */
    uint16_t tiff_tag; /* value of TIFF's tag 259 */
    bool in_png;       /* PNG can have it */
    bool built;        /* this build can write it */
};

/* The row of one compression, `compression` below QS_COMPRESSIONS. */
const struct qs_compression_kind *
qs_compression_kind(enum qs_compression compression);

/* What is to be written. Zeros mean "none" where nothing else is said. */
struct qs_picture_plan {
    int width;           /* pixels, 1 to QS_WRITER_LONGEST_SIDE */
    int height;          /* pixels, likewise */
    int channels;        /* colour samples of a pixel: 1 grey, 3 RGB */
    int bits;            /* of a sample: 8 or 16 */
    enum qs_alpha alpha; /* what one more sample is, the last; PNG: none or straight */
    enum qs_file_format format;
    enum qs_compression compression;
    int most_rows;      /* of a strip, below what is usual; 0 = the usual */
    double ppi;         /* pixels per inch, 0 = not said, else 1 to 100000 */
    int orientation;    /* 1 to 8, TIFF's tag 274 */
    const uint8_t *icc; /* profile bytes, the caller's; NULL = none */
    size_t icc_size;
    const struct qs_colour_tags *colour; /* PNG: what chunks say beside a profile, the
                                            caller's; NULL = nothing */
    const struct qs_notes *notes; /* the caller's until the file is closed; NULL =
                                     none */
};

#define QS_WRITER_LONGEST_SIDE 1000000

enum {
    QS_WRITER_FEWEST_ROWS = 16, /* of a strip; fewer only in a picture of fewer */
    QS_WRITER_MOST_ROWS = 64
};

struct qs_writer;

/* A strip as it goes into the file; a zeroed one is empty. */
struct qs_packed {
    int index;            /* which strip, 0 = top */
    const uint8_t *bytes; /* the codes given, or */
    uint8_t *owned;       /*   these, freed by qs_packed_clear; else NULL */
    size_t size;
    size_t plain_size; /* PNG: bytes before compression */
    uint32_t check;    /* PNG: their Adler-32 sum */
};

/*
 * Creates the file `path`, or empties the one that is there, and writes what comes
 * before the pixels.  Whoever must not lose an older file gives a name beside it and
 * renames after qs_writer_close.  What *plan points to is needed only during the
 * call, but for the notes.
 *
 *   QS_OK               *out is to be ended by qs_writer_close or qs_writer_drop
 *   QS_ERR_UNSUPPORTED  a compression that this build or this format lacks, a ppi out
 *                       of range, or a profile PNG does not take for such a picture
 *                       (it must be of the same kind, grey or RGB, and sound)
 *   QS_ERR_WRITE        the file cannot be created or written, or is a pipe, a device
 *                       or a folder, which are left alone
 *   QS_ERR_MEMORY       *out is NULL, as after every failure; a file may be there
 */
QS_MUST_CHECK enum qs_status
qs_writer_open(const char *path, const struct qs_picture_plan *plan,
               struct qs_writer **out, struct qs_error *err);

/*
 * Rows of every strip but the last, which has what is left: as many as fit into
 * 1 MB, within QS_WRITER_FEWEST_ROWS and QS_WRITER_MOST_ROWS, or the whole picture, but
 * no more than the plan says.
 */
int
qs_writer_strip_rows(const struct qs_writer *writer);

/* Strips of the picture, at least 1. */
int
qs_writer_strips(const struct qs_writer *writer);

/*
 * Makes of the `rows` rows of strip `index`, which are all of its rows, the bytes
 * that go into the file.  `codes`: interleaved samples in the machine's byte order,
 * uint8_t or uint16_t, rows without gaps (grey: v v v; RGB with alpha:
 * r g b a r g b a).  They stay the caller's, and stay as they are until the strip has
 * been put: where nothing is to be done to them they are not copied.  With LZW they are
 * compressed in qs_writer_put.
 *
 *   QS_OK          *out is to be cleared with qs_packed_clear
 *   QS_ERR_MEMORY  *out is empty
 */
QS_MUST_CHECK enum qs_status
qs_writer_pack(const struct qs_writer *writer, int index, const void *codes, int rows,
               struct qs_packed *out, struct qs_error *err);

/*
 * Writes a packed strip; strip 0 first, then 1, and so on.  *packed stays the
 * caller's.  After a failure the file is lost: qs_writer_drop is what is left to do.
 *
 *   QS_OK          the strip is in the file
 *   QS_ERR_WRITE   the disk is full, or another reason the sentence gives
 *   QS_ERR_MEMORY  memory ran out
 */
QS_MUST_CHECK enum qs_status
qs_writer_put(struct qs_writer *writer, const struct qs_packed *packed,
              struct qs_error *err);

/* Frees the bytes, if they are its own, and makes *packed empty; an empty one is
 * allowed. */
void
qs_packed_clear(struct qs_packed *packed);

/*
 * Writes what comes after the pixels and, at the very end, `seal`: QS_SEAL_BYTES
 * (image/seal.h), or NULL.  Closes the file, after all strips have been put.  Frees the
 * writer, also on failure.
 *
 *   QS_OK          the file is whole and on the disk, as far as the system has said
 *   QS_ERR_WRITE   it is not
 *   QS_ERR_MEMORY  likewise
 */
QS_MUST_CHECK enum qs_status
qs_writer_close(struct qs_writer *writer, const char *seal, struct qs_error *err);

/*
 * Gives up: closes the file, which is of no use and for the caller to remove, and
 * frees the writer.  NULL is allowed.
 */
void
qs_writer_drop(struct qs_writer *writer);

#endif
