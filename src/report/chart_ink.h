/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_ink.h - how lines of an ordered family are told apart
 *
 * By lightness of one hue, from light to dark blue in equal steps, so that they keep
 * their order in grey print and for every eye; by the dash, and by the marker.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_CHART_INK_H
#define QS_REPORT_CHART_INK_H

#include <stdbool.h>

/* A colour of sRGB, each 0 to 1. */
struct qs_chart_ink {
    double red, green, blue;
};

extern const struct qs_chart_ink qs_chart_paper;
extern const struct qs_chart_ink qs_chart_text_ink;
extern const struct qs_chart_ink qs_chart_soft_ink; /* ticks, their labels, notes */
extern const struct qs_chart_ink qs_chart_grid_ink;
extern const struct qs_chart_ink qs_chart_rule_ink; /* a criterion */

enum qs_chart_marker {
    QS_CHART_DISC,
    QS_CHART_SQUARE,
    QS_CHART_TRIANGLE,
    QS_CHART_DIAMOND,
    QS_CHART_MARKERS
};

enum {
    QS_CHART_DASHES_MOST = 4 /* lengths of one dash's pattern */
};

struct qs_chart_look {
    struct qs_chart_ink ink;
    double dash_px[QS_CHART_DASHES_MOST]; /* drawn, left out, drawn, left out */
    int dashes;                           /* lengths used; 0 = a whole line */
    enum qs_chart_marker marker;
    bool is_open; /* the marker's inside is paper */
};

/* The look of line `rank` of 0 .. ranks - 1; a line alone (ranks <= 1) is dark. */
struct qs_chart_look
qs_chart_look_of(int rank, int ranks);

#endif
