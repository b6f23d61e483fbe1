/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * lanes.h - sums in eight lanes, the same to the bit on every processor
 *
 * A compiler may not reorder a sum of doubles, and one addition waits for the one
 * before.  Here value number i goes to lane i mod 8, and the lanes are added up in a
 * fixed order; a processor does as many lanes at a time as it can, and nothing is
 * contracted, so that wide and plain processors get the same bits.
 */
#ifndef QS_BASE_LANES_H
#define QS_BASE_LANES_H

#include <stddef.h>
#include <string.h>

#include "base/processor.h"

typedef double qs_lanes __attribute__((vector_size(8 * sizeof(double))));

/* sum += a[0 .. 7] b[0 .. 7], lane by lane. */
static inline void
qs_lanes_add_product(qs_lanes *sum, const double *a, const double *b)
{
    qs_lanes left, right;

    memcpy(&left, a, sizeof left);
    memcpy(&right, b, sizeof right);
    *sum += left * right;
}

static inline double
qs_lanes_total(const qs_lanes *sum)
{
    const qs_lanes s = *sum;

    return ((s[0] + s[4]) + (s[2] + s[6])) + ((s[1] + s[5]) + (s[3] + s[7]));
}

/* Sum of a[i] b[i] over i = 0 .. count - 1. */
double
qs_dot(const double *a, const double *b, ptrdiff_t count);

#endif
