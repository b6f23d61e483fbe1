/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/line_shift.h"

#include <math.h>

#include "base/memory.h"

enum {
    SMOOTH = 4 /* rows on both sides; bands of flickering lamps are wider */
};

/* A shift explains this much of the differences, and is this many of its variances. */
static const double LEAST_EXPLAINED = 0.5;
static const double LEAST_SURE = 60.0;
static const double LEAST_SHIFT = 0.05;

/* Less than this (of white) is rounding. */
static const double ROUNDING = 1e-12;

/* What of a value its neighbours do not share. */
static double
fine_part(const double *values, int at)
{
    double sum = 0.0;

    for (int i = -SMOOTH; i <= SMOOTH; i++)
        sum += values[at + i];
    return values[at] - sum / (2 * SMOOTH + 1);
}

static void
judge(const double *slope, const double *difference, int count, bool *shifted,
      double *shift)
{
    double slopes = 0.0, product = 0.0, square = 0.0, explained, rest;
    int used = 0;

    for (int y = SMOOTH + 1; y < count - SMOOTH - 1; y++) {
        double g = fine_part(slope, y), d = fine_part(difference, y);

        slopes += g * g;
        product += g * d;
        square += d * d;
        used++;
    }
    if (slopes <= ROUNDING * ROUNDING || used < 4 * SMOOTH)
        return;
    explained = product * product / slopes;
    rest = fmax(square - explained, 0.0) / (used - 1) + ROUNDING * ROUNDING;
    *shift = -product / slopes;
    *shifted = explained > LEAST_EXPLAINED * square && explained > LEAST_SURE * rest &&
               fabs(*shift) > LEAST_SHIFT;
}

enum qs_status
qs_line_shift(const double *profile, const double *difference, int count, bool *shifted,
              double *shift, struct qs_error *err)
{
    double *slope = qs_alloc((size_t)count, sizeof *slope);

    *shifted = false;
    *shift = 0.0;
    if (slope == NULL)
        return qs_fail_memory(err);
    for (int y = 1; y < count - 1; y++)
        slope[y] = 0.5 * (profile[y + 1] - profile[y - 1]);
    judge(slope, difference, count, shifted, shift);
    qs_free(slope);
    return QS_OK;
}
