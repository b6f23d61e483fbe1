/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shrink.h - a plane shrunk by a filter along each axis
 *
 * Units: linear light, or whatever the plane holds; the filter is linear.
 * Threads: depends on its arguments alone.
 */
#ifndef QS_RESAMPLE_SHRINK_H
#define QS_RESAMPLE_SHRINK_H

#include "base/plane.h"
#include "base/status.h"
#include "resample/weights.h"

/*
 * The delivered pixels of one axis that lie wholly within the source pixels
 * [inside, inside + inside_length) and whose kernel reaches no further than
 * [reach, reach + reach_length), both in source pixels of that axis.  Returns
 * their number and writes the first one to *first.
 */
int
qs_shrink_span(const struct qs_weights *weights, int inside, int inside_length,
               int reach, int reach_length, int *first);

/*
 * Computes the delivered pixels out_box (in delivered pixels of the whole axes
 * that `across` and `down` describe) from `source`, which holds the source
 * pixels from (source_x, source_y) on and must hold every tap.  `out` has
 * out_box's size.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_shrink(const struct qs_plane *source, int source_x, int source_y,
          const struct qs_weights *across, const struct qs_weights *down,
          struct qs_box out_box, struct qs_plane *out, struct qs_error *err);

#endif
