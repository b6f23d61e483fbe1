/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_blocks.h"

#include <math.h>
#include <stddef.h>

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

/* T17: |third difference| between samples 1 and 2 of four, `step` apart. */
static double
roughness(const float *px, ptrdiff_t step)
{
    return fabs((double)px[0] - 3.0 * (double)px[step] + 3.0 * (double)px[2 * step] -
                (double)px[3 * step]);
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

/* Roughness of one tile by the place, modulo 8, of the right or lower neighbour. */
static void
tile_roughness(const struct qs_plane *tile, int frame_x, int frame_y, bool across,
               double mean[QS_BLOCK_PX])
{
    long count[QS_BLOCK_PX] = {0};
    int to_x = tile->width - (across ? 3 : 0), to_y = tile->height - (across ? 0 : 3);

    for (int k = 0; k < QS_BLOCK_PX; k++)
        mean[k] = 0.0;
    for (int y = 0; y < to_y; y++) {
        const float *row = qs_plane_row(tile, y);

        for (int x = 0; x < to_x; x++) {
            int k = (across ? frame_x + x + 2 : frame_y + y + 2) & 7;

            mean[k] += roughness(row + x, across ? 1 : tile->stride);
            count[k]++;
        }
    }
    for (int k = 0; k < QS_BLOCK_PX; k++)
        mean[k] /= (double)count[k];
}

/* Which unit tile number k of n belongs to. */
static int
unit_of(int k, int n)
{
    return n <= QS_BLOCK_UNITS ? k : (int)((long)k * QS_BLOCK_UNITS / n);
}

void
qs_blocks_add(struct qs_blocks *blocks, const struct qs_plane *plane, int y)
{
    int side = QS_BLOCK_TILE_PX;
    int columns = blocks->area.width / side, rows = blocks->area.height / side;

    for (int top = 0; top + side <= plane->height; top += side) {
        int row = (y + top - blocks->area.y) / side;

        for (int column = 0; column < columns; column++) {
            struct qs_box box = {column * side, top, side, side};
            struct qs_plane tile = qs_plane_part(plane, box);
            int x = blocks->area.x + box.x;
            double mean[QS_BLOCK_PX];

            tile_roughness(&tile, x, y + top, true, mean);
            add_tile(mean, &blocks->across[unit_of(column, columns)]);
            tile_roughness(&tile, x, y + top, false, mean);
            add_tile(mean, &blocks->down[unit_of(row, rows)]);
        }
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
