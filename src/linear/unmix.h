/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * unmix.h - light back to fractions of the code range, where a profile is a table
 *
 * A table mixes the channels, so that codes are found by Newton's method: from a guess
 * as if the pixel were grey, until a step is below a thirtieth of a code of 16 bits.
 * It undoes what was done on reading, rather than going by the profile's own table for
 * the other way, which is coarser.
 *
 * Units: linear light to fractions of the code range; not clamped.
 * Threads: after qs_unmix_new only read.
 * Method: docs/method/deliver.md.
 */
#ifndef QS_LINEAR_UNMIX_H
#define QS_LINEAR_UNMIX_H

#include "base/status.h"
#include "linear/linear.h"

struct qs_unmix;

/*
 * Prepares the way back for an RGB picture that `linear` reads, which has to outlive
 * it.
 *
 *   QS_OK           *out is to be freed with qs_unmix_free
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_unmix_new(const struct qs_linear *linear, struct qs_unmix **out,
             struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_unmix_free(struct qs_unmix *unmix);

/*
 * As qs_encode (linear/encode.h): codes on a scale of 0 to 65535, clamped to it.  Where
 * several codes give the same light, or none does, one of those that come closest.
 */
void
qs_unmix(const struct qs_unmix *unmix, const float *light, int count, int stride,
         float *codes);

#endif
