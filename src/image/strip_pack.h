/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * strip_pack.h - the samples of a strip made easy to compress, and compressed
 *
 * Private to this folder.  Knows how TIFF and PNG want their bytes, and nothing of
 * files.
 *
 * Threads: results depend on the arguments alone; call from any thread.
 */
#ifndef QS_IMAGE_STRIP_PACK_H
#define QS_IMAGE_STRIP_PACK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

struct qs_strip {
    const void *codes; /* interleaved samples in machine order, rows without gaps */
    size_t rows;
    size_t width;   /* pixels */
    size_t samples; /* of a pixel, alpha counted: 1 to 4 */
    int bits;       /* of a sample: 8 or 16 */
};

/* Bytes of a row as given: width x samples x bytes of a sample. */
size_t
qs_strip_row_bytes(const struct qs_strip *strip);

/*
 * TIFF's predictor 2: from each sample the one of the pixel to its left is taken,
 * modulo 2^bits.  `into` has room for rows x row bytes.
 */
void
qs_strip_difference(const struct qs_strip *strip, uint8_t *into);

/*
 * PNG's rows: each sample with its high byte first, and before each row the number of
 * its filter; with `choose`, the filter that leaves the smallest sum of differences,
 * else 0, none.  The first row does not look at one above it, so that a strip
 * stands alone.
 *
 *   QS_OK          `into`, of rows x (1 + row bytes), is filled
 *   QS_ERR_MEMORY  `into` is undefined
 */
QS_MUST_CHECK enum qs_status
qs_strip_png_rows(const struct qs_strip *strip, bool choose, uint8_t *into,
                  struct qs_error *err);

enum qs_deflate_form {
    QS_DEFLATE_WHOLE, /* a zlib stream of its own, as a TIFF strip is */
    QS_DEFLATE_PART,  /* raw deflate that ends on a byte; more follows */
    QS_DEFLATE_LAST   /* raw deflate, and the end of the stream */
};

/*
 * Compress `size` bytes, up to 1 GB.  qs_pack_deflate with `stored` leaves the bytes
 * as they are, in blocks of deflate.
 *
 *   QS_OK               *out, of *out_size bytes, is to be freed with qs_free
 *   QS_ERR_MEMORY       *out is NULL
 *   QS_ERR_UNSUPPORTED  likewise; this build has no zstd
 *   QS_ERR_WRITE        likewise; the library did not do what it promises
 */
QS_MUST_CHECK enum qs_status
qs_pack_deflate(const uint8_t *bytes, size_t size, enum qs_deflate_form form,
                bool stored, uint8_t **out, size_t *out_size, struct qs_error *err);

QS_MUST_CHECK enum qs_status
qs_pack_zstd(const uint8_t *bytes, size_t size, uint8_t **out, size_t *out_size,
             struct qs_error *err);

#endif
