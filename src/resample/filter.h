/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * filter.h - the table of shrinking filters
 *
 * Each filter is a kernel in units of delivered pixels; it is widened by the
 * reduction and its weights are normalised for every delivered pixel.  `area` has
 * no kernel: its weights are the exact overlap of the delivered pixel with each
 * source pixel.
 * Definitions and sources: docs/method/filters.md.
 */
#ifndef QS_RESAMPLE_FILTER_H
#define QS_RESAMPLE_FILTER_H

enum qs_filter {
    QS_FILTER_AREA,
    QS_FILTER_TRIANGLE,
    QS_FILTER_MITCHELL,
    QS_FILTER_CATMULL_ROM,
    QS_FILTER_BSPLINE,
    QS_FILTER_GAUSSIAN,
    QS_FILTER_LANCZOS2,
    QS_FILTER_LANCZOS3,
    QS_FILTERS
};

struct qs_filter_row {
    const char *key;         /* as typed after --filter */
    double radius;           /* half width in delivered pixels, before widening */
    double (*value)(double); /* kernel at a distance in delivered pixels; NULL: area */
    const char *source;      /* where the definition was published */
};

/* The row of one filter. */
const struct qs_filter_row *
qs_filter_row(enum qs_filter filter);

/* The filter called `key`, or -1. */
int
qs_filter_find(const char *key);

#endif
