/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_rows.h - brightness that waves down the whole frame: lamps that flicker
 *
 * A rolling shutter reads row after row, so that the flicker of a lamp becomes waves of
 * brightness down the frame.  The frame is seen as columns of pieces some 32 px wide.
 * In each the brightness changes from row to row; changes far beyond the column's usual
 * ones are edges of the scene and left out.  A wave in the columns' mean change is
 * flicker where it stands out from its neighbours in frequency and is the same all
 * across the frame.
 *
 * Memory: one float a row and column, of which there are at most QS_ROW_COLUMNS.
 * Threads: a struct has one owner; rows come in order.
 * Method: docs/method/traces.md, equations T34 to T37.
 */
#ifndef QS_MEASURE_TRACES_ROWS_H
#define QS_MEASURE_TRACES_ROWS_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"

enum {
    QS_ROW_COLUMNS = 128
};

struct qs_row_waves {
    int height;
    int rows;     /* seen so far, set by who adds them */
    int columns;  /* 0: the frame is too small to tell */
    int piece_px; /* width of a column */
    float *mean;  /* [columns][height]: of each piece */
};

/*
 *   QS_OK           clear with qs_row_waves_clear; a frame too small to tell has no
 *                   columns, and all else does nothing
 *   QS_ERR_MEMORY   *waves is empty
 */
QS_MUST_CHECK enum qs_status
qs_row_waves_init(struct qs_row_waves *waves, int width, int height,
                  struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_row_waves_clear(struct qs_row_waves *waves);

/*
 * Adds rows of the frame from row `first` on, in luminance of linear light, as wide as
 * the frame; beyond its height they are left out.  Different rows may be added by
 * different threads; those added so far count as seen once waves->rows says so.
 */
void
qs_row_waves_add(struct qs_row_waves *waves, const struct qs_plane *rows, int first);

struct qs_row_wave {
    bool seen;
    double period_px;
    double amplitude; /* share of the brightness, from the middle to the top */
};

/*
 * Looks at the rows seen.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_row_waves_judge(const struct qs_row_waves *waves, struct qs_row_wave *out,
                   struct qs_error *err);

#endif
