/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_pack.h - as many large even squares as fit beside each other
 *
 * Part of the search for flat patches (find.h).  Goes from large squares to
 * small ones and keeps each that is even as a whole.
 *
 * Units: places and sides in cells.
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P16 to P20.
 */
#ifndef QS_FLAT_FIND_PACK_H
#define QS_FLAT_FIND_PACK_H

#include "base/status.h"
#include "flat/cells.h"
#include "flat/find_floor.h"
#include "flat/find_window.h"

enum {
    QS_PACK_MAX = 512 /* squares kept at most */
};

/* A square that is even in every channel. */
struct qs_square {
    int column; /* of its top left cell */
    int row;
    int side;
    double mean[QS_CHANNELS];  /* from cells.first on */
    double noise[QS_CHANNELS]; /* sd of a pixel */
    double within_y;           /* mean variance inside the cells, y */
};

struct qs_square_list {
    int count;
    struct qs_square item[QS_PACK_MAX];
};

/*
 * Fills *list with squares that do not overlap, of sides from the grid's windows'
 * to `largest` cells; those under `ample` cells only at tones no ample one has.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_pack(struct qs_square_list *list, const struct qs_cells *cells,
        const struct qs_windows *windows, const struct qs_floor *floor, int largest,
        int ample, struct qs_error *err);

#endif
