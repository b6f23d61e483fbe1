/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * transparency.h - rows with alpha, on their way in and out
 *
 * What is see-through has no colour to give to its neighbours: colours are multiplied
 * by alpha in linear light before they are shrunk, and divided by it after.  A mask is
 * shrunk beside the colours and leaves them alone.
 *
 * Files whose colours have been multiplied already were so in code values; they are
 * divided before they are made linear, and multiplied again at the end.
 *
 * Units: alpha 0 = see-through, 1 = opaque.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/deliver.md.
 */
#ifndef QS_DELIVER_TRANSPARENCY_H
#define QS_DELIVER_TRANSPARENCY_H

#include "image/image.h"
#include "linear/linear.h"

/*
 * `count` pixels as qs_image_open_with_alpha hands them out for `alpha`, which is not
 * QS_ALPHA_NONE, made quads of linear light (linear/linear.h), times alpha but for a
 * mask; alpha is the fourth.
 */
void
qs_alpha_decode(const struct qs_linear *linear, enum qs_sample sample,
                enum qs_alpha alpha, const void *codes, int count, float *quads);

/* After shrinking, when pixels are `samples` floats, the last of them alpha: colours
   without alpha; black where nothing is to be seen. */
void
qs_alpha_divide(enum qs_alpha alpha, int samples, float *pixels, int count);

/* After encoding: alpha becomes a code of 0 to 65535, and colours that were multiplied
   in the file are so again.  `light` is what was encoded. */
void
qs_alpha_encode(enum qs_alpha alpha, int samples, const float *light, float *codes,
                int count);

#endif
