/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_hunt.h"

#include <math.h>

#include "base/memory.h"
#include "base/order.h"
#include "flat/find_cluster.h"

enum {
    COLOUR_MAX = 1000 /* windows measured in r, g and b */
};

/* Draws the floor of one colour through windows found in y. */
static void
draw_colour(struct qs_hunt *hunt, struct qs_floor *floor, enum qs_channel channel,
            size_t total, size_t used)
{
    struct qs_samples *s = &hunt->kept;

    s->count = 0;
    for (size_t i = 0; i < used; i++) {
        struct qs_sample sample = {.index = hunt->list[i * total / used]};

        qs_window_measure(hunt->cells, channel,
                          qs_window_first(hunt->windows, hunt->cells, sample.index),
                          hunt->basis, &sample.fit);
        sample.tone.mean = sample.fit.mean;
        sample.tone.within = sample.fit.within;
        if (sample.fit.within > 0.0 && sample.fit.between > 0.0)
            s->item[s->count++] = sample;
    }
    qs_samples_order(s);
    qs_draw_channel(&hunt->draw, &floor->channel[channel], s, QS_HUNT_LEAST);
    if (s->count < QS_HUNT_LEAST)
        floor->found = false;
}

double
qs_floor_sum(const struct qs_floor *floor, const double mean[3])
{
    double sum = 0.0;

    for (int c = 0; c < 3; c++)
        sum += floor->weight[c] * qs_curve_at(&floor->channel[c].within, mean[c]);
    return sum;
}

/* Gauss elimination of a symmetric, positive 3 by 3 system. */
static void
solve3(double a[3][3], double b[3])
{
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            double f = j == i ? 0.0 : a[j][i] / a[i][i];

            for (int k = 0; k < 3; k++)
                a[j][k] -= f * a[i][k];
            b[j] -= f * b[i];
        }
    }
    for (int i = 0; i < 3; i++)
        b[i] /= a[i][i];
}

/*
 * The weights of r, g and b in y, by least squares over the windows' means.  Where
 * all is grey they cannot be told apart, and do not matter: equal shares then.
 */
static void
draw_weights(struct qs_hunt *hunt, double weight[3], size_t total, size_t used,
             double (*mean)[QS_CHANNELS])
{
    double a[3][3] = {{0}}, b[3] = {0}, trace = 0.0;

    for (size_t i = 0; i < used; i++) {
        size_t index = hunt->list[i * total / used];

        for (int c = 0; c < QS_CHANNELS; c++) {
            struct qs_window_fit fit;

            qs_window_measure(hunt->cells, (enum qs_channel)c,
                              qs_window_first(hunt->windows, hunt->cells, index),
                              hunt->basis, &fit);
            mean[i][c] = fit.mean;
        }
        for (int r = 0; r < 3; r++) {
            b[r] += mean[i][r] * mean[i][QS_Y];
            for (int c = 0; c < 3; c++)
                a[r][c] += mean[i][r] * mean[i][c];
        }
    }
    for (int c = 0; c < 3; c++)
        trace += a[c][c];
    for (int c = 0; c < 3; c++) {
        a[c][c] += 1e-7 * trace;
        b[c] += 1e-7 * trace / 3.0;
    }
    solve3(a, b);
    for (int c = 0; c < 3; c++)
        weight[c] = b[c] * b[c];
}

/*
 * Draws what variance the noise of r, g and b adds up to in y.  Detail does not add
 * up like noise, as it is much the same in all three.
 */
static enum qs_status
draw_sum(struct qs_hunt *hunt, struct qs_floor *floor, size_t total, size_t used,
         struct qs_error *err)
{
    const double least = qs_draw_within_spread(&hunt->draw);
    double(*mean)[QS_CHANNELS] = qs_alloc(used, sizeof *mean), centre;

    if (mean == NULL)
        return qs_fail_memory(err);
    draw_weights(hunt, floor->weight, total, used, mean);
    for (size_t i = 0; i < used; i++) {
        const struct qs_window_fit *fit =
            &hunt->windows->fit[hunt->list[i * total / used]];

        hunt->kept.scratch[i] = log(fit->within / qs_floor_sum(floor, mean[i]));
    }
    qs_free(mean);
    qs_sort(hunt->kept.scratch, used);
    centre = qs_cluster_climb(hunt->kept.scratch, used,
                              hunt->kept.scratch[used * 3 / 10], 0.12);
    floor->sum_spread =
        qs_cluster_spread(hunt->kept.scratch, used, centre, least, 0.25);
    for (int c = 0; c < 3; c++)
        floor->weight[c] *= exp(centre);
    return QS_OK;
}

enum qs_status
qs_hunt_colours(struct qs_hunt *hunt, struct qs_floor *floor, size_t total,
                struct qs_error *err)
{
    const size_t used = total < COLOUR_MAX ? total : COLOUR_MAX;

    for (int c = 0; c < 3; c++)
        draw_colour(hunt, floor, (enum qs_channel)c, total, used);
    return floor->found ? draw_sum(hunt, floor, total, used, err) : QS_OK;
}
