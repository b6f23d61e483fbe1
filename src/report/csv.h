/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * csv.h - the figures as a table for spreadsheets and scripts
 *
 * RFC 4180: a line of keys, then a row for each frame, patch, channel, size and
 * filter.  Every figure has the digits that bring the same number back, with a
 * decimal point in every locale; what is not known is empty.
 *
 * Threads: one at a time.
 */
#ifndef QS_REPORT_CSV_H
#define QS_REPORT_CSV_H

#include <stdio.h>

#include "base/status.h"
#include "frame/frame.h"

/* Writes the line of keys.  QS_OK, or QS_ERR_WRITE: `out` took no more. */
QS_MUST_CHECK enum qs_status
qs_csv_start(FILE *out, struct qs_error *err);

/*
 * Writes the rows of a frame measured from file `path`.  A patch for which there is no
 * size has one row for each channel, with the last fields empty.
 *
 *   QS_OK, QS_ERR_MEMORY, QS_ERR_WRITE
 */
QS_MUST_CHECK enum qs_status
qs_csv_frame(FILE *out, const char *path, const struct qs_frame *frame,
             struct qs_error *err);

#endif
