/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_range.h - the range of values that a chart's axes have to hold
 *
 * Units: those of the axes.
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_CHART_RANGE_H
#define QS_REPORT_CHART_RANGE_H

#include "report/chart.h"

struct qs_chart_range {
    bool is_known;
    double low, high;
};

/*
 * The ranges of both axes: as told, or of the points, the rules and the intervals.  On
 * a logarithmic axis an interval widens the range by no more than a factor of 3 either
 * way, so that one that comes near 0 leaves the points room.  False, and both
 * unknown, where there is no point to show.  A told range that the axis has no place
 * for is not followed.
 */
bool
qs_chart_range_of(const struct qs_chart *chart, struct qs_chart_range *x,
                  struct qs_chart_range *y);

#endif
