/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sheet_charts.h - a camera sheet drawn: noise over tone, and over delivery size
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_SHEET_CHARTS_H
#define QS_REPORT_SHEET_CHARTS_H

#include <stdio.h>

#include "base/status.h"
#include "report/chart.h"
#include "sheet/sheet.h"

/*
 * Writes two charts, a line for each ISO: noise over tone at full size, and of an 18 %
 * grey over delivery size through lanczos3; luminance, 95 % intervals.
 *
 *   QS_OK
 *   QS_ERR_WRITE   `out` took no more
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_sheet_charts(FILE *out, enum qs_chart_format format, const struct qs_sheet *sheet,
                struct qs_error *err);

#endif
