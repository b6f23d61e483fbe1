/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_draw.h - one channel's noise floor, drawn through windows of a frame
 *
 * Part of the search for flat patches (find.h).  The floor says what variance
 * the noise alone gives a window of a given tone, inside its cells and between
 * them, and how much both differ from window to window.
 *
 * Units: linear light and its square; ratios and spreads as natural logarithms.
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P4 to P10.
 */
#ifndef QS_FLAT_FIND_DRAW_H
#define QS_FLAT_FIND_DRAW_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

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

/* One window of a list. */
struct qs_sample {
    size_t index; /* in the grid */
    struct qs_window_fit fit;
    struct qs_window_tone tone;
};

struct qs_samples {
    struct qs_sample *item;
    size_t count;
    double *scratch; /* as many numbers */
};

/* What the windows have in common. */
struct qs_draw {
    int side;       /* cells along a window's side */
    double pixels;  /* in a cell */
    double sharing; /* listed windows that share a cell */
};

/* Spreads of log(within), log(between) and log(core) that independent pixels make. */
double
qs_draw_within_spread(const struct qs_draw *draw);

double
qs_draw_between_spread(const struct qs_draw *draw);

double
qs_draw_core_spread(const struct qs_draw *draw);

static inline double
qs_log_ratio(const struct qs_window_fit *fit)
{
    return log(fit->between / fit->within);
}

/* Puts samples in the order of their tone's mean. */
void
qs_samples_order(struct qs_samples *samples);

/*
 * Draws the floor of a channel through samples in the order of their means, and
 * leaves in *samples those that lie on it.  Where fewer than `least` (>= 1) are left
 * the floor means nothing.  channel->follows is set by the caller.
 */
void
qs_draw_channel(const struct qs_draw *draw, struct qs_floor_channel *channel,
                struct qs_samples *samples, size_t least);

/* Variance inside cells, and between them, where a window of this mean is on the floor.
 */
void
qs_floor_at(const struct qs_floor_channel *channel, const struct qs_window_fit *fit,
            double *within, double *between);

#endif
