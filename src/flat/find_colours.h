/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_colours.h - whether r, g and b vary together or each for itself
 *
 * Part of the search for flat patches (find.h).  Texture and uneven light change r, g
 * and b together; the noise of a sensor's photosites is each colour's own.  How much
 * is alike says how much of what varies may be detail.
 *
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P21 to P23.
 */
#ifndef QS_FLAT_FIND_COLOURS_H
#define QS_FLAT_FIND_COLOURS_H

#include <stdbool.h>
#include <stddef.h>

#include "flat/cells.h"
#include "flat/find_window.h"

/* Correlations over a list of windows; 1 where two colours are the same. */
struct qs_colours {
    double between; /* the largest of two colours' cell means about their surfaces */
    double within;  /* a mean of all three inside the cells */
};

/*
 * Measures some of the `count` windows listed by index, at least 1, of a colour frame.
 */
void
qs_colours_measure(struct qs_colours *colours, const struct qs_windows *windows,
                   const struct qs_cells *cells, const struct qs_window_basis *basis,
                   const size_t *list, size_t count);

/* Whether so little is alike that what varies is noise for nearly all of it. */
bool
qs_colours_are_own(const struct qs_colours *colours);

#endif
