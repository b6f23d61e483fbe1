/* SPDX-License-Identifier: GPL-3.0-or-later */
/* srgb_reference.h - sRGB written out once more for tests: IEC 61966-2-1 */
#ifndef QS_TESTS_SRGB_REFERENCE_H
#define QS_TESTS_SRGB_REFERENCE_H

#include <math.h>

static inline double
srgb_light(double fraction)
{
    return fraction <= 0.04045 ? fraction / 12.92
                               : pow((fraction + 0.055) / 1.055, 2.4);
}

/* Of light, cut off at black and white. */
static inline double
srgb_fraction(double light)
{
    double fraction =
        light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1.0 / 2.4) - 0.055;

    return fmin(fmax(fraction, 0.0), 1.0);
}

#endif
