/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * filter_figures.h - what each filter does at a given reduction
 *
 * Properties of the filters alone: no frame is needed.
 *
 * Units: shares of 1; frequencies relative to the delivered picture's Nyquist
 * frequency, the finest detail it can hold.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/filters.md.
 */
#ifndef QS_REPORT_FILTER_FIGURES_H
#define QS_REPORT_FILTER_FIGURES_H

#include "base/status.h"
#include "resample/filter.h"

/* A reduction along both axes. */
struct qs_filter_size {
    char text[32]; /* as it was typed */
    int width;     /* of the delivery; 0 where no frame was named */
    int height;
    double scale_x; /* source pixels a delivered pixel spans, >= 1 */
    double scale_y;
};

struct qs_filter_figures {
    const struct qs_filter_size *size; /* the caller's */
    enum qs_filter filter;
    double white_noise_gain;      /* sd out / sd in of white noise, in 2-D */
    double worth_stops;           /* -2 log2 of it */
    double contrast_half_nyquist; /* kept, mean of the axes */
    double contrast_nyquist;
    double alias_share; /* of the white noise power that is left, in 2-D */
    double alias_share_1d;
};

/*
 *   QS_OK          *out is filled; it refers to `size`
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_filter_figures(enum qs_filter filter, const struct qs_filter_size *size,
                  struct qs_filter_figures *out, struct qs_error *err);

/* Linear reduction, mean of the axes; and what plain averaging would be worth. */
double
qs_filter_size_reduction(const struct qs_filter_size *size);

double
qs_filter_size_ideal_stops(const struct qs_filter_size *size);

#endif
