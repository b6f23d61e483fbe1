/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_floor.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "flat/find_cluster.h"
#include "flat/find_nature.h"

enum {
    CLIPPED_MAX = 51,  /* 20 % of 255 */
    KEPT_MAX = 1500,   /* windows a floor is drawn through, */
    RATIO_MAX = 8000,  /* and whose ratios are looked over */
    COLOUR_MAX = 1000, /* windows measured in r, g and b */
    LEAST_KEPT = 4
};

/* Windows so many spreads of log(between) from a ratio are tried with it. */
static const double REACH = 3.7;

struct hunt {
    const struct qs_windows *windows;
    const struct qs_cells *cells;
    const struct qs_window_basis *basis;
    struct qs_draw draw;
    double overlap; /* windows of the grid that share a cell */
    double thinned; /* windows each kept one stands for */
    struct qs_samples kept;
    float *all_ratios; /* log(between / within) of every window, huge where unusable */
    double *ratio;     /* an even choice of the usable ones, in order */
    size_t ratio_count;
    size_t *list;
    size_t count;  /* windows of the grid */
    size_t usable; /* of them */
    unsigned char clipped_max;
};

static bool
is_usable(const struct hunt *hunt, size_t i)
{
    const struct qs_window_fit *fit = &hunt->windows->fit[i];

    return fit->within > 0.0 && fit->between > 0.0 &&
           hunt->windows->tone[i].within > 0.0 &&
           hunt->windows->clipped[i] <= hunt->clipped_max;
}

/* Fewest windows a floor may rest on: about one window's worth of cells. */
static size_t
least_windows(const struct hunt *hunt)
{
    return (size_t)fmax(8.0, 0.75 * hunt->overlap);
}

/* Whether item `i` of `total` is one of those an even choice of `most` takes. */
static bool
is_chosen(size_t i, size_t total, size_t most)
{
    return total <= most || (i + 1) * most / total > i * most / total;
}

/* Keeps windows near a ratio, in order of their means; returns how many there are. */
static size_t
take_samples(struct hunt *hunt, double ratio, double reach)
{
    struct qs_samples *s = &hunt->kept;
    size_t total = 0;

    for (size_t i = 0; i < hunt->count; i++) {
        if (fabs(hunt->all_ratios[i] - ratio) < reach)
            hunt->list[total++] = i;
    }
    s->count = 0;
    for (size_t i = 0; i < total; i++) {
        if (is_chosen(i, total, KEPT_MAX)) {
            s->item[s->count].index = hunt->list[i];
            s->item[s->count].tone = hunt->windows->tone[hunt->list[i]];
            s->item[s->count++].fit = hunt->windows->fit[hunt->list[i]];
        }
    }
    hunt->thinned = s->count == 0 ? 1.0 : (double)total / (double)s->count;
    hunt->draw.sharing = hunt->overlap / hunt->thinned;
    qs_samples_order(s);
    return total;
}

/* Tries the cluster of windows about one ratio. */
static bool
try_cluster(struct hunt *hunt, struct qs_floor *floor, double ratio)
{
    struct qs_floor_channel *y = &floor->channel[QS_Y];
    struct qs_nature nature;
    size_t least;

    y->follows = hunt->cells->first != QS_Y;
    if (take_samples(hunt, ratio, REACH * qs_draw_between_spread(&hunt->draw)) <
        least_windows(hunt))
        return false;
    least = (size_t)fmax(LEAST_KEPT, (double)least_windows(hunt) / hunt->thinned);
    qs_draw_channel(&hunt->draw, y, &hunt->kept, least);
    if (hunt->kept.count < least)
        return false;
    for (size_t i = 0; i < hunt->kept.count; i++)
        hunt->list[i] = hunt->kept.item[i].index;
    qs_nature_measure(&nature, hunt->windows, hunt->cells, hunt->basis, hunt->list,
                      hunt->kept.count, hunt->draw.sharing);
    nature.uneven = y->core_spread / qs_draw_core_spread(&hunt->draw);
    nature.cut = hunt->clipped_max == 255;
    nature.share = (double)hunt->kept.count * hunt->thinned / (double)hunt->usable;
    return qs_nature_is_noise(&nature, y->ratio, hunt->cells->side_px,
                              hunt->windows->side);
}

/*
 * Goes up from the lowest ratios.  The lowest windows are a lower edge, not a
 * cluster: where even windows are few, a cluster of textured ones above them
 * would draw any search for a peak away.
 */
static bool
try_clusters(struct hunt *hunt, struct qs_floor *floor)
{
    static const double shares[] = {0.002, 0.01, 0.03, 0.07, 0.15, 0.3, 0.5};
    const double least = qs_draw_between_spread(&hunt->draw);
    double last = -HUGE_VAL;

    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        double share =
            fmax(shares[i], 0.25 * (double)least_windows(hunt) / (double)hunt->usable);
        size_t at = (size_t)(share * (double)(hunt->ratio_count - 1));
        double ratio = hunt->ratio[at] + 1.5 * least;

        if (ratio < last + least)
            continue;
        last = ratio;
        if (try_cluster(hunt, floor, ratio))
            return true;
    }
    return false;
}

/* Draws the floor of one colour through windows found in y. */
static void
draw_colour(struct hunt *hunt, struct qs_floor *floor, enum qs_channel channel,
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
    qs_draw_channel(&hunt->draw, &floor->channel[channel], s, LEAST_KEPT);
    if (s->count < LEAST_KEPT)
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
draw_weights(struct hunt *hunt, double weight[3], size_t total, size_t used,
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
draw_sum(struct hunt *hunt, struct qs_floor *floor, size_t total, size_t used,
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

/* Draws the floors of r, g and b through the windows that were found in y. */
static enum qs_status
draw_colours(struct hunt *hunt, struct qs_floor *floor, struct qs_error *err)
{
    const size_t total = hunt->kept.count;
    const size_t used = total < COLOUR_MAX ? total : COLOUR_MAX;

    if (hunt->cells->first == QS_Y)
        return QS_OK;
    for (int c = 0; c < 3; c++)
        draw_colour(hunt, floor, (enum qs_channel)c, total, used);
    return floor->found ? draw_sum(hunt, floor, total, used, err) : QS_OK;
}

/* Takes the ratios of the usable windows and puts them in order. */
static void
sort_ratios(struct hunt *hunt)
{
    size_t seen = 0;

    hunt->usable = 0;
    for (size_t i = 0; i < hunt->count; i++) {
        bool usable = is_usable(hunt, i);

        hunt->all_ratios[i] =
            usable ? (float)qs_log_ratio(&hunt->windows->fit[i]) : HUGE_VALF;
        hunt->usable += usable;
    }
    hunt->ratio_count = 0;
    for (size_t i = 0; i < hunt->count; i++) {
        if (hunt->all_ratios[i] < HUGE_VALF &&
            is_chosen(seen++, hunt->usable, RATIO_MAX))
            hunt->ratio[hunt->ratio_count++] = hunt->all_ratios[i];
    }
    qs_sort(hunt->ratio, hunt->ratio_count);
}

/* Whether nothing in the frame varies, as in a frame of one code value. */
static bool
is_constant(const struct qs_windows *windows)
{
    const size_t count = (size_t)windows->columns * (size_t)windows->rows;
    size_t still = 0;

    for (size_t i = 0; i < count; i++)
        still += windows->fit[i].within <= 0.0 && windows->fit[i].between <= 0.0;
    return count > 0 && still * 100 >= count * 95;
}

static enum qs_status
hunt_floor(struct hunt *hunt, struct qs_floor *floor, struct qs_error *err)
{
    hunt->clipped_max = CLIPPED_MAX;
    sort_ratios(hunt);
    if (hunt->usable * 100 < hunt->count) {
        /* Next to nothing is unclipped: a frame at one end of its range. */
        hunt->clipped_max = 255;
        sort_ratios(hunt);
    }
    floor->clipped_max = hunt->clipped_max;
    if (hunt->usable < least_windows(hunt))
        return QS_OK;
    floor->found = try_clusters(hunt, floor);
    return floor->found ? draw_colours(hunt, floor, err) : QS_OK;
}

enum qs_status
qs_floor_find(struct qs_floor *floor, const struct qs_windows *windows,
              const struct qs_cells *cells, const struct qs_window_basis *basis,
              struct qs_error *err)
{
    const size_t count = (size_t)windows->columns * (size_t)windows->rows;
    const double side = windows->side;
    struct hunt hunt = {.windows = windows, .cells = cells, .basis = basis};
    enum qs_status status = QS_OK;

    *floor = (struct qs_floor){0};
    floor->constant = is_constant(windows);
    if (count == 0 || floor->constant) {
        floor->found = floor->constant;
        floor->clipped_max = 255;
        return QS_OK;
    }
    hunt.count = count;
    hunt.overlap = (side / windows->step) * (side / windows->step);
    hunt.draw.side = windows->side;
    hunt.draw.pixels = (double)cells->side_px * cells->side_px;
    hunt.draw.sharing = hunt.overlap;
    hunt.kept.item = qs_alloc(KEPT_MAX + 1, sizeof *hunt.kept.item);
    hunt.kept.scratch = qs_alloc(KEPT_MAX + 1, sizeof *hunt.kept.scratch);
    hunt.all_ratios = qs_alloc(count, sizeof *hunt.all_ratios);
    hunt.ratio = qs_alloc(RATIO_MAX + 1, sizeof *hunt.ratio);
    hunt.list = qs_alloc(count, sizeof *hunt.list);
    if (hunt.kept.item == NULL || hunt.kept.scratch == NULL || hunt.ratio == NULL ||
        hunt.all_ratios == NULL || hunt.list == NULL)
        status = qs_fail_memory(err);
    else
        status = hunt_floor(&hunt, floor, err);
    qs_free(hunt.kept.item);
    qs_free(hunt.kept.scratch);
    qs_free(hunt.all_ratios);
    qs_free(hunt.ratio);
    qs_free(hunt.list);
    return status;
}
