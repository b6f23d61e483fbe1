/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plan_light_text.h - the light of a set-up, in words
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_PLAN_LIGHT_TEXT_H
#define QS_REPORT_PLAN_LIGHT_TEXT_H

#include "report/plan_report.h"

/*
 * Writes what is to be said of exposure, lamps, ambient and flicker, and the cautions
 * that go with lamps; nothing where nothing was asked.  QS_OK, QS_ERR_MEMORY.
 */
QS_MUST_CHECK enum qs_status
qs_plan_light_text(FILE *out, const struct qs_plan_report *report,
                   struct qs_error *err);

#endif
