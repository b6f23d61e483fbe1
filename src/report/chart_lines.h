/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_lines.h - the lines of a chart, their intervals and markers, and its rules
 *
 * Threads: one at a time for a Cairo context.
 */
#ifndef QS_REPORT_CHART_LINES_H
#define QS_REPORT_CHART_LINES_H

#include "report/chart_layout.h"

/*
 * Shortens the way from *a to *b to what lies in the plot.  False where nothing does,
 * and both are as they were.
 */
bool
qs_chart_clip(const struct qs_chart_layout *layout, struct qs_chart_spot *a,
              struct qs_chart_spot *b);

/* All lines, bands first; a chart that is empty is not allowed. */
void
qs_chart_draw_lines(cairo_t *cairo, const struct qs_chart *chart,
                    const struct qs_chart_layout *layout);

/* Where the rule runs; false where that is off the axes. */
bool
qs_chart_rule_at(const struct qs_chart *chart, const struct qs_chart_layout *layout,
                 const struct qs_chart_rule *rule, struct qs_chart_spot *from,
                 struct qs_chart_spot *to);

void
qs_chart_draw_rules(cairo_t *cairo, const struct qs_chart *chart,
                    const struct qs_chart_layout *layout);

#endif
