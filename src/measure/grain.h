/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * grain.h - the power of noise at the lowest frequencies
 *
 * Units: variance of the plane x pixel; white noise has its variance.
 * Threads: depends on its arguments alone.
 * Method: docs/method/spectrum.md, equations S10 to S12.
 */
#ifndef QS_MEASURE_GRAIN_H
#define QS_MEASURE_GRAIN_H

#include <stdbool.h>

#include "base/status.h"

/* ln of the power around frequency zero: level + bend rho^2. */
struct qs_low_power {
    bool known; /* false where the patch is too small to tell, or has no noise */
    double level;
    double bend; /* in pixels^2 */
};

/*
 * Fits the power of a patch less its second-order surface at the frequencies around
 * zero: power[height][width / 2 + 1], as in struct qs_noise_shape.  The axes are left
 * out: what whole rows or columns share does not count.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_low_power_fit(const double *power, int width, int height, struct qs_low_power *out,
                 struct qs_error *err);

#endif
