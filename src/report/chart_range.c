/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_range.h"

#include <math.h>

static const double MOST_WIDENED = 3.0;

static void
include(struct qs_chart_range *range, double value, bool is_log)
{
    if (!qs_chart_can_show(value, is_log))
        return;
    range->low = range->is_known ? fmin(range->low, value) : value;
    range->high = range->is_known ? fmax(range->high, value) : value;
    range->is_known = true;
}

static void
include_points(const struct qs_chart *chart, struct qs_chart_range *x,
               struct qs_chart_range *y)
{
    for (int i = 0; i < chart->line_count; i++)
        for (int k = 0; k < chart->lines[i].count; k++) {
            const struct qs_chart_point *point = &chart->lines[i].points[k];

            if (!qs_chart_can_show(point->x, chart->x.is_log) ||
                !qs_chart_can_show(point->y, chart->y.is_log))
                continue;
            include(x, point->x, chart->x.is_log);
            include(y, point->y, chart->y.is_log);
        }
}

static void
include_rules(const struct qs_chart *chart, struct qs_chart_range *x,
              struct qs_chart_range *y)
{
    for (int i = 0; i < chart->rule_count; i++) {
        const struct qs_chart_rule *rule = &chart->rules[i];

        if (rule->vertical)
            include(x, rule->value, chart->x.is_log);
        else
            include(y, rule->value, chart->y.is_log);
    }
}

static void
include_intervals(const struct qs_chart *chart, struct qs_chart_range *y)
{
    const bool is_log = chart->y.is_log;
    const double least = y->low / MOST_WIDENED, most = y->high * MOST_WIDENED;

    for (int i = 0; i < chart->line_count; i++)
        for (int k = 0; k < chart->lines[i].count; k++) {
            const struct qs_chart_point *point = &chart->lines[i].points[k];

            if (!point->has_interval || !qs_chart_can_show(point->y, is_log) ||
                !qs_chart_can_show(point->x, chart->x.is_log))
                continue;
            include(y, is_log ? fmax(point->low, least) : point->low, is_log);
            include(y, is_log ? fmin(point->high, most) : point->high, is_log);
        }
}

static void
follow(const struct qs_chart_axis *axis, struct qs_chart_range *range)
{
    if (!axis->has_range || !(axis->low <= axis->high) ||
        !qs_chart_can_show(axis->low, axis->is_log) ||
        !qs_chart_can_show(axis->high, axis->is_log))
        return;
    range->low = axis->low;
    range->high = axis->high;
}

bool
qs_chart_range_of(const struct qs_chart *chart, struct qs_chart_range *x,
                  struct qs_chart_range *y)
{
    *x = *y = (struct qs_chart_range){0};
    include_points(chart, x, y);
    if (!y->is_known)
        return false;
    include_rules(chart, x, y);
    include_intervals(chart, y);
    follow(&chart->x, x);
    follow(&chart->y, y);
    return true;
}
