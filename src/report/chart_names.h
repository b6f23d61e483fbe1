/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_names.h - the names of lines and rules, at their ends
 *
 * Names of lines and of level rules stand in a column beside the plot, those of upright
 * rules in a row above it, each as near to its end as the others allow.
 *
 * Threads: one at a time for a pen.
 */
#ifndef QS_REPORT_CHART_NAMES_H
#define QS_REPORT_CHART_NAMES_H

#include "report/chart_layout.h"
#include "report/chart_spread.h"

enum {
    QS_CHART_NAMES_MOST = QS_CHART_LINES_MOST + QS_CHART_RULES_MOST
};

struct qs_chart_name {
    const char *text;         /* the caller's, as it came */
    struct qs_chart_spot end; /* of the line or rule that it names */
    struct qs_chart_ink ink;  /* of what joins them, and of a rule's name */
    bool is_rule;
};

/*
 * The names of the column, and their places from the chart's top: fills `names` and
 * `places`, both of QS_CHART_NAMES_MOST, and returns how many there are.  A line
 * without a point in the plot has none.
 */
int
qs_chart_name_places(const struct qs_chart *chart, const struct qs_chart_layout *layout,
                     struct qs_chart_name *names, struct qs_chart_place *places);

void
qs_chart_draw_names(const struct qs_chart_pen *pen, const struct qs_chart *chart,
                    const struct qs_chart_layout *layout);

#endif
