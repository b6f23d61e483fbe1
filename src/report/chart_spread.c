/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_spread.h"

#include <assert.h>
#include <math.h>

/* Labels that touch, and so move as one. */
struct block {
    double sum; /* of where their members want the block's start */
    int count;
};

/* An order by `wanted` that keeps the given one among equals. */
static void
sort_places(const struct qs_chart_place *places, int count, int *order)
{
    for (int i = 0; i < count; i++) {
        int k = i;

        for (; k > 0 && places[order[k - 1]].wanted > places[i].wanted; k--)
            order[k] = order[k - 1];
        order[k] = i;
    }
}

/*
 * With the room taken by all before it off, a label's place must only not be less than
 * that of the one before: an isotonic regression, which pooling of neighbours that are
 * in the wrong order solves.
 */
static int
pool_blocks(const struct qs_chart_place *places, const int *order, int count,
            struct block *blocks)
{
    double before = 0.0;
    int used = 0;

    for (int i = 0; i < count; i++) {
        const struct qs_chart_place *place = &places[order[i]];

        blocks[used++] = (struct block){place->wanted - place->size / 2.0 - before, 1};
        before += place->size;
        while (used > 1 && blocks[used - 2].sum / blocks[used - 2].count >
                               blocks[used - 1].sum / blocks[used - 1].count) {
            blocks[used - 2].sum += blocks[used - 1].sum;
            blocks[used - 2].count += blocks[used - 1].count;
            used--;
        }
    }
    return used;
}

bool
qs_chart_spread(struct qs_chart_place *places, int count, double low, double high)
{
    int order[QS_CHART_SPREAD_MOST];
    struct block blocks[QS_CHART_SPREAD_MOST];
    double total = 0.0, before = 0.0;
    int used, next = 0;

    assert(count <= QS_CHART_SPREAD_MOST);
    for (int i = 0; i < count; i++)
        total += places[i].size;
    if (total > high - low)
        return false;
    sort_places(places, count, order);
    used = pool_blocks(places, order, count, blocks);
    for (int b = 0; b < used; b++) {
        /* bounds apply to the regression's values as they stand, and keep it the best
         */
        double start = fmin(fmax(blocks[b].sum / blocks[b].count, low), high - total);

        for (int i = 0; i < blocks[b].count; i++) {
            struct qs_chart_place *place = &places[order[next++]];

            place->at = start + before + place->size / 2.0;
            before += place->size;
        }
    }
    return true;
}
