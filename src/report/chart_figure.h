/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_figure.h - figures and fractions at an axis, as they are set in print
 *
 * Every call writes at most `size` >= 1 bytes, the closing zero counted, to `out`.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_CHART_FIGURE_H
#define QS_REPORT_CHART_FIGURE_H

#include <stdbool.h>
#include <stddef.h>

/* How the figures of one axis are written, all alike. */
struct qs_chart_figures {
    bool powers;  /* as multiples of powers of ten: for |value| from 1e-300 to 1e300 */
    int decimals; /* 0 to 17: of plain figures, or of the one before the power */
};

/* "-2.5" with a true minus, "12 500" parted by narrow blanks, "2 x 10^-5" with a raised
   exponent; plain figures are for |value| < 1e15. */
void
qs_chart_write_figure(double value, struct qs_chart_figures figures, char *out,
                      size_t size);

/* Text from outside, NULL allowed, cleaned as chart_clean.h says: "-3" gets a true
   minus, and "1/2", alone or before a blank, raised and lowered digits. */
void
qs_chart_set_label(const char *text, char *out, size_t size);

#endif
