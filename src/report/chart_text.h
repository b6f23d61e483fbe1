/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_text.h - text of a chart: measured, cut, broken into lines and set
 *
 * Text is set by Cairo, or for SVG, where Cairo would turn it into outlines, gathered
 * as elements that are text still.  It is measured by Cairo either way, so that all
 * formats have one layout.
 *
 * Text from outside may hold anything: it is cleaned as chart_clean.h says, and escaped
 * where it becomes an element.
 *
 * Units: pixels of the page.
 * Threads: one at a time for a Cairo context or a struct qs_chart_bytes.
 */
#ifndef QS_REPORT_CHART_TEXT_H
#define QS_REPORT_CHART_TEXT_H

#include <cairo.h>

#include "report/chart_bytes.h"
#include "report/chart_ink.h"

enum {
    QS_CHART_TEXT_BYTES = 768 /* a line of text and its closing zero; more is cut */
};

enum qs_chart_font {
    QS_CHART_FONT_TITLE,
    QS_CHART_FONT_LABEL, /* of lines, rules and axes */
    QS_CHART_FONT_TICK,
    QS_CHART_FONT_NOTE,
    QS_CHART_FONTS
};

enum qs_chart_anchor {
    QS_CHART_START,
    QS_CHART_MIDDLE,
    QS_CHART_END
};

/* What charts are drawn with. */
struct qs_chart_pen {
    cairo_t *cairo;
    struct qs_chart_bytes *elements; /* NULL: text is set by Cairo */
    double shift_px;                 /* how far down the page the chart starts */
};

/* Prepares a context: the same outlines and widths for every kind of surface. */
void
qs_chart_text_start(cairo_t *cairo);

/* Height of a line, and how far above its baseline capital letters reach. */
double
qs_chart_line_px(enum qs_chart_font font);
double
qs_chart_capital_px(enum qs_chart_font font);

double
qs_chart_text_px(cairo_t *cairo, enum qs_chart_font font, const char *text);

/* Cleans `text`, NULL allowed, into `out` of QS_CHART_TEXT_BYTES; what is wider than
   `most_px` is cut and ends in an ellipsis. */
void
qs_chart_text_fit(cairo_t *cairo, enum qs_chart_font font, const char *text,
                  double most_px, char *out);

/*
 * Breaks clean `text`, which is not empty, at the last blank that lets a line fit
 * `most_px`, or within a word that is longer: the line is copied to `out` of
 * QS_CHART_TEXT_BYTES, and what is left of the text is returned.
 */
const char *
qs_chart_text_line(cairo_t *cairo, enum qs_chart_font font, const char *text,
                   double most_px, char *out);

/* Sets clean `text` with its baseline at y. */
void
qs_chart_text_set(const struct qs_chart_pen *pen, enum qs_chart_font font, double x,
                  double y, enum qs_chart_anchor anchor, struct qs_chart_ink ink,
                  const char *text);

#endif
