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
#include "flat/find_curve.h"
#include "flat/find_window.h"

/*
 * A step is real where it is this many variances of a step: 13 is met by chance in
 * one white profile of 600.
 */
enum {
    QS_STEP_LIMIT = 13
};

/* The floor of one channel, for windows of the grid's side. */
struct qs_floor_channel {
    bool follows; /* y of a colour frame: within is what the window itself shows */
    struct qs_curve within; /* variance inside cells against mean */
    double ratio;           /* log(between / within) where log(within) = pivot */
    double slope;           /* change of it with log(within) */
    double pivot;
    double within_spread;  /* sd of log(within) about the curve from window to window */
    double between_spread; /* the same for log(between) */
    double core;           /* log(core / between) */
    double core_spread;    /* sd of log(core) from window to window */
    double step_x;         /* variance of a step in the column profile, between = 1 */
    double step_y;         /* the same in the row profile; independent cells: 1 */
};

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
 * How far a spread of log(within) or log(between) shrinks in larger windows: as
 * the cells' number, with `side` cells along a side.
 */
static inline double
qs_floor_shrink(int grid_side, int side)
{
    return (double)grid_side / side;
}

/*
 * Variance inside cells of y that the floors of r, g and b add up to where the
 * three means are these.
 */
double
qs_floor_sum(const struct qs_floor *floor, const double mean[3]);

/* Variance inside cells, and between them, where a window of this mean is on the floor.
 */
void
qs_floor_at(const struct qs_floor_channel *channel, const struct qs_window_fit *fit,
            double *within, double *between);

#endif
