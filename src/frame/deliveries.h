/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * deliveries.h - the sizes a frame is to be measured at, and their reductions
 */
#ifndef QS_FRAME_DELIVERIES_H
#define QS_FRAME_DELIVERIES_H

#include "fall/fall.h"
#include "frame/frame.h"

/*
 * Fills frame->crop, deliveries and filters from the options; sizes above the
 * frame's own are left out, with a warning.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_deliveries_plan(const struct qs_frame_options *options, struct qs_frame *frame,
                   struct qs_error *err);

/* Every delivery of a frame through every filter, by delivery, then filter. */
struct qs_reductions {
    struct qs_reduction *list;
    int count;
    int lags_x; /* longest lags any of them needs */
    int lags_y;
    int margin; /* furthest source pixel any of them sees beyond a delivered one */
};

/*
 *   QS_OK           clear with qs_reductions_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_reductions_init(struct qs_reductions *reductions, const struct qs_frame *frame,
                   struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_reductions_clear(struct qs_reductions *reductions);

#endif
