/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_draw.h - one chart, drawn
 *
 * Threads: one at a time for a pen.
 */
#ifndef QS_REPORT_CHART_DRAW_H
#define QS_REPORT_CHART_DRAW_H

#include "report/chart_layout.h"

/* Draws the chart with its top left corner at the context's origin, which lies
   pen->shift_px below that of the page. */
void
qs_chart_draw(const struct qs_chart_pen *pen, const struct qs_chart *chart,
              const struct qs_chart_layout *layout);

#endif
