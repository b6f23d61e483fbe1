/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_page.h - a page to draw on, whose text stays text in every format
 *
 * Cairo draws the shapes.  It turns text into outlines where it writes SVG, so there
 * texts are kept aside and put into the file as text.
 *
 * Units: as in chart.h, from the top left.
 * Threads: one at a time for a page.
 */
#ifndef QS_REPORT_CHART_PAGE_H
#define QS_REPORT_CHART_PAGE_H

#include <cairo.h>

#include "report/chart.h"

struct qs_page_text {
    char text[160];
    double x;
    double y; /* of the base line */
    double size;
    double grey;   /* 0 black to 1 white */
    double anchor; /* 0 begins at x, 0.5 centred, 1 ends there */
    bool bold;
    bool upwards; /* turned a quarter to the left */
};

struct qs_page {
    enum qs_chart_format format;
    FILE *out;
    cairo_surface_t *surface;
    cairo_t *cairo;
    struct qs_page_text *texts; /* SVG: kept for the end */
    int text_count;
    unsigned char *bytes; /* SVG: what Cairo wrote */
    size_t size;
    size_t room;
    bool short_of_memory;
};

/* Starts a page.  End it with qs_page_end, whatever comes between. */
void
qs_page_start(struct qs_page *page, FILE *out, enum qs_chart_format format,
              double width, double height);

void
qs_page_put(struct qs_page *page, const struct qs_page_text *text);

/* Width of a text. */
double
qs_page_text_width(struct qs_page *page, const char *text, double size, bool bold);

/*
 * Writes the page, whose name is `title`, and frees.
 *
 *   QS_OK, QS_ERR_WRITE, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_page_end(struct qs_page *page, const char *title, struct qs_error *err);

#endif
