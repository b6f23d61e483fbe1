/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * profile.h - an ICC profile as the way to linear light
 *
 * Grey profiles and RGB profiles made of curves and colorants have one curve for
 * each channel.  RGB profiles with a table mix the channels; their XYZ is taken
 * apart again into primaries, so that the profile's black is 0,0,0 and its white
 * 1,1,1.  A profile with both is used by its table, as ICC.1 asks.
 *
 * Units: fractions of the code range to linear light, 0 = the profile's black,
 * 1 = its white.  Fractions outside [0, 1] are continued, never clamped.
 * Threads: after qs_profile_open a profile is only read; any number of threads
 * may use it at once.
 * Method: docs/method/linear.md, L7 to L12.  Little CMS is behind this file alone.
 */
#ifndef QS_LINEAR_PROFILE_H
#define QS_LINEAR_PROFILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "linear/primaries.h"

struct qs_profile;

/*
 * Reads a profile for a picture with `channels` (1 or 3) colour channels.
 *
 *   QS_OK           *out is to be freed with qs_profile_free; `bytes` is no
 *                   longer needed
 *   QS_ERR_PROFILE  damaged, for another kind of picture, or without a usable
 *                   way to linear light; the sentence says to use --encoding
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_profile_open(const uint8_t *bytes, size_t size, int channels,
                struct qs_profile **out, struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_profile_free(struct qs_profile *profile);

/* The profile's description: UTF-8 without control characters, never empty. */
const char *
qs_profile_name(const struct qs_profile *profile);

/*
 * What r, g and b give to luminance and colour differences, under the white of the
 * space itself rather than under the profile's D50.  Zeros for a grey profile.
 */
const struct qs_colour_weights *
qs_profile_weights(const struct qs_profile *profile);

/* Whether codes under this profile are linear light already, within 1/20000. */
bool
qs_profile_is_linear(const struct qs_profile *profile);

/* Whether each channel has a curve of its own, that is: no RGB table. */
bool
qs_profile_is_separate(const struct qs_profile *profile);

/* Light of one channel; only where qs_profile_is_separate. */
double
qs_profile_light(const struct qs_profile *profile, int channel, double fraction);

/*
 * Light of `count` pixels; only where not qs_profile_is_separate.  `in` and `out`
 * are planes r, g, b and may be the same.
 */
void
qs_profile_light_planes(const struct qs_profile *profile, const float *const in[3],
                        int count, float *const out[3]);

#endif
