/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/lanes.h"

QS_CLONES static double
dot(const double *a, const double *b, ptrdiff_t count)
{
    qs_lanes even = {0.0}, odd = {0.0};
    ptrdiff_t i = 0;

    for (; i + 16 <= count; i += 16) {
        qs_lanes_add_product(&even, a + i, b + i);
        qs_lanes_add_product(&odd, a + i + 8, b + i + 8);
    }
    for (int k = 0; i < count; i++, k++)
        even[k & 7] += a[i] * b[i];
    even += odd;
    return qs_lanes_total(&even);
}

double
qs_dot(const double *a, const double *b, ptrdiff_t count)
{
    return dot(a, b, count);
}
