/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sheet_text.h - a camera sheet as a photographer reads it
 *
 * Whether writing worked is for the caller to ask of the stream.
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_SHEET_TEXT_H
#define QS_REPORT_SHEET_TEXT_H

#include <stdio.h>

#include "base/status.h"
#include "sheet/sheet.h"

/* Writes the sheet, which holds at least one ISO.  QS_OK or QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_sheet_text(FILE *out, const struct qs_sheet *sheet, struct qs_error *err);

/* Says that the sheet was not kept. */
void
qs_sheet_text_unkept(FILE *out);

#endif
