/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_hunt.h - the state of a search for a frame's floor
 *
 * Shared by the two halves of find_floor.h alone: the one that finds windows of noise
 * in y, and the one that draws the floors of r, g and b through them.
 *
 * Threads: depends on its arguments alone.
 */
#ifndef QS_FLAT_FIND_HUNT_H
#define QS_FLAT_FIND_HUNT_H

#include "base/status.h"
#include "flat/find_draw.h"
#include "flat/find_floor.h"

enum {
    QS_HUNT_LEAST = 4 /* samples a floor is drawn through at least */
};

struct qs_hunt {
    const struct qs_windows *windows;
    const struct qs_cells *cells;
    const struct qs_window_basis *basis;
    struct qs_draw draw;
    double overlap; /* windows of the grid that share a cell */
    double thinned; /* windows each kept one stands for */
    struct qs_samples kept;
    float *all_ratios; /* log(between / within) of every window, huge where unusable */
    double *ratio;     /* an even choice of the usable ones, in order */
    size_t ratio_count;
    size_t *list;
    size_t count;  /* windows of the grid */
    size_t usable; /* of them */
    unsigned char clipped_max;
};

/*
 * Draws the floors of r, g and b through the first `total` listed windows, at least 1,
 * and what they add up to in y.  Clears floor->found where too few lie on one.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_hunt_colours(struct qs_hunt *hunt, struct qs_floor *floor, size_t total,
                struct qs_error *err);

#endif
