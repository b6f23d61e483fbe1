/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plan_report.h - a plan as text, JSON and CSV
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_PLAN_REPORT_H
#define QS_REPORT_PLAN_REPORT_H

#include <stdio.h>

#include "base/status.h"
#include "plan/decide.h"
#include "plan/light_plan.h"

/* What there is to report; the parts that are not there are NULL. */
struct qs_plan_report {
    const struct qs_sheet *sheet; /* with `plan` */
    const struct qs_plan *plan;
    const struct qs_plan_request *request; /* with `plan` */
    const struct qs_light_plan *light;
    const struct qs_light_request *light_request;
    const char *job; /* what the brief calls it, or NULL */
};

/*
 * Each writes the whole report.
 *
 *   QS_OK
 *   QS_ERR_WRITE   the stream took no more (of text: for the caller to ask)
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_plan_text(FILE *out, const struct qs_plan_report *report, struct qs_error *err);

QS_MUST_CHECK enum qs_status
qs_plan_json(FILE *out, const struct qs_plan_report *report, struct qs_error *err);

/* One line for each use, filter and ISO; only with a plan. */
QS_MUST_CHECK enum qs_status
qs_plan_csv(FILE *out, const struct qs_plan_report *report, struct qs_error *err);

#endif
