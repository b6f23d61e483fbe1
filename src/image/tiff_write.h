/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tiff_write.h - a picture as a TIFF file: its directory and its strips
 *
 * Private to this folder; writer.c calls it.  libtiff writes the directory and LZW;
 * all other strips come packed and go into the file as they are.
 *
 * Threads: pack may run in many; the rest belongs to one thread at a time.
 */
#ifndef QS_IMAGE_TIFF_WRITE_H
#define QS_IMAGE_TIFF_WRITE_H

#include <stdbool.h>
#include <stdint.h>

#include "image/picture_format.h"

extern const struct qs_picture_format qs_tiff_format;

/*
 * The most bytes a TIFF of this plan can have, compression that makes the strips
 * longer and room for the tags that others add later counted in.
 */
uint64_t
qs_tiff_most_bytes(const struct qs_picture_plan *plan, int strip_rows);

/* What still fits into a classic TIFF: offsets of 32 bits, TIFF 6.0, section 2. */
#define QS_TIFF_CLASSIC_BYTES UINT64_C(4294967295)

/*
 * For tests: files that may get larger than `bytes` become BigTIFF.  Holds for all
 * threads until it is set back to QS_TIFF_CLASSIC_BYTES.
 */
void
qs_tiff_set_classic_limit(uint64_t bytes);

#endif
