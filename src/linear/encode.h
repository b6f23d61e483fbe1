/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * encode.h - linear light back to code values
 *
 * The inverse of how a file was read, channel by channel, by a table over light that
 * is fine where codes are: in steps of 1/512 of the light, straight in between, at most
 * 0.03 of 65535 codes off from code 10 up; where a profile is a table, by
 * linear/unmix.h.  Clamped here and nowhere before.
 *
 * Pixels lie some floats apart: colours first, then alpha, if there is any.
 *
 * Threads: after qs_encoder_new only read.
 * Method: docs/method/deliver.md.
 */
#ifndef QS_LINEAR_ENCODE_H
#define QS_LINEAR_ENCODE_H

#include <stdint.h>

#include "base/status.h"
#include "linear/linear.h"

struct qs_encoder;

/*
 * Prepares the way back for a picture that `linear` reads, which has to outlive it.
 *
 *   QS_OK           *out is to be freed with qs_encoder_free
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_encoder_new(const struct qs_linear *linear, struct qs_encoder **out,
               struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_encoder_free(struct qs_encoder *encoder);

/*
 * Codes of `count` pixels on a scale of 0 to 65535, not yet whole numbers: linear light
 * of pixels `stride` floats apart becomes codes that lie likewise, elsewhere.  What
 * stands behind the colours is undefined then, and what becomes of what is no number.
 */
void
qs_encode(const struct qs_encoder *encoder, const float *light, int count, int stride,
          float *codes);

#endif
