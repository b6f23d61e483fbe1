/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * line_shift.h - a shift across stripes of the scene
 *
 * A scene of rows (or columns) alone, such as a blind, that is shifted across them
 * looks like frames whose rows have noise in common, until the differences of the rows
 * are held against the slopes of the scene's own.
 *
 * Units: values of the planes, one of them a pixel.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/repeats.md, equation R24.
 */
#ifndef QS_MEASURE_LINE_SHIFT_H
#define QS_MEASURE_LINE_SHIFT_H

#include <stdbool.h>

#include "base/status.h"

/*
 * `profile` holds the mean of each of `count` rows, `difference` how much more it is
 * in the other frame.  *shifted says whether that is a shift, *shift by how much.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_line_shift(const double *profile, const double *difference, int count, bool *shifted,
              double *shift, struct qs_error *err);

#endif
