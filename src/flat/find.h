/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find.h - the flat patches of a frame
 *
 * Looks for squares whose light is even: whose cell means differ from a
 * second-order surface by no more than the noise of this very frame explains.
 * Works on step wedges, charts of many patches and photographs.  Patches are
 * never picked for being quiet: they are picked for size, evenness at low
 * frequency and tone, and every one that passes counts.
 *
 * Units: pixels of the stored frame.
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md.
 */
#ifndef QS_FLAT_FIND_H
#define QS_FLAT_FIND_H

#include "base/plane.h"
#include "base/status.h"
#include "flat/cells.h"

enum {
    QS_FIND_MAX = 64 /* most patches one frame is given */
};

/*
 * Writes up to QS_FIND_MAX boxes that do not overlap into `boxes`, darkest
 * first, and their number into *count.  Zero is a good answer: nothing is flat.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_find_flat(const struct qs_cells *cells, struct qs_box boxes[QS_FIND_MAX], int *count,
             struct qs_error *err);

#endif
