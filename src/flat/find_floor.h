/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_floor.h - the noise of a frame, as its even windows show it
 *
 * Part of the search for flat patches (find.h).  Noise has a lower bound that
 * many windows share: a variance inside cells that goes with the tone, and a
 * ratio of the variance between cells to it that goes with the noise's
 * correlation.  Both are drawn from the frame itself, never from a white-noise
 * assumption.
 *
 * Units: linear light and its square; ratios and spreads as natural logarithms.
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P4 to P10.
 */
#ifndef QS_FLAT_FIND_FLOOR_H
#define QS_FLAT_FIND_FLOOR_H

#include <stdbool.h>

#include "base/status.h"
#include "flat/cells.h"
#include "flat/find_draw.h"
#include "flat/find_window.h"

struct qs_floor {
    bool found;
    bool constant; /* the frame has no noise at all: even windows have variance zero */
    unsigned char clipped_max; /* windows with a larger clipped share are left out */
    struct qs_floor_channel channel[QS_CHANNELS]; /* from cells.first on */
    double weight[3];  /* of the variances of r, g and b in that of y */
    double sum_spread; /* sd of log(within) of y about what r, g and b add up to */
};

/*
 * Looks for the floor.  floor->found is false where no windows share one, or
 * those that do look like texture.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_floor_find(struct qs_floor *floor, const struct qs_windows *windows,
              const struct qs_cells *cells, const struct qs_window_basis *basis,
              struct qs_error *err);

/*
 * Variance inside cells of y that the floors of r, g and b add up to where the
 * three means are these.
 */
double
qs_floor_sum(const struct qs_floor *floor, const double mean[3]);

#endif
