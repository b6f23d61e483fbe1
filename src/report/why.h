/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * why.h - why a frame's noise falls as it does, in a few plain sentences
 *
 * Says what the figures show and what usually leaves noise like that; it never
 * claims to know what was done to the file.
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_WHY_H
#define QS_REPORT_WHY_H

#include <stdio.h>

#include "base/status.h"
#include "report/digest.h"

/*
 * Writes the sentences for a frame that has a figure at digest->delivery.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_why(FILE *out, const struct qs_frame *frame, const struct qs_digest *digest,
       struct qs_error *err);

/* The caution that goes with all figures in stops, once in a report. */
void
qs_why_stops(FILE *out);

#endif
