/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * average.h - a mean over simulated patches, and how uncertain the patches say it is
 */
#ifndef QS_TESTS_AVERAGE_H
#define QS_TESTS_AVERAGE_H

#include <math.h>

struct average {
    int count;
    double sum, square;
};

static inline void
average_add(struct average *average, double value)
{
    average->count++;
    average->sum += value;
    average->square += value * value;
}

static inline double
average_mean(const struct average *average)
{
    return average->sum / average->count;
}

/* Scatter of the single values. */
static inline double
average_sd(const struct average *average)
{
    double mean = average_mean(average);

    return sqrt(fmax(average->square / average->count - mean * mean, 0.0));
}

/* Standard error of the mean. */
static inline double
average_error(const struct average *average)
{
    return average_sd(average) / sqrt(average->count);
}

#endif
