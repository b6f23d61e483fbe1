/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart.h - lines over an axis, drawn quietly
 *
 * Lines carry their names at their ends; a family of lines in order (ISO values) goes
 * from light to dark, with markers that change, so that it can be read in grey print
 * and by those who see colours differently.  Intervals are thin whiskers.  Text stays
 * text: it can be selected in PDF, and read by a screen reader in SVG.
 *
 * Units: pixels of 1/96 inch on a screen, points on paper; PNG has two dots for each.
 * Memory: charts are the caller's and only read.
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_CHART_H
#define QS_REPORT_CHART_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"

enum qs_chart_format {
    QS_CHART_SVG,
    QS_CHART_PNG,
    QS_CHART_PDF,
    QS_CHART_FORMATS
};

enum {
    QS_CHART_WIDTH = 760, /* of one chart */
    QS_CHART_HEIGHT = 440
};

struct qs_chart_axis {
    const char *title; /* with its unit */
    bool is_log;       /* low > 0 */
    double low;        /* of what is drawn; widened to whole ticks */
    double high;
};

struct qs_chart_point {
    double x;
    double y;
    bool has_interval;
    double low;
    double high;
};

struct qs_chart_line {
    const char *label;
    const struct qs_chart_point *points; /* in order of x */
    int count;
    int rank; /* its place in the family, 0 ... ranks - 1: light to dark */
    int ranks;
};

struct qs_chart {
    const char *title;
    const char *note; /* a sentence below, or NULL */
    struct qs_chart_axis x;
    struct qs_chart_axis y;
    const struct qs_chart_line *lines;
    int line_count;
};

/* The format that a file's ending asks for, or -1. */
int
qs_chart_format_of(const char *path);

/*
 * Draws the charts one below the other.  Points that are not finite, or not above 0 on
 * a logarithmic axis, are left out; a chart without points says so.
 *
 *   QS_OK
 *   QS_ERR_WRITE   `out` took no more
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_chart_write(FILE *out, enum qs_chart_format format, const struct qs_chart *charts,
               int count, struct qs_error *err);

#endif
