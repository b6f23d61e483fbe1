/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/memory.h"
#include "flat/find_floor.h"
#include "flat/find_pack.h"
#include "flat/find_stripes.h"
#include "flat/find_window.h"

enum {
    WINDOW_CELLS = 8,       /* side of the smallest square of 4 px cells, */
    WINDOW_CELLS_LARGE = 6, /* and of larger ones */
    SMALL_CELLS = 8,        /* squares of 4 px cells up to this keep half the margin */
    MARGIN_PX = 4,          /* demosaicing and lens blur spread an edge so far */
    AMPLE_PX = 64,
    MOST_PX = 256,
    DENSE_CELLS = 60000,  /* frames up to this are searched at every cell, */
    SPARSE_CELLS = 400000 /* up to this at every second, above at every third */
};

/* Pixels at each side of a square that are left out of its patch. */
static int
margin_px(const struct qs_cells *cells, int side)
{
    if (cells->side_px > 2 * MARGIN_PX)
        return cells->side_px / 2;
    return cells->side_px < 2 * MARGIN_PX && side <= SMALL_CELLS ? MARGIN_PX / 2
                                                                 : MARGIN_PX;
}

/* Side in cells of a square whose patch has at least `px` pixels a side. */
static int
cells_for(const struct qs_cells *cells, int px)
{
    int margin = margin_px(cells, SMALL_CELLS + 1);

    return (px + 2 * margin + cells->side_px - 1) / cells->side_px;
}

static int
step_for(const struct qs_cells *cells)
{
    long count = (long)cells->columns * cells->rows;

    return count <= DENSE_CELLS ? 1 : count <= SPARSE_CELLS ? 2 : 3;
}

/* Half-stop of the tone, the darkest first; all that is not light comes first. */
static int
tone_bin(const struct qs_square *square)
{
    double mean = square->mean[QS_Y];

    return mean > 0.0 ? (int)floor(2.0 * log2(mean)) : -2000;
}

/* By half-stop, then the larger first, then from the top left. */
static int
by_bin(const void *a, const void *b)
{
    const struct qs_square *x = a, *y = b;
    int bin_x = tone_bin(x), bin_y = tone_bin(y);

    if (bin_x != bin_y)
        return bin_x - bin_y;
    if (x->side != y->side)
        return y->side - x->side;
    return x->row != y->row ? x->row - y->row : x->column - y->column;
}

static int
by_tone(const void *a, const void *b)
{
    const struct qs_square *x = a, *y = b;

    if (x->mean[QS_Y] != y->mean[QS_Y])
        return x->mean[QS_Y] < y->mean[QS_Y] ? -1 : 1;
    return x->row != y->row ? x->row - y->row : x->column - y->column;
}

/* Moves the next square of every half-stop to the front, in turns, until `most`. */
static void
choose(struct qs_square_list *list, int most)
{
    struct qs_square *item = list->item;
    bool taken[QS_PACK_MAX] = {false};
    struct qs_square chosen[QS_FIND_MAX];
    int count = 0;

    qsort(item, (size_t)list->count, sizeof *item, by_bin);
    while (count < most && count < list->count) {
        int last = 0;
        bool any = false;

        for (int i = 0; i < list->count && count < most; i++) {
            if (taken[i] || (any && tone_bin(&item[i]) == last))
                continue;
            last = tone_bin(&item[i]);
            any = taken[i] = true;
            chosen[count++] = item[i];
        }
    }
    for (int i = 0; i < count; i++)
        item[i] = chosen[i];
    list->count = count;
}

static void
write_boxes(const struct qs_square_list *list, const struct qs_cells *cells,
            struct qs_box *boxes)
{
    for (int i = 0; i < list->count; i++) {
        const struct qs_square *s = &list->item[i];
        int margin = margin_px(cells, s->side), px = cells->side_px;

        boxes[i] =
            (struct qs_box){s->column * px + margin, s->row * px + margin,
                            s->side * px - 2 * margin, s->side * px - 2 * margin};
    }
}

static enum qs_status
search(const struct qs_cells *cells, const struct qs_window_basis *basis,
       struct qs_square_list *list, struct qs_error *err)
{
    struct qs_windows windows;
    struct qs_floor floor;
    enum qs_status status =
        qs_windows_init(&windows, cells, step_for(cells), basis, err);

    list->count = 0;
    if (status != QS_OK)
        return status;
    status = qs_floor_find(&floor, &windows, cells, basis, err);
    if (status == QS_OK && floor.found)
        status = qs_pack(list, cells, &windows, &floor, cells_for(cells, MOST_PX),
                         cells_for(cells, AMPLE_PX), err);
    qs_windows_clear(&windows);
    return status;
}

/* Looks once more, where nothing was found, without what whole rows or columns share.
 */
static enum qs_status
search_calm(const struct qs_cells *cells, const struct qs_window_basis *basis,
            struct qs_square_list *list, struct qs_error *err)
{
    struct qs_cells calm;
    bool striped = false;
    enum qs_status status = qs_stripes_calm(cells, &calm, &striped, err);

    if (status == QS_OK && striped)
        status = search(&calm, basis, list, err);
    qs_cells_clear(&calm);
    return status;
}

enum qs_status
qs_find_flat(const struct qs_cells *cells, struct qs_box boxes[QS_FIND_MAX], int *count,
             struct qs_error *err)
{
    struct qs_window_basis basis;
    struct qs_square_list *list;
    enum qs_status status;

    *count = 0;
    list = qs_alloc(1, sizeof *list);
    if (list == NULL)
        return qs_fail_memory(err);
    qs_window_basis_init(&basis,
                         cells->side_px == 4 ? WINDOW_CELLS : WINDOW_CELLS_LARGE);
    status = search(cells, &basis, list, err);
    if (status == QS_OK && list->count == 0)
        status = search_calm(cells, &basis, list, err);
    if (status == QS_OK) {
        choose(list, QS_FIND_MAX);
        qsort(list->item, (size_t)list->count, sizeof list->item[0], by_tone);
        write_boxes(list, cells, boxes);
        *count = list->count;
    }
    qs_free(list);
    return status;
}
