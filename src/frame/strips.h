/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * strips.h - a frame's rows, a strip at a time
 *
 * Threads: one strip is read by one thread; its rows may then be decoded by many.
 */
#ifndef QS_FRAME_STRIPS_H
#define QS_FRAME_STRIPS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "image/image.h"

enum {
    QS_STRIP_ROWS = 64 /* a multiple of every cell side */
};

struct qs_strips {
    struct qs_image *image;
    unsigned char *codes; /* rows of the strip as qs_image_read gives them */
    unsigned char *ahead; /* those of the next one, or NULL: none was read ahead */
    size_t row_bytes;
    size_t pixel_bytes;
    int height; /* of the frame */
    int y;      /* first row of the strip */
    int rows;   /* rows in the strip; 0 before the first one */
};

/* Prepares reading `image`, which must outlive *strips, from its next row = row 0. */
QS_MUST_CHECK enum qs_status
qs_strips_init(struct qs_strips *strips, struct qs_image *image, struct qs_error *err);

/* Frees the strip, not the image; a zeroed struct is allowed. */
void
qs_strips_clear(struct qs_strips *strips);

/* Whether there is a further strip; moves on to it without reading its rows. */
bool
qs_strips_next(struct qs_strips *strips);

/* Reads, or passes over, the strip qs_strips_next moved to; after reading ahead neither
 * is called. */
QS_MUST_CHECK enum qs_status
qs_strips_read(struct qs_strips *strips, struct qs_error *err);

/*
 * Reads the strip after this one, if there is one, beside it: for a job of its own,
 * while others work on this strip.  qs_strips_next then moves on to rows that are
 * there.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_strips_read_ahead(struct qs_strips *strips, struct qs_error *err);

QS_MUST_CHECK enum qs_status
qs_strips_skip(struct qs_strips *strips, struct qs_error *err);

/* Code values of the pixel at column x of row y of the frame, within the strip. */
const void *
qs_strips_at(const struct qs_strips *strips, int x, int y);

#endif
