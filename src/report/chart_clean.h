/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_clean.h - text from outside, made fit for a chart
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_CHART_CLEAN_H
#define QS_REPORT_CHART_CLEAN_H

#include <stddef.h>

/*
 * Copies `text`, NULL allowed, into `out` of `size` >= 1 bytes as qs_text_clean does
 * for a screen; codes that Unicode keeps from ever being characters, which neither
 * Cairo nor XML takes, become "?" too.
 */
void
qs_chart_clean(const char *text, char *out, size_t size);

#endif
