/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * gap.h - what is missing in the light that there is, and how to close it
 *
 * Threads: results depend on the arguments alone.
 * Method: docs/method/plan.md, equation P10.
 */
#ifndef QS_PLAN_GAP_H
#define QS_PLAN_GAP_H

#include "plan/figure.h"

/*
 * Fills what a row says of the light given: the ISO it asks for, the stops missing or
 * to spare, and the ways; nothing where no light is given, or aperture or shutter are
 * not. `crop` is what the row's size is made of, `curve` its figure over ISO.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_plan_gap(const struct qs_deciding *now, struct qs_box crop,
            const struct qs_iso_curve *curve, struct qs_plan_row *row,
            struct qs_error *err);

#endif
