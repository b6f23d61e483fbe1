/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart.h - figures as lines over an axis: noise over tone, noise over delivery size
 *
 * Each line is named at its end, in place of a key; names that would lie on each
 * other are moved apart and joined to their lines.  What comes with an interval shows
 * it: as a light band behind a plain line, as fine strokes at markers.  All that is
 * told apart by colour is told apart by lightness and dash too (chart_ink.h).
 *
 * Text may come from files: it is cleaned, escaped and cut to the room there is.
 * The same input gives the same bytes on one machine; no date is written.
 *
 * Units: pixels of a page, 96 to the inch; values in the units of their axis.
 * Threads: one at a time for a stream.  Memory: the caller owns all it hands over; a
 * PNG takes 16 bytes for each pixel of the page, an SVG about 200 for each point.
 */
#ifndef QS_REPORT_CHART_H
#define QS_REPORT_CHART_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"
#include "report/chart_axis.h"

enum {
    QS_CHART_LINES_MOST = 64,
    QS_CHART_RULES_MOST = 16,
    QS_CHART_POINTS_MOST = 100000, /* on one line */
    QS_CHART_WIDTH_PX = 720,       /* 190 mm: A4 less margins of 10 mm */
    QS_CHART_HEIGHT_PX = 400,
    QS_CHART_LEAST_PX = 240, /* either way */
    QS_CHART_WIDEST_PX = 2000,
    QS_CHART_TALLEST_PX = 6000 /* of a page, all its charts */
};

/* A point that an axis has no place for (qs_chart_can_show) is left out, and the line
   has a gap there. */
struct qs_chart_point {
    double x, y;
    bool has_interval;
    double low, high; /* of y; where a logarithmic axis ends above low, so does it */
};

struct qs_chart_line {
    const char *label; /* NULL or empty: none */
    const struct qs_chart_point *points;
    int count;
    bool has_markers;
    int rank, ranks; /* its place, from 0, in an ordered family such as ISO */
};

/* A criterion: a straight line across, at a value of y or, `vertical`, of x.  One
   outside of an axis with a range of its own is left out. */
struct qs_chart_rule {
    double value;
    bool vertical;
    const char *label; /* NULL or empty: none */
};

struct qs_chart {
    const char *title;
    const char *note; /* a sentence below; NULL or empty: none */
    struct qs_chart_axis x, y;
    const struct qs_chart_line *lines;
    int line_count;
    const struct qs_chart_rule *rules;
    int rule_count;
};

enum qs_chart_format {
    QS_CHART_SVG,
    QS_CHART_PNG, /* two pixels of the picture for each of the page */
    QS_CHART_PDF,
    QS_CHART_FORMATS
};

/* Zero stands for the default.  A chart grows taller where its labels need it. */
struct qs_chart_size {
    double width_px;
    double height_px; /* of each chart */
};

/*
 * Writes `count` >= 1 charts, one below the other on one page, to `out`, and flushes
 * it. A chart without a point to show says that there is nothing to draw.
 *
 *   QS_OK
 *   QS_ERR_RANGE   a chart has too many lines, rules or points, or the page would be
 *                  larger or smaller than the limits above
 *   QS_ERR_WRITE   `out` took no more
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_chart_write(FILE *out, enum qs_chart_format format, const struct qs_chart *charts,
               int count, struct qs_chart_size size, struct qs_error *err);

/* The format a file name's ending stands for, in small or capital letters: .svg, .png
   or .pdf; -1 for any other. */
int
qs_chart_format_of(const char *path);

#endif
