/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_size.h - what noise shows in squares of one size
 *
 * Part of the search for flat patches (find.h).  The floor is drawn through small
 * windows.  A larger square takes in longer waves of the noise, so that its figures
 * differ, and it averages more, so that they scatter less.
 *
 * Units: sides in cells; the rest are factors of the floor's own figures.
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P17 to P19.
 */
#ifndef QS_FLAT_FIND_SIZE_H
#define QS_FLAT_FIND_SIZE_H

#include <stdbool.h>
#include <stddef.h>

#include "flat/cells.h"
#include "flat/find_floor.h"
#include "flat/find_window.h"

enum {
    QS_PROBES = 24 /* squares of one size looked at before the size is used */
};

/* One size, and how its figures compare with those of the grid's windows. */
struct qs_size {
    int side;
    double within;
    double between;
    double core;
    double step_x; /* variance of a step in the column profile */
    double step_y;
    struct qs_window_basis basis;
};

/* What squares of one size show, against the floor. */
struct qs_probes {
    int count; /* 0 to QS_PROBES */
    double within[QS_PROBES];
    double between[QS_PROBES];
    double core[QS_PROBES];
    double step_x[QS_PROBES];
    double step_y[QS_PROBES];
};

/* Whether the noise is so coarse that small squares would hide much of it. */
bool
qs_floor_is_coarse(const struct qs_floor *floor);

/* A size whose figures are those of the grid's windows. */
void
qs_size_init(struct qs_size *size, int side);

/* Adds the square whose top left cell has the index `first`; there must be room. */
void
qs_size_probe(const struct qs_size *size, const struct qs_floor *floor,
              const struct qs_cells *cells, size_t first, struct qs_probes *probes);

/*
 * Takes the size's figures from its probes, or from the next smaller size where there
 * are too few.  `grid_side` is the side of the grid's windows.
 */
void
qs_size_learn(struct qs_size *size, const struct qs_size *smaller,
              const struct qs_floor *floor, int grid_side, struct qs_probes *probes);

/*
 * Whether `value` lies within 3.5 spreads of `expected`, on a scale of logarithms;
 * `least` is the least distance allowed.  Both values must be > 0.
 */
bool
qs_is_near(double value, double expected, double spread, double least);

/*
 * Whether the figures of a square of this size lie on the floor of a channel, and no
 * step in it has more than `limit` variances of a step.  *between gets the variance
 * its cell means ought to have; it is unset where the square has no noise at all.
 */
bool
qs_size_is_on_floor(const struct qs_size *size, const struct qs_floor_channel *channel,
                    int grid_side, const struct qs_window_fit *fit, double limit,
                    double *between);

#endif
