/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * figure.h - the figure that a criterion is about, over ISO
 *
 * Signal-to-noise ratio, or one over noise as seen: larger is quieter.  Told as log2,
 * at the ISO values tested, with its standard error.
 *
 * Threads: results depend on the arguments alone.
 * Method: docs/method/plan.md, equations P1 to P5.
 */
#ifndef QS_PLAN_FIGURE_H
#define QS_PLAN_FIGURE_H

#include "plan/decide.h"
#include "plan/forecast.h"
#include "plan/iso_curve.h"

/* A plan being made. */
struct qs_deciding {
    const struct qs_sheet *sheet;
    const struct qs_plan_request *request;
    struct qs_viewing_condition viewing;
    double tone;
    double meter_c;  /* of the meter */
    double needed_c; /* the same, calibrated to this camera */
    double goal;     /* log2 of the figure that is to be reached */
    double goal_se;
};

/* P5: what has to be reached.  QS_OK, or a status of qs_plan_make. */
QS_MUST_CHECK enum qs_status
qs_figure_set_goal(struct qs_deciding *now, struct qs_error *err);

/* P3: the figure at a size; false where no ISO of the sheet has it. */
bool
qs_figure_curve(const struct qs_deciding *now, const struct qs_shrinking *shrinking,
                struct qs_iso_curve *curve);

/* P5: what the goal's own uncertainty adds to each point. */
void
qs_figure_widen(const struct qs_deciding *now, struct qs_iso_curve *curve);

/* One ISO of a plan's table. */
void
qs_figure_cell(const struct qs_deciding *now, const struct qs_sheet_iso *iso,
               const struct qs_shrinking *shrinking, struct qs_plan_cell *cell);

#endif
