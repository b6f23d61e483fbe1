/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_floor.h"

#include <math.h>

#include "base/memory.h"
#include "base/order.h"
#include "flat/find_cluster.h"
#include "flat/find_colours.h"
#include "flat/find_hunt.h"
#include "flat/find_nature.h"

enum {
    CLIPPED_ALL = 255,
    KEPT_MAX = 1500, /* windows a floor is drawn through, */
    RATIO_MAX = 8000 /* and whose ratios are looked over */
};

/*
 * Most clipped pixels, of 255, the fewest first.  Where 5, 10 and 20 % are cut off at
 * one end, noise loses 4.4, 8.5 and 17 % of its sd (computed).  A pixel counts where
 * any channel is cut, so that most channels lose less.
 */
static const int clipped_most[] = {13, 26, 51};

/*
 * Noise finer than this (a Gaussian kernel of sd 1 px), of which rows and columns share
 * less than half, is judged by its colours.
 */
static const double FINE_RATIO = -0.6;
static const double SHARED_CORE = -0.69;

/* Windows so many spreads of log(between) from a ratio are tried with it. */
static const double REACH = 3.7;

static bool
is_usable(const struct qs_hunt *hunt, size_t i)
{
    const struct qs_window_fit *fit = &hunt->windows->fit[i];

    return fit->within > 0.0 && fit->between > 0.0 &&
           hunt->windows->tone[i].within > 0.0 &&
           hunt->windows->clipped[i] <= hunt->clipped_max;
}

/* Fewest windows a floor may rest on: about one window's worth of cells. */
static size_t
least_windows(const struct qs_hunt *hunt)
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
take_samples(struct qs_hunt *hunt, double ratio, double reach)
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

/*
 * Lists the kept windows; with `calm` only those whose cells differ less than the
 * floor has it.  Structure adds to what noise shows, so that they hold least of it.
 */
static size_t
list_kept(struct qs_hunt *hunt, const struct qs_floor_channel *y, bool calm)
{
    const struct qs_samples *s = &hunt->kept;
    size_t count = 0;

    for (size_t i = 0; i < s->count; i++) {
        double within, between;

        qs_floor_at(y, &s->item[i].fit, &within, &between);
        if (!calm || s->item[i].fit.between < between)
            hunt->list[count++] = s->item[i].index;
    }
    return count;
}

/* Whether the first `count` listed windows, some of the kept ones, look like noise. */
static bool
look_like_noise(struct qs_hunt *hunt, const struct qs_floor_channel *y, size_t count,
                bool own)
{
    const double part = (double)count / (double)hunt->kept.count;
    struct qs_nature nature;

    qs_nature_measure(&nature, hunt->windows, hunt->cells, hunt->basis, hunt->list,
                      count, hunt->draw.sharing * part);
    nature.own = own;
    nature.uneven = y->core_spread / qs_draw_core_spread(&hunt->draw);
    nature.cut = hunt->clipped_max == CLIPPED_ALL;
    nature.share = (double)hunt->kept.count * hunt->thinned / (double)hunt->usable;
    return qs_nature_is_noise(&nature, y->ratio, hunt->cells->side_px,
                              hunt->windows->side);
}

/*
 * Whether the calm windows of a colour frame show that r, g and b have noise of their
 * own.  Coarse noise and stripes are left to the stricter judgement: windows hold too
 * few independent waves of them.
 */
static bool
have_own_noise(struct qs_hunt *hunt, const struct qs_floor_channel *y)
{
    struct qs_colours colours;
    size_t count;

    if (hunt->cells->first != QS_R || y->ratio > FINE_RATIO || y->core < SHARED_CORE)
        return false;
    count = list_kept(hunt, y, true);
    if (count == 0)
        return false;
    qs_colours_measure(&colours, hunt->windows, hunt->cells, hunt->basis, hunt->list,
                       count);
    return qs_colours_are_own(&colours) && look_like_noise(hunt, y, count, true);
}

/* Tries the cluster of windows about one ratio. */
static bool
try_cluster(struct qs_hunt *hunt, struct qs_floor *floor, double ratio)
{
    struct qs_floor_channel *y = &floor->channel[QS_Y];
    size_t least;

    y->follows = hunt->cells->first != QS_Y;
    if (take_samples(hunt, ratio, REACH * qs_draw_between_spread(&hunt->draw)) <
        least_windows(hunt))
        return false;
    least = (size_t)fmax(QS_HUNT_LEAST, (double)least_windows(hunt) / hunt->thinned);
    qs_draw_channel(&hunt->draw, y, &hunt->kept, least);
    if (hunt->kept.count < least)
        return false;
    return have_own_noise(hunt, y) ||
           look_like_noise(hunt, y, list_kept(hunt, y, false), false);
}

/*
 * Goes up from the lowest ratios.  The lowest windows are a lower edge, not a
 * cluster: where even windows are few, a cluster of textured ones above them
 * would draw any search for a peak away.
 */
static bool
try_clusters(struct qs_hunt *hunt, struct qs_floor *floor)
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

/* Takes the ratios of the usable windows and puts them in order. */
static void
sort_ratios(struct qs_hunt *hunt)
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

/*
 * Whether all windows are as light as each other, within a pixel's noise.  A frame that
 * is clipped all over is one of a single tone at the end of its range; a photograph
 * that is clipped nearly everywhere has no place to measure.
 */
static bool
is_one_tone(const struct qs_windows *windows)
{
    const size_t count = (size_t)windows->columns * (size_t)windows->rows;
    double low = HUGE_VAL, high = -HUGE_VAL, within = 0.0;

    for (size_t i = 0; i < count; i++) {
        low = fmin(low, windows->tone[i].mean);
        high = fmax(high, windows->tone[i].mean);
        within = fmax(within, windows->tone[i].within);
    }
    return high - low < sqrt(within);
}

/* Hunts in windows with no larger clipped share than this, if that gives new ones. */
static bool
hunt_clipped(struct qs_hunt *hunt, struct qs_floor *floor, int clipped_max)
{
    const size_t before = hunt->usable;

    hunt->clipped_max = floor->clipped_max = (unsigned char)clipped_max;
    sort_ratios(hunt);
    return hunt->usable > before && hunt->usable >= least_windows(hunt) &&
           try_clusters(hunt, floor);
}

static enum qs_status
hunt_floor(struct qs_hunt *hunt, struct qs_floor *floor, struct qs_error *err)
{
    const size_t steps = sizeof clipped_most / sizeof clipped_most[0];

    for (size_t i = 0; i < steps && !floor->found; i++)
        floor->found = hunt_clipped(hunt, floor, clipped_most[i]);
    if (!floor->found && hunt->usable * 100 < hunt->count && is_one_tone(hunt->windows))
        floor->found = hunt_clipped(hunt, floor, CLIPPED_ALL);
    if (!floor->found || hunt->cells->first == QS_Y)
        return QS_OK;
    return qs_hunt_colours(hunt, floor, list_kept(hunt, &floor->channel[QS_Y], false),
                           err);
}

enum qs_status
qs_floor_find(struct qs_floor *floor, const struct qs_windows *windows,
              const struct qs_cells *cells, const struct qs_window_basis *basis,
              struct qs_error *err)
{
    const size_t count = (size_t)windows->columns * (size_t)windows->rows;
    const double side = windows->side;
    struct qs_hunt hunt = {.windows = windows, .cells = cells, .basis = basis};
    enum qs_status status = QS_OK;

    *floor = (struct qs_floor){0};
    floor->constant = is_constant(windows);
    if (count == 0 || floor->constant) {
        floor->found = floor->constant;
        floor->clipped_max = CLIPPED_ALL;
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
