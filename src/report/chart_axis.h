/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_axis.h - which values an axis shows, and how they are written
 *
 * Given the least and the largest value and how many ticks there is room for, an axis
 * is rounded outwards to round values: 1, 2 or 5 times a power of ten, or on
 * logarithmic axes of many decades whole powers of ten.  Knows values; knows
 * nothing of pixels.
 *
 * Units: those of what is drawn.
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_CHART_AXIS_H
#define QS_REPORT_CHART_AXIS_H

#include <stdbool.h>

enum {
    QS_CHART_TICKS_MOST = 40, /* on one axis */
    QS_CHART_TICKS_LEAST = 3, /* what -1 to 1 takes at any step */
    QS_CHART_TICK_BYTES = 64  /* a label and its closing zero */
};

/*
 * A tick of the caller's.  "-3" is shown with a true minus, "1/2" with a fraction bar;
 * what is longer than QS_CHART_TICK_BYTES is cut.
 */
struct qs_chart_tick {
    double value;
    const char *label;
};

struct qs_chart_axis {
    const char *title; /* with the unit: "delivered, megapixels" */
    bool is_log;
    bool is_reversed; /* large values come first, from the left or from below */
    bool has_range;   /* low and high are told; else taken from what is drawn */
    double low, high;
    const struct qs_chart_tick *ticks; /* own ticks, or NULL: made */
    int tick_count; /* 1 to QS_CHART_TICKS_MOST where there are own */
};

struct qs_chart_mark {
    double value;
    char label[QS_CHART_TICK_BYTES];
};

/* An axis as it is drawn: low < high, and marks in rising order. */
struct qs_chart_scale {
    bool is_log;
    bool is_reversed;
    double low, high;
    int count;
    struct qs_chart_mark marks[QS_CHART_TICKS_MOST];
};

/* Whether a value has a place on such an axis: finite, not beyond 1e290 either way,
   and 1e-290 or more where it is logarithmic. */
bool
qs_chart_can_show(double value, bool is_log);

/*
 * Fits *out around low <= high, which can both be shown, with at most `most` >=
 * QS_CHART_TICKS_LEAST made ticks, or with the axis's own.  A range narrower than
 * 1e-9 of its values is taken for one value, and room is made around it.
 * axis->low and axis->high are not looked at.
 */
void
qs_chart_scale_fit(const struct qs_chart_axis *axis, double low, double high, int most,
                   struct qs_chart_scale *out);

/* Where a value that can be shown lies: 0 at the left or foot, 1 at the other end;
   less or more where it lies outside. */
double
qs_chart_scale_place(const struct qs_chart_scale *scale, double value);

#endif
