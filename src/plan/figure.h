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
    struct qs_onlooker onlooker; /* of the viewing condition */
    double tone;
    double meter_c;  /* of the meter */
    double needed_c; /* the same, calibrated to this camera */
    double goal;     /* log2 of the figure that is to be reached */
    double goal_se;
    bool has_native;            /* false: no ISO has the figure */
    struct qs_iso_curve native; /* the figure at full size */
};

/* P5: what has to be reached.  QS_OK, or a status of qs_plan_make. */
QS_MUST_CHECK enum qs_status
qs_figure_set_goal(struct qs_deciding *now, struct qs_error *err);

/* P3: the figure at a size; false where no ISO of the sheet has it.  `cells`: NULL, or
   one for each ISO of the sheet, which are filled as rows of a plan's table. */
bool
qs_figure_curve(const struct qs_deciding *now, const struct qs_shrinking *shrinking,
                struct qs_iso_curve *curve, struct qs_plan_cell *cells);

/* P5: what the goal's own uncertainty adds to each point. */
void
qs_figure_widen(const struct qs_deciding *now, struct qs_iso_curve *curve);

#endif
