/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * cells.h - a frame boiled down to small square cells
 *
 * One pass over the rows of a frame leaves, for each cell of a few pixels
 * square and each channel, the mean and the variance of the pixels in it.  That
 * is enough to look for flat places without holding the picture.
 *
 * Units: linear light; variances in its square.
 * Memory: 2 floats a channel and cell; cells grow with the frame so that a
 * frame never needs more than about 1.3 million of them.
 */
#ifndef QS_FLAT_CELLS_H
#define QS_FLAT_CELLS_H

#include "base/channel.h"
#include "base/status.h"

enum {
    QS_CELLS_PART_PX = 256 /* a multiple of every side */
};

struct qs_cells {
    int side_px; /* pixels along a cell's side: 4, 8, 16 ... */
    int columns; /* whole cells across; the right and lower rest is left out */
    int rows;
    enum qs_channel first;    /* QS_R, or QS_Y for grey: channels below are absent */
    float *mean[QS_CHANNELS]; /* rows x columns, or NULL */
    float *variance[QS_CHANNELS]; /* of the side_px^2 pixels about the cell's own mean,
                                     divided by side_px^2 - 1 */
    unsigned char *clipped; /* share of pixels at an end of the code range, 255 = all */
};

/*
 * Makes an empty grid for a frame of this size.
 *
 *   QS_OK            clear with qs_cells_clear
 *   QS_ERR_TOO_FEW   the frame is smaller than one cell
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_cells_init(struct qs_cells *cells, int width, int height, enum qs_channel first,
              struct qs_error *err);

/* Frees the arrays; a zeroed struct is allowed. */
void
qs_cells_clear(struct qs_cells *cells);

/*
 * Fills row `row` of the grid from its side_px rows of pixels: planes[c] points
 * to the first of them, `stride` values from one row to the next.  `ends` as in
 * qs_linear_decode, same stride; may be NULL.  Different rows may be filled by
 * different threads.
 */
void
qs_cells_fill_row(struct qs_cells *cells, int row,
                  const float *const planes[QS_CHANNELS], const unsigned char *ends,
                  int stride);

/*
 * The same for the pixels of columns from ... to - 1 alone, `from` being a multiple of
 * QS_CELLS_PART_PX, and `to` too but at the right end.  Different parts may be filled
 * by different threads; the figures are those of the whole row.  planes[c] and `ends`
 * point to column 0.
 */
void
qs_cells_fill_part(struct qs_cells *cells, int row, int from, int to,
                   const float *const planes[QS_CHANNELS], const unsigned char *ends,
                   int stride);

#endif
