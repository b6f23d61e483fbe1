/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * cell_change.h - places where two frames differ by more than their noise
 *
 * Cells of 8 x 8 values.  How far a cell's mean may differ from one frame to the
 * next follows from how far its values differ, and from how the frames' noise hangs
 * together, which most cells show.
 *
 * Units: those of the planes; places in cells.
 * Threads: one at a time.
 * Method: docs/method/repeats.md, equations R26 to R29.
 */
#ifndef QS_MEASURE_CELL_CHANGE_H
#define QS_MEASURE_CELL_CHANGE_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"

enum {
    QS_CHANGE_SIDE = 8 /* values along a cell's side */
};

struct qs_cell_change;

/*
 *   QS_OK           *out is to be freed with qs_cell_change_free
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_cell_change_new(int frames, int columns, int rows, struct qs_cell_change **out,
                   struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_cell_change_free(struct qs_cell_change *change);

/*
 * Fills row `row` of the cells from QS_CHANGE_SIDE rows of `stride` values of every
 * frame, one frame after the other.  blind[] is not 0 where nothing is known, one row
 * of `stride` after the other.
 */
void
qs_cell_change_add(struct qs_cell_change *change, int row, const float *values,
                   const unsigned char *blind, int stride);

/*
 * How far the noise of frame `frame` (from 1) and of the first one hangs together: the
 * sum of its correlations with its neighbours, 1 or more.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_cell_change_linked(const struct qs_cell_change *change, int frame, double *linked,
                      struct qs_error *err);

/*
 * Median over the brighter cells of how far frame `frame` (from 1) is from the first,
 * as a share of their light; 0 where hardly any are bright.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_cell_change_apart(const struct qs_cell_change *change, int frame, double *apart,
                     struct qs_error *err);

/*
 * How broad the differences of frame `frame` (from 1) are: the mean square of their
 * means over fields of 8 x 8 cells, as a share of that over cells.  Blobs of noise are
 * smaller than a field and even out in it (1/64 and more); other scenes, and other
 * light, do not.  0 where the frame is smaller than a field.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_cell_change_broad(const struct qs_cell_change *change, int frame, double *broad,
                     struct qs_error *err);

/*
 * Whether frame `frame` (from 1) differs from the first somewhere, and where most, in
 * cells.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_cell_change_judge(const struct qs_cell_change *change, int frame, bool *changed,
                     struct qs_box *box, struct qs_error *err);

#endif
