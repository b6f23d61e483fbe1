/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * image.h - a TIFF or PNG file as strips of rows
 *
 * Opens a picture, says what it is, and hands out its rows from the top as the
 * code values that are in the file.  The picture is never held whole, with one
 * exception: an interlaced PNG, which cannot be decoded otherwise.
 *
 * Taken: TIFF of 8, 16 and 32 bit integers and 16, 32 and 64 bit floats, grey or
 * RGB, with or without alpha and other extra samples, strips or tiles, interleaved
 * or in planes, either byte order, classic or BigTIFF, none, LZW, deflate,
 * PackBits, JPEG (marked as lossy) and, where libtiff has it, zstd, predictors 2
 * and 3, the first full-size page; PNG of 8 and 16 bits, grey or RGB, with or without
 * alpha, interlaced or not. Anything else is refused with QS_ERR_UNSUPPORTED and a
 * sentence that says what to export instead.
 *
 * Rows: colour samples alone, interleaved (grey: v v v; RGB: r g b r g b), in
 * the machine's byte order.  Alpha and other extra samples are dropped, unless asked
 * for by qs_image_open_with_alpha (RGB: r g b a r g b a); min-is-white codes have been
 * turned over, so that a higher code is always lighter.  16-bit floats come as 32-bit
 * ones.  Orientation is not applied.
 *
 * Threads: an image belongs to one thread at a time.
 */
#ifndef QS_IMAGE_IMAGE_H
#define QS_IMAGE_IMAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/plane.h"
#include "base/status.h"
#include "image/notes.h"
#include "image/shot.h"

struct qs_image;

enum qs_sample {
    QS_SAMPLE_U8,
    QS_SAMPLE_U16,
    QS_SAMPLE_U32,
    QS_SAMPLE_F32,
    QS_SAMPLE_F64
};

/* What the sample after the colours says, where it is handed out. */
enum qs_alpha {
    QS_ALPHA_NONE,
    QS_ALPHA_STRAIGHT,   /* how opaque the pixel is; colours are as they are */
    QS_ALPHA_MULTIPLIED, /* how opaque; colours have been multiplied by it */
    QS_ALPHA_MASK        /* something of its own, such as a selection */
};

/* What the file says about its colour; the first one present is to be believed. */
enum qs_colour_claim {
    QS_CLAIM_NONE,
    QS_CLAIM_CICP, /* PNG cICP */
    QS_CLAIM_ICC,  /* an embedded ICC profile */
    QS_CLAIM_SRGB, /* PNG sRGB */
    QS_CLAIM_GAMA  /* PNG gAMA, with or without cHRM */
};

struct qs_colour_tags {
    enum qs_colour_claim claim; /* the highest one present, PNG 3rd edition 4.3 */
    const uint8_t *icc; /* with QS_CLAIM_ICC: profile bytes, owned by the image */
    size_t icc_size;
    uint8_t cicp[4]; /* with QS_CLAIM_CICP: primaries, transfer, matrix, full range */
    double gama;     /* with QS_CLAIM_GAMA: file gamma, e.g. 0.45455 */
    bool has_chromaticity;
    double chromaticity[8]; /* white x y, red x y, green x y, blue x y */
};

struct qs_image_info {
    bool is_png;          /* else TIFF */
    int width;            /* pixels, >= 1 */
    int height;           /* pixels, >= 1 */
    int channels;         /* colour channels handed out: 1 grey, 3 RGB */
    enum qs_alpha alpha;  /* whether one more sample is handed out */
    int bits;             /* per sample as stored: 8, 16, 32, 64 */
    int significant_bits; /* PNG sBIT, 0 = not said */
    bool is_float;
    enum qs_sample sample; /* carrier of the rows handed out */
    bool had_alpha;        /* an alpha channel was left aside */
    bool had_extra;        /* further extra samples were left aside */
    bool lossy;            /* stored with lossy compression (JPEG inside TIFF) */
    int pages;             /* pages of the size of the one read, which is the first */
    double ppi;            /* pixels per inch, 0 = not said */
    struct qs_colour_tags colour;
    struct qs_shot shot;
};

/*
 * Opens the picture in file `path` and reads all that is said of it.
 *
 *   QS_OK               *out is to be closed with qs_image_close
 *   QS_ERR_OPEN         no such file, a folder, a pipe, or no permission
 *   QS_ERR_READ         neither TIFF nor PNG, or damaged
 *   QS_ERR_UNSUPPORTED  a kind of picture this program does not take
 *   QS_ERR_MEMORY       *out is NULL, as after every failure
 */
QS_MUST_CHECK enum qs_status
qs_image_open(const char *path, struct qs_image **out, struct qs_error *err);

/* The same, but one extra sample of each pixel, alpha before others, is handed out. */
QS_MUST_CHECK enum qs_status
qs_image_open_with_alpha(const char *path, struct qs_image **out, struct qs_error *err);

/* Closes; NULL is allowed. */
void
qs_image_close(struct qs_image *image);

/* What the picture is; valid until the image is closed. */
const struct qs_image_info *
qs_image_info(const struct qs_image *image);

/*
 * What the file says besides its pixels and its colour, for another file.
 *
 *   QS_OK            *out is to be freed with qs_notes_free; it may be empty
 *   QS_ERR_MEMORY    *out is empty
 */
QS_MUST_CHECK enum qs_status
qs_image_notes(struct qs_image *image, struct qs_notes *out, struct qs_error *err);

/* Bytes of one sample as handed out. */
size_t
qs_sample_bytes(enum qs_sample sample);

/* Samples of a pixel as handed out: channels, and alpha. */
int
qs_image_samples(const struct qs_image_info *info);

/* Bytes of one row as handed out: width x samples x sample size. */
size_t
qs_image_row_bytes(const struct qs_image *image);

/*
 * Reads the next `rows` rows, in order from the top, into `into`, which has room
 * for rows x qs_image_row_bytes and is aligned for the samples, as memory from
 * qs_alloc is.  Asking beyond the last row is a caller's mistake.
 *
 *   QS_OK          all rows are there
 *   QS_ERR_READ    the file is damaged or ends too soon; `into` is undefined
 *   QS_ERR_MEMORY  likewise
 *
 * After a failure the same rows are next.
 */
QS_MUST_CHECK enum qs_status
qs_image_read(struct qs_image *image, int rows, void *into, struct qs_error *err);

/*
 * Whether the file holds its pixels one by one, so that qs_image_window reads any part
 * of it.
 */
bool
qs_image_has_windows(const struct qs_image *image);

/*
 * Reads the pixels of `box`, which lies within the picture, row by row without gaps
 * into `into`, aligned as for qs_image_read; only where qs_image_has_windows.  May be
 * called by several threads at once; what qs_image_read reads next stays.
 *
 *   QS_OK, QS_ERR_READ
 */
QS_MUST_CHECK enum qs_status
qs_image_window(const struct qs_image *image, struct qs_box box, void *into,
                struct qs_error *err);

/*
 * Passes over the next `rows` rows, not beyond the last one.  Nothing is decoded
 * before the next read, and then only what the format needs to reach its rows:
 * damage in what was passed over may show there, or never.  Gives QS_OK.
 */
QS_MUST_CHECK enum qs_status
qs_image_skip(struct qs_image *image, int rows, struct qs_error *err);

/*
 * Starts over from the first row, for a second pass.  Gives QS_OK; that the file
 * has changed shows in the next read, as QS_ERR_READ.
 */
QS_MUST_CHECK enum qs_status
qs_image_rewind(struct qs_image *image, struct qs_error *err);

#endif
