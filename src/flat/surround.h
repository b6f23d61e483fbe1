/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * surround.h - how far the evenness of a patch reaches beyond it
 *
 * A filter's kernel looks beyond the delivered pixel.  Around a patch in a wide
 * even wall that does no harm and gives more delivered pixels to measure; around a
 * chart's tile it would let the neighbour's edge in.  So the strips around a
 * patch are tried one by one, going outwards, and taken while they continue the
 * patch's own surface within its own noise.
 *
 * Threads: depends on its arguments alone.
 * Method: docs/method/fall.md, equations D9 and D10.
 */
#ifndef QS_FLAT_SURROUND_H
#define QS_FLAT_SURROUND_H

#include "base/plane.h"
#include "base/status.h"

enum {
    QS_SURROUND_STEP_PX = 4 /* strips are this wide */
};

/*
 * The part of `plane` that continues the patch at `box` (in the plane's own
 * coordinates, inside it, sides at least QS_SHADING_MIN_PX).  `limit` is a box to
 * stay within; it holds `box`.  *reach holds `box` too.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_surround(const struct qs_plane *plane, struct qs_box box, struct qs_box limit,
            struct qs_box *reach, struct qs_error *err);

#endif
