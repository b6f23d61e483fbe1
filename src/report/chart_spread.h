/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_spread.h - labels along a line, moved apart as little as possible
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_CHART_SPREAD_H
#define QS_REPORT_CHART_SPREAD_H

#include <stdbool.h>

enum {
    QS_CHART_SPREAD_MOST = 96 /* labels at once */
};

struct qs_chart_place {
    double wanted; /* where its middle belongs */
    double size;   /* how much of the line it takes, > 0 */
    double at;     /* [out] where its middle goes */
};

/*
 * Sets each `at` so that the labels, `count` <= QS_CHART_SPREAD_MOST, neither overlap
 * nor reach out of low .. high, that they keep the order of `wanted` (where equal, the
 * order given), and that the sum of the squares of what they are moved by is
 * least.  False, and no `at` is set, where their sizes add up to more than high - low.
 */
bool
qs_chart_spread(struct qs_chart_place *places, int count, double low, double high);

#endif
