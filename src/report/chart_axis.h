/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_axis.h - round numbers along an axis, and labels that keep apart
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_CHART_AXIS_H
#define QS_REPORT_CHART_AXIS_H

#include <stdbool.h>

enum {
    QS_AXIS_TICKS = 16
};

struct qs_axis_ticks {
    double low;  /* the axis from here, */
    double high; /*   to here: at least what was asked for */
    int count;
    double value[QS_AXIS_TICKS];
};

/*
 * Ticks for what lies between low and high (in either order, or equal): steps of 1, 2
 * or 5 times a power of ten; on a logarithmic axis (both > 0) 1, 2, 5, 10 and so on, or
 * powers of ten alone where there are many.
 */
struct qs_axis_ticks
qs_axis_ticks_of(double low, double high, bool is_log);

/* Where a value lies on the axis: 0 at its low end, 1 at its high one. */
double
qs_axis_place(const struct qs_axis_ticks *ticks, bool is_log, double value);

/*
 * Moves the places of labels apart by at least `gap`, as little as can be, within low
 * to high; where there is no room for all the gap shrinks.  places[] keeps its order by
 * value.
 */
void
qs_axis_spread(double *places, int count, double gap, double low, double high);

#endif
