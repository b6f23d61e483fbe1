/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * filters_text.h - what each filter does, to be read
 *
 * Whether writing worked is for the caller to ask of the stream.
 * Threads: one at a time.
 */
#ifndef QS_REPORT_FILTERS_TEXT_H
#define QS_REPORT_FILTERS_TEXT_H

#include <stdio.h>

#include "base/status.h"
#include "report/filter_figures.h"

/*
 * Writes a table for each size; figures of one size stand together.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_filters_text(FILE *out, const struct qs_filter_figures *figures, int count,
                struct qs_error *err);

#endif
