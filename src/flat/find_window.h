/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_window.h - square windows of cells, and how even each one is
 *
 * Part of the search for flat patches (find.h); nobody else calls it.  A window
 * is a square of cells.  Its cell means are held against a second-order
 * surface; what is left over says whether the light in it is even.
 *
 * Units: linear light and its square; window sides and places in cells.
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P1 to P5.
 */
#ifndef QS_FLAT_FIND_WINDOW_H
#define QS_FLAT_FIND_WINDOW_H

#include <stddef.h>

#include "base/status.h"
#include "flat/cells.h"

enum {
    QS_WINDOW_MAX = 66, /* largest side: a 256 px patch of 4 px cells and its margin */
    QS_WINDOW_MIN = 4   /* smallest side: 16 cells, of which a surface takes 6 */
};

/* Orthonormal polynomials of degree 1 and 2 over `side` cells, and step weights. */
struct qs_window_basis {
    int side;
    double linear[QS_WINDOW_MAX];
    double square[QS_WINDOW_MAX];
    double step[QS_WINDOW_MAX]; /* [k]: 1 / squared length of a step before cell k, less
                                   what even light may have of it; [0] is unused */
};

/* What one channel of one window says. */
struct qs_window_fit {
    double mean;    /* of the cell means */
    double within;  /* mean variance inside the cells */
    double between; /* variance of the cell means about their surface */
    double core;    /* the same without what whole rows or columns of cells share */
    double step_x;  /* largest squared step in the column profile, scaled as between */
    double step_y;  /* the same in the row profile */
};

/* A window's mean and within in the channel whose variance goes with its own mean. */
struct qs_window_tone {
    double mean;
    double within;
};

/* A regular grid of windows over a frame. */
struct qs_windows {
    int side; /* cells along a window's side */
    int step; /* cells from one window to the next */
    int columns;
    int rows;
    struct qs_window_fit *fit;   /* rows x columns, channel y */
    struct qs_window_tone *tone; /* the same in channel g, or y of a grey frame */
    unsigned char *clipped;      /* mean share of clipped pixels, 255 = all */
};

/* Fills *basis for windows of `side` cells, QS_WINDOW_MIN to QS_WINDOW_MAX. */
void
qs_window_basis_init(struct qs_window_basis *basis, int side);

/*
 * Lower quartile of step_x / between that independent cells give in windows of
 * this side.  Simulated, 40000 windows each, good to 0.02.
 */
double
qs_window_step_quartile(int side);

/*
 * Measures one channel of the window whose top left cell has the index `first`
 * in the grid's arrays.
 */
void
qs_window_measure(const struct qs_cells *cells, enum qs_channel channel, size_t first,
                  const struct qs_window_basis *basis, struct qs_window_fit *fit);

/* Mean and within of the channel with a law of its own, g or y of a grey frame. */
struct qs_window_tone
qs_window_tone_of(const struct qs_cells *cells, size_t first, int side);

/*
 * The window's cell means less their second-order surface, row by row into
 * `residual` (side x side values).
 */
void
qs_window_residual(const struct qs_cells *cells, enum qs_channel channel, size_t first,
                   const struct qs_window_basis *basis, double *residual);

/* Index of the top left cell of window `index` in the cells' arrays. */
static inline size_t
qs_window_first(const struct qs_windows *windows, const struct qs_cells *cells,
                size_t index)
{
    size_t row = index / (size_t)windows->columns,
           column = index % (size_t)windows->columns;

    return (row * (size_t)cells->columns + column) * (size_t)windows->step;
}

/*
 * Measures every window of a grid over the frame.  Detail is plainest in y, but y
 * of a colour frame holds the noise of three channels, so that its variance goes
 * with the colour and not with its tone alone; g has a law of its own.
 *
 *   QS_OK           clear with qs_windows_clear
 *   QS_ERR_MEMORY   *windows is empty
 */
QS_MUST_CHECK enum qs_status
qs_windows_init(struct qs_windows *windows, const struct qs_cells *cells, int step,
                const struct qs_window_basis *basis, struct qs_error *err);

/* Frees the arrays; a zeroed struct is allowed. */
void
qs_windows_clear(struct qs_windows *windows);

#endif
