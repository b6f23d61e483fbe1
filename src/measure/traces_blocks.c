/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_blocks.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/lanes.h"
#include "base/order.h"

/* One tile can't say more than this, whatever is in it. */
static const double MOST_SAID = 0.5;

/* T19: what is called seen: sd beyond chance, in the worst of 8 places and both ways.
 */
static const double SURE_EACH = 4.0;
static const double SURE_BOTH = 6.5;
static const double LEAST_ROUGHER = 0.012;

enum {
    LEAST_UNITS = 6,
    MOST_UNITS = QS_BLOCK_UNITS * QS_BLOCK_AREAS
};

void
qs_blocks_init(struct qs_blocks *blocks, struct qs_box area)
{
    *blocks = (struct qs_blocks){.area = area};
}

/* T18: how far each place stands out from those 2, 4 and 6 px from it. */
static void
add_tile(const double mean[QS_BLOCK_PX], struct qs_block_unit *unit)
{
    double all = 0.0;

    for (int k = 0; k < QS_BLOCK_PX; k++)
        all += mean[k] / QS_BLOCK_PX;
    if (!(all > 0.0))
        return;
    for (int k = 0; k < QS_BLOCK_PX; k++) {
        double others =
            (mean[(k + 2) & 7] + mean[(k + 4) & 7] + mean[(k + 6) & 7]) / 3.0;

        unit->sum[k] += fmin(fmax((mean[k] - others) / all, -MOST_SAID), MOST_SAID);
    }
    unit->tiles++;
}

/*
 * T17: |third difference| of `count` places, `step` values apart, one after the other
 * along the row; `rough` goes on for QS_BLOCK_PX values.
 */
QS_CLONES static void
third_differences(const float *px, ptrdiff_t step, int count, double *restrict rough)
{
    for (int x = 0; x < count; x++)
        rough[x] = fabs((double)px[x] - 3.0 * (double)px[x + step] +
                        3.0 * (double)px[x + 2 * step] - (double)px[x + 3 * step]);
    for (int x = count; x < count + QS_BLOCK_PX; x++)
        rough[x] = 0.0;
}

/* Adds a row's roughness to eight sums: number x to sum x modulo 8. */
QS_CLONES static void
add_by_eight(const double *rough, int count, double sum[QS_BLOCK_PX])
{
    qs_lanes lanes, more;

    memcpy(&lanes, sum, sizeof lanes);
    for (int x = 0; x < count; x += QS_BLOCK_PX) {
        memcpy(&more, rough + x, sizeof more);
        lanes += more;
    }
    memcpy(sum, &lanes, sizeof lanes);
}

/* How many of `count` numbers from 0 on are k modulo 8. */
static int
alike(int count, int k)
{
    return (count - k + QS_BLOCK_PX - 1) / QS_BLOCK_PX;
}

/* Roughness across one tile by the place, modulo 8, of the right neighbour. */
static void
roughness_across(const struct qs_plane *tile, int frame_x, double mean[QS_BLOCK_PX])
{
    const int count = QS_BLOCK_TILE_PX - 3;
    double rough[QS_BLOCK_TILE_PX + QS_BLOCK_PX], sum[QS_BLOCK_PX] = {0.0};

    for (int y = 0; y < QS_BLOCK_TILE_PX; y++) {
        third_differences(qs_plane_row(tile, y), 1, count, rough);
        add_by_eight(rough, count, sum);
    }
    for (int k = 0; k < QS_BLOCK_PX; k++)
        mean[(frame_x + k + 2) & 7] =
            sum[k] / ((double)alike(count, k) * QS_BLOCK_TILE_PX);
}

/* Roughness down one tile by the place of the lower neighbour. */
static void
roughness_down(const struct qs_plane *tile, int frame_y, double mean[QS_BLOCK_PX])
{
    const int count = QS_BLOCK_TILE_PX - 3;
    double rough[QS_BLOCK_TILE_PX + QS_BLOCK_PX];
    double sum[QS_BLOCK_PX][QS_BLOCK_PX] = {{0.0}};

    for (int y = 0; y < count; y++) {
        third_differences(qs_plane_row(tile, y), tile->stride, QS_BLOCK_TILE_PX, rough);
        add_by_eight(rough, QS_BLOCK_TILE_PX, sum[y & 7]);
    }
    for (int k = 0; k < QS_BLOCK_PX; k++) {
        double all = 0.0;

        for (int lane = 0; lane < QS_BLOCK_PX; lane++)
            all += sum[k][lane];
        mean[(frame_y + k + 2) & 7] =
            all / ((double)alike(count, k) * QS_BLOCK_TILE_PX);
    }
}

/* Which unit tile number k of n belongs to. */
static int
unit_of(int k, int n)
{
    return n <= QS_BLOCK_UNITS ? k : (int)((long)k * QS_BLOCK_UNITS / n);
}

void
qs_blocks_look(const struct qs_blocks *blocks, const struct qs_plane *plane, int y,
               int top, int column, struct qs_block_tile *out)
{
    const int side = QS_BLOCK_TILE_PX;
    const struct qs_plane tile =
        qs_plane_part(plane, (struct qs_box){column * side, top, side, side});

    roughness_across(&tile, blocks->area.x + column * side, out->across);
    roughness_down(&tile, y + top, out->down);
}

void
qs_blocks_note(struct qs_blocks *blocks, int y, int column,
               const struct qs_block_tile *tile)
{
    int columns = blocks->area.width / QS_BLOCK_TILE_PX;
    int rows = blocks->area.height / QS_BLOCK_TILE_PX;
    int row = (y - blocks->area.y) / QS_BLOCK_TILE_PX;

    add_tile(tile->across, &blocks->across[unit_of(column, columns)]);
    add_tile(tile->down, &blocks->down[unit_of(row, rows)]);
}

void
qs_blocks_add(struct qs_blocks *blocks, const struct qs_plane *plane, int y)
{
    const int side = QS_BLOCK_TILE_PX;

    for (int top = 0; top + side <= plane->height; top += side)
        for (int column = 0; column < blocks->area.width / side; column++) {
            struct qs_block_tile tile;

            qs_blocks_look(blocks, plane, y, top, column, &tile);
            qs_blocks_note(blocks, y + top, column, &tile);
        }
}

/*
 * The median over units of how far one place stands out, and its sd: of a median 1.2533
 * times that of a mean, which is 1.4826 times the median deviation over sqrt(n).
 */
static double
middle(double *values, int count, double *sd)
{
    double m = qs_median(values, (size_t)count);

    for (int i = 0; i < count; i++)
        values[i] = fabs(values[i] - m);
    *sd = 1.2533 * 1.4826 * qs_median(values, (size_t)count) / sqrt(count);
    return m;
}

/* The values of one place in all units that have tiles. */
static int
gather_place(const struct qs_blocks *const *areas, int count, bool across, int place,
             double values[MOST_UNITS])
{
    int used = 0;

    for (int i = 0; i < count && i < QS_BLOCK_AREAS; i++)
        for (int u = 0; u < QS_BLOCK_UNITS; u++) {
            const struct qs_block_unit *unit =
                across ? &areas[i]->across[u] : &areas[i]->down[u];

            if (unit->tiles > 0)
                values[used++] = unit->sum[place] / (double)unit->tiles;
        }
    return used;
}

/*
 * The place that stands out most; by how much in *by, sd beyond chance returned.  All
 * places have one sd by chance: the middle one of theirs is surer than any.
 */
static double
stands_out(const struct qs_blocks *const *areas, int count, bool across, int *place,
           double *by)
{
    double sd[QS_BLOCK_PX];

    *place = 0;
    *by = 0.0;
    for (int k = 0; k < QS_BLOCK_PX; k++) {
        double values[MOST_UNITS], m;
        int used = gather_place(areas, count, across, k, values);

        if (used < LEAST_UNITS)
            return 0.0;
        m = middle(values, used, &sd[k]);
        if (m > *by) {
            *by = m;
            *place = k;
        }
    }
    return *by / fmax(qs_median(sd, (size_t)QS_BLOCK_PX), 1e-6);
}

void
qs_blocks_judge(const struct qs_blocks *const *areas, int count,
                struct qs_blocks_answer *out)
{
    double by_x, by_y;
    double across = stands_out(areas, count, true, &out->x, &by_x);
    double down = stands_out(areas, count, false, &out->y, &by_y);

    out->rougher = 0.5 * (by_x + by_y);
    out->sure = sqrt(across * across + down * down);
    out->seen = across > SURE_EACH && down > SURE_EACH && out->sure > SURE_BOTH &&
                out->rougher > LEAST_ROUGHER;
}
