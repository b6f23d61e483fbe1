/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * kernel_reference.h - the eight filters written out a second time, for tests
 *
 * From the published definitions and in double precision throughout, with no
 * thought of speed and in forms unlike the library's: every source pixel of the whole
 * axis is asked for its weight.
 *
 *   triangle, Gaussian   definitions (Gaussian: sd of half a delivered pixel)
 *   cubics               Mitchell and Netravali 1988; a = -1/2 is Keys 1981
 *   Lanczos              Duchon 1979
 *   area                 definition: share of the delivered pixel that a source
 *                        pixel covers
 */
#ifndef QS_TESTS_KERNEL_REFERENCE_H
#define QS_TESTS_KERNEL_REFERENCE_H

#include <math.h>

#include "resample/filter.h"

/* B, C family as polynomials in powers of |u|, as printed in the paper. */
static inline double
reference_cubic(double u, double b, double c)
{
    double a = fabs(u), a2 = a * a, a3 = a2 * a;

    if (a < 1.0)
        return ((12 - 9 * b - 6 * c) * a3 + (-18 + 12 * b + 6 * c) * a2 + (6 - 2 * b)) /
               6;
    if (a < 2.0)
        return ((-b - 6 * c) * a3 + (6 * b + 30 * c) * a2 + (-12 * b - 48 * c) * a +
                (8 * b + 24 * c)) /
               6;
    return 0.0;
}

static inline double
reference_lanczos(double u, double lobes)
{
    double a = acos(-1.0) * fabs(u);

    if (fabs(u) >= lobes)
        return 0.0;
    return a < 1e-12 ? 1.0 : lobes * sin(a) * sin(a / lobes) / (a * a);
}

/* The kernel at u delivered pixels; not for area. */
static inline double
reference_kernel(enum qs_filter filter, double u)
{
    switch (filter) {
    case QS_FILTER_TRIANGLE:
        return fabs(u) < 1.0 ? 1.0 - fabs(u) : 0.0;
    case QS_FILTER_MITCHELL:
        return reference_cubic(u, 1.0 / 3.0, 1.0 / 3.0);
    case QS_FILTER_CATMULL_ROM:
        return reference_cubic(u, 0.0, 0.5);
    case QS_FILTER_BSPLINE:
        return reference_cubic(u, 1.0, 0.0);
    case QS_FILTER_GAUSSIAN:
        return fabs(u) < 3.0 ? exp(-u * u / (2.0 * 0.5 * 0.5)) : 0.0;
    case QS_FILTER_LANCZOS2:
        return reference_lanczos(u, 2.0);
    case QS_FILTER_LANCZOS3:
        return reference_lanczos(u, 3.0);
    default:
        return 0.0;
    }
}

static inline double
reference_overlap(double low, double high, int n)
{
    double from = fmax(low, n - 0.5), to = fmin(high, n + 0.5);

    return to > from ? to - from : 0.0;
}

/* Weights of all `in` source pixels for delivered pixel i of `out`; their sum is 1. */
static inline void
reference_weights(enum qs_filter filter, int in, int out, int i, double *weight)
{
    double scale = (double)in / out, centre = (i + 0.5) * scale - 0.5, sum = 0.0;

    for (int n = 0; n < in; n++) {
        if (in == out)
            weight[n] = n == i;
        else if (filter == QS_FILTER_AREA)
            weight[n] = reference_overlap(centre - scale / 2, centre + scale / 2, n);
        else
            weight[n] = reference_kernel(filter, (n - centre) / scale);
        sum += weight[n];
    }
    for (int n = 0; n < in; n++)
        weight[n] /= sum;
}

/* How far a kernel reaches, in delivered pixels. */
static inline double
reference_radius(enum qs_filter filter)
{
    static const double radius[QS_FILTERS] = {
        [QS_FILTER_AREA] = 0.5,     [QS_FILTER_TRIANGLE] = 1.0,
        [QS_FILTER_MITCHELL] = 2.0, [QS_FILTER_CATMULL_ROM] = 2.0,
        [QS_FILTER_BSPLINE] = 2.0,  [QS_FILTER_GAUSSIAN] = 3.0,
        [QS_FILTER_LANCZOS2] = 2.0, [QS_FILTER_LANCZOS3] = 3.0,
    };

    return radius[filter];
}

#endif
