/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/cells.h"

#include <assert.h>
#include <stddef.h>

#include "base/lanes.h"
#include "base/memory.h"

enum {
    SIDE_MIN_PX = 4,
    CELLS_MAX = 1050000,        /* 16.8 megapixels of 4 px cells, 67 of 8 px ones */
    CHUNK_PX = QS_CELLS_PART_PX /* columns worked on at a time */
};

static int
side_for(int width, int height)
{
    int side = SIDE_MIN_PX;

    while ((long)(width / side) * (height / side) > CELLS_MAX)
        side *= 2;
    return side;
}

enum qs_status
qs_cells_init(struct qs_cells *cells, int width, int height, enum qs_channel first,
              struct qs_error *err)
{
    struct qs_cells grid = {.first = first};
    size_t count;

    *cells = grid;
    grid.side_px = side_for(width, height);
    grid.columns = width / grid.side_px;
    grid.rows = height / grid.side_px;
    if (grid.columns < 1 || grid.rows < 1)
        return qs_fail(
            err, QS_ERR_TOO_FEW,
            "The picture is only %d by %d pixels, too small to look for flat "
            "patches; use a larger one.",
            width, height);
    assert(CHUNK_PX % grid.side_px == 0);
    count = (size_t)grid.columns * (size_t)grid.rows;
    grid.clipped = qs_alloc(count, sizeof *grid.clipped);
    for (int c = (int)first; c < QS_CHANNELS; c++) {
        grid.mean[c] = qs_alloc(count, sizeof *grid.mean[c]);
        grid.variance[c] = qs_alloc(count, sizeof *grid.variance[c]);
        if (grid.mean[c] == NULL || grid.variance[c] == NULL)
            goto no_memory;
    }
    if (grid.clipped == NULL)
        goto no_memory;
    *cells = grid;
    return QS_OK;

no_memory:
    qs_cells_clear(&grid);
    return qs_fail_memory(err);
}

void
qs_cells_clear(struct qs_cells *cells)
{
    for (int c = 0; c < QS_CHANNELS; c++) {
        qs_free(cells->mean[c]);
        qs_free(cells->variance[c]);
    }
    qs_free(cells->clipped);
    *cells = (struct qs_cells){0};
}

/* Adds each group of `side` neighbours of `sums` into `out`, from the left. */
static void
fold(const float *sums, int cell_count, int side, float *out)
{
    for (int i = 0; i < cell_count; i++) {
        float sum = 0.0F;

        for (int j = 0; j < side; j++)
            sum += sums[i * side + j];
        out[i] = sum;
    }
}

QS_CLONES static void
add_less(const float *row, float origin, int width, float *restrict sums)
{
    for (int x = 0; x < width; x++)
        sums[x] += row[x] - origin;
}

QS_CLONES static void
add_squares_about(const float *row, const float *centre, int width,
                  float *restrict sums)
{
    for (int x = 0; x < width; x++)
        sums[x] += (row[x] - centre[x]) * (row[x] - centre[x]);
}

/*
 * Means and variances of the cells in one chunk, `px` pixels wide.  Two passes:
 * the first about the chunk's first pixel, which keeps the sums of floats small
 * and makes an even frame's variance exactly zero; the second about the cell's
 * own mean.
 */
static void
fill_chunk(const float *px, int width, int side, int stride, float *mean,
           float *variance)
{
    float sums[CHUNK_PX] = {0}, centre[CHUNK_PX], folded[CHUNK_PX / SIDE_MIN_PX];
    const float origin = px[0];
    const int count = width / side;
    const float n = (float)(side * side);

    for (int y = 0; y < side; y++)
        add_less(px + (ptrdiff_t)y * stride, origin, width, sums);
    fold(sums, count, side, folded);
    for (int i = 0; i < count; i++) {
        mean[i] = origin + folded[i] / n;
        for (int j = 0; j < side; j++)
            centre[i * side + j] = mean[i];
    }
    for (int x = 0; x < width; x++)
        sums[x] = 0.0F;
    for (int y = 0; y < side; y++)
        add_squares_about(px + (ptrdiff_t)y * stride, centre, width, sums);
    fold(sums, count, side, folded);
    for (int i = 0; i < count; i++)
        variance[i] = folded[i] / (n - 1.0F);
}

static void
fill_clipped(const unsigned char *ends, int cell_count, int side, int stride,
             unsigned char *clipped)
{
    const int n = side * side;

    for (int i = 0; i < cell_count; i++) {
        int hits = 0;

        for (int y = 0; y < side; y++) {
            const unsigned char *row = ends + (ptrdiff_t)y * stride + i * side;

            for (int x = 0; x < side; x++)
                hits += row[x] != 0;
        }
        clipped[i] = (unsigned char)((hits * 255 + n / 2) / n);
    }
}

void
qs_cells_fill_part(struct qs_cells *cells, int row, int from, int to,
                   const float *const planes[QS_CHANNELS], const unsigned char *ends,
                   int stride)
{
    const int side = cells->side_px;
    const int right = cells->columns * side, end = to < right ? to : right;
    const size_t start = (size_t)row * (size_t)cells->columns;

    assert(row >= 0 && row < cells->rows && from % QS_CELLS_PART_PX == 0);
    for (int c = (int)cells->first; c < QS_CHANNELS; c++) {
        for (int x = from; x < end; x += CHUNK_PX) {
            int chunk = end - x < CHUNK_PX ? end - x : CHUNK_PX;

            fill_chunk(planes[c] + x, chunk, side, stride,
                       cells->mean[c] + start + x / side,
                       cells->variance[c] + start + x / side);
        }
    }
    if (ends != NULL && end > from)
        fill_clipped(ends + from, (end - from) / side, side, stride,
                     cells->clipped + start + from / side);
}

void
qs_cells_fill_row(struct qs_cells *cells, int row,
                  const float *const planes[QS_CHANNELS], const unsigned char *ends,
                  int stride)
{
    assert(stride >= cells->columns * cells->side_px);
    qs_cells_fill_part(cells, row, 0, cells->columns * cells->side_px, planes, ends,
                       stride);
}
