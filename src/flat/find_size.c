/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_size.h"

#include <assert.h>
#include <math.h>

#include "base/order.h"
#include "flat/find_cluster.h"

enum {
    PROBES_MIN = 6 /* fewest that say anything */
};

static const double COARSE_RATIO = 0.5;
static const double SPREADS = 3.5; /* how far from the floor a square may lie */

/* Least distances allowed, as logarithms: light is never quite of second order. */
static const double LEAST_WITHIN = 0.05;
static const double LEAST_BETWEEN = 0.1;

bool
qs_floor_is_coarse(const struct qs_floor *floor)
{
    return !floor->constant && floor->channel[QS_Y].ratio > COARSE_RATIO;
}

void
qs_size_init(struct qs_size *size, int side)
{
    *size = (struct qs_size){side, 1.0, 1.0, 1.0, 1.0, 1.0, {0}};
    qs_window_basis_init(&size->basis, side);
}

bool
qs_is_near(double value, double expected, double spread, double least)
{
    return fabs(log(value / expected)) < fmax(SPREADS * spread, least);
}

bool
qs_size_is_on_floor(const struct qs_size *size, const struct qs_floor_channel *channel,
                    int grid_side, const struct qs_window_fit *fit, double limit,
                    double *between)
{
    const double shrink = (double)grid_side / size->side;
    double within, base;

    if (fit->within <= 0.0 || fit->between <= 0.0 || fit->core <= 0.0)
        return false;
    qs_floor_at(channel, fit, &within, &base);
    *between = base * size->between;
    return qs_is_near(fit->within, within * size->within,
                      shrink * channel->within_spread, LEAST_WITHIN) &&
           qs_is_near(fit->between, *between, shrink * channel->between_spread,
                      LEAST_BETWEEN) &&
           qs_is_near(fit->core, base * size->core * exp(channel->core),
                      shrink * channel->core_spread, LEAST_BETWEEN) &&
           fit->step_x < limit * size->step_x * channel->step_x * base &&
           fit->step_y < limit * size->step_y * channel->step_y * base;
}

/* Value at a share of the way through `values`, which end up in order. */
static double
quantile(double *values, int count, double share)
{
    qs_sort(values, (size_t)count);
    return values[(int)(share * count)];
}

static double
bounded(double value, double least, double most)
{
    return value < least ? least : value > most ? most : value;
}

void
qs_size_probe(const struct qs_size *size, const struct qs_floor *floor,
              const struct qs_cells *cells, size_t first, struct qs_probes *probes)
{
    const struct qs_floor_channel *y = &floor->channel[QS_Y];
    const int i = probes->count++;
    struct qs_window_tone tone = qs_window_tone_of(cells, first, size->side);
    struct qs_window_fit fit;
    double within, between;

    assert(i < QS_PROBES);
    qs_window_measure(cells, QS_Y, first, &size->basis, &fit);
    qs_floor_at(y, &fit, &within, &between);
    probes->within[i] = tone.within / qs_curve_at(&y->within, tone.mean);
    probes->between[i] = fit.between / between;
    probes->core[i] = fit.core / (between * exp(y->core));
    probes->step_x[i] = fit.step_x / between / y->step_x;
    probes->step_y[i] = fit.step_y / between / y->step_y;
}

/*
 * Most that the variance of a step may grow, from `base` in the grid's windows, in
 * squares `longer` times as long.  Whole rows or columns with noise of their own
 * make it grow as the length; fine noise does not, and where squares of a staircase
 * pose as even, they must not set the measure for each other.
 */
static double
step_cap(double base, double longer, bool coarse)
{
    double fine = fmin(base, 1.3);

    if (coarse)
        return 2.5 * longer;

    return 1.15 * (fine + (base - fine) * longer) / base;
}

/* What larger squares may at most show more of than the floor: stripes, blotches. */
static double
slack_of(const struct qs_floor *floor)
{
    const struct qs_floor_channel *y = &floor->channel[QS_Y];

    if (qs_floor_is_coarse(floor))
        return 1.5;
    return y->step_x + y->step_y > 3.0 ? 1.0 : 0.0;
}

void
qs_size_learn(struct qs_size *size, const struct qs_size *smaller,
              const struct qs_floor *floor, int grid_side, struct qs_probes *probes)
{
    const struct qs_floor_channel *y = &floor->channel[QS_Y];
    const bool coarse = qs_floor_is_coarse(floor);
    const double longer = (double)size->side / grid_side, slack = slack_of(floor);
    const double quartile = qs_window_step_quartile(size->side);
    const int n = probes->count;

    size->within = smaller->within;
    size->between = smaller->between;
    size->core = smaller->core;
    size->step_x = smaller->step_x;
    size->step_y = smaller->step_y;
    if (n < PROBES_MIN)
        return;
    /* Somewhat below the median: some of the squares may not be even. */
    size->within =
        bounded(quantile(probes->within, n, 0.4), smaller->within, 1.0 + 0.1 * slack);
    size->between =
        bounded(quantile(probes->between, n, 0.4), smaller->between, 1.1 + slack);
    size->core = bounded(quantile(probes->core, n, 0.4), smaller->core, 1.1 + slack);
    size->step_x = bounded(quantile(probes->step_x, n, 0.25) / quartile,
                           smaller->step_x, step_cap(y->step_x, longer, coarse));
    size->step_y = bounded(quantile(probes->step_y, n, 0.25) / quartile,
                           smaller->step_y, step_cap(y->step_y, longer, coarse));
}
