/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_layout.h - where the parts of one chart lie, and what its axes show
 *
 * From the top: title, name of the y axis, names of upright rules, plot, x axis and its
 * name, note.  Left of the plot the ticks' labels, right of it the lines' names.
 *
 * Units: pixels from the chart's top left corner.
 * Threads: one at a time for a Cairo context.
 */
#ifndef QS_REPORT_CHART_LAYOUT_H
#define QS_REPORT_CHART_LAYOUT_H

#include "report/chart.h"
#include "report/chart_text.h"

#define QS_CHART_MARGIN_PX 18.0
#define QS_CHART_TICK_GAP_PX 8.0 /* from the plot to its ticks' labels */

struct qs_chart_layout {
    double width, height;
    double left, top, right, bottom; /* of the plot */
    double y_title, x_title,
        note;        /* tops of these rows; that of the title is the margin */
    double rule_row; /* baseline of the names of upright rules */
    double column;   /* where the lines' names start */
    bool is_empty;   /* no point can be shown: there are no scales */
    struct qs_chart_scale x, y;
};

struct qs_chart_spot {
    double x, y;
};

/* Lays *chart out on a width of size.width_px and at least size.height_px. */
void
qs_chart_lay_out(cairo_t *cairo, const struct qs_chart *chart,
                 struct qs_chart_size size, struct qs_chart_layout *out);

/* Whether both axes have a place for the point. */
bool
qs_chart_shows(const struct qs_chart *chart, const struct qs_chart_point *point);

/* Where values that can be shown lie; outside of the plot where they are off the axes.
 */
struct qs_chart_spot
qs_chart_spot_of(const struct qs_chart_layout *layout, double x, double y);

/* Whether a spot lies in the plot or on its rim. */
bool
qs_chart_is_inside(const struct qs_chart_layout *layout, struct qs_chart_spot spot);

/* In how many lines `text`, NULL allowed, is set. */
int
qs_chart_lines_of(cairo_t *cairo, enum qs_chart_font font, const char *text,
                  double most_px);

/* Whether there is any text. */
bool
qs_chart_says(const char *text);

#endif
