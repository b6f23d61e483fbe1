/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_stripes.h - what whole rows or columns of a frame share, taken off its cells
 *
 * Part of the search for flat patches (find.h).  Strong row or column noise makes
 * every even place look structured.  It is told from structure by running from one
 * side of the frame to the other: the left half's rows show the same steps as the
 * right half's.
 *
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, section "Stripes".
 */
#ifndef QS_FLAT_FIND_STRIPES_H
#define QS_FLAT_FIND_STRIPES_H

#include <stdbool.h>

#include "base/status.h"
#include "flat/cells.h"

/*
 * Makes *calm a copy of `cells` without what whole rows and columns share, and says
 * in *striped whether there was any; where not, *calm is empty.
 *
 *   QS_OK           clear *calm with qs_cells_clear
 *   QS_ERR_MEMORY   *calm is empty
 */
QS_MUST_CHECK enum qs_status
qs_stripes_calm(const struct qs_cells *cells, struct qs_cells *calm, bool *striped,
                struct qs_error *err);

#endif
