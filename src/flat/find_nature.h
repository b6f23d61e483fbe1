/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_nature.h - whether windows that look alike hold noise or fine texture
 *
 * Part of the search for flat patches (find.h).  Grass or gravel all over a
 * frame has a floor too.  But noise is Gaussian once averaged over a cell, its
 * strength does not follow the local brightness, and its strength is as even
 * as its correlation lets it be; texture fails in one of these.
 *
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P11 to P15.
 */
#ifndef QS_FLAT_FIND_NATURE_H
#define QS_FLAT_FIND_NATURE_H

#include <stdbool.h>
#include <stddef.h>

#include "flat/cells.h"
#include "flat/find_window.h"

/* Pooled over windows, after rows and columns of each have lost their means. */
struct qs_nature {
    double skew;      /* of the cell means' residuals: 0 for noise */
    double kurtosis;  /* excess over 3: 0 for noise */
    double cross;     /* correlation of residual and variance inside the cell: 0 */
    double spread;    /* sd / mean of the variances inside the cells */
    double uneven;    /* sd of log(core) from window to window, / what noise explains */
    double neighbour; /* correlation of residuals of neighbouring cells */
    bool cut;         /* at an end of the range: not Gaussian even if noise */
    bool own;         /* r, g and b have a noise of their own; see find_colours.h */
    double share;     /* of all usable windows that these are */
    double cells;     /* independent cells behind these figures */
};

/*
 * Measures channel y of the `count` windows listed by index, at least 1.
 * `overlap` is how many windows of the grid share a cell.
 */
void
qs_nature_measure(struct qs_nature *nature, const struct qs_windows *windows,
                  const struct qs_cells *cells, const struct qs_window_basis *basis,
                  const size_t *list, size_t count, double overlap);

/*
 * Whether windows of this nature, whose log(between / within) is `ratio`, hold
 * noise in cells of `side_px` seen through windows of `window_side` cells.
 */
bool
qs_nature_is_noise(const struct qs_nature *nature, double ratio, int side_px,
                   int window_side);

#endif
