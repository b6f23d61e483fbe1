/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_floor.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "flat/find_nature.h"
#include "flat/find_sort.h"

enum {
    CLIPPED_MAX = 51, /* 20 % of 255 */
    BIN_MIN = 24,     /* windows a tone bin needs */
    KEPT_MAX = 1500,  /* windows a floor is drawn through, */
    RATIO_MAX = 8000, /* and whose ratios are looked over */
    COLOUR_MAX = 1000 /* windows measured in r, g and b */
};

/* Reach of a cluster of log(within): 2.5 sd of 64 white cells of 16 pixels. */
static const double CLUSTER = 0.1;

/* One window of a list. */
struct sample {
    size_t index;
    struct qs_window_fit fit;
    struct qs_window_tone tone;
};

struct samples {
    struct sample *item;
    size_t count;
    double *scratch;
};

struct hunt {
    const struct qs_windows *windows;
    const struct qs_cells *cells;
    const struct qs_window_basis *basis;
    double overlap; /* windows that share a cell */
    double thinned; /* windows each kept one stands for */
    double dof;     /* of `between` for independent cells */
    double pixels;  /* in a cell */
    struct samples kept;
    float *all_ratios; /* log(between / within) of every window, huge where unusable */
    double *ratio;     /* an even choice of the usable ones, in order */
    size_t ratio_count;
    size_t *list;
    size_t count;  /* windows of the grid */
    size_t usable; /* of them */
    unsigned char clipped_max;
};

static int
by_mean(const void *a, const void *b)
{
    const struct sample *x = a, *y = b;

    if (x->tone.mean != y->tone.mean)
        return x->tone.mean < y->tone.mean ? -1 : 1;
    return (x->index > y->index) - (x->index < y->index);
}

/* Climbs from `at` to the mean of the values within `reach` of it, and so on. */
static double
climb(const double *sorted, size_t count, double at, double reach)
{
    for (int round = 0; round < 40; round++) {
        double sum = 0.0, moved;
        size_t inside = 0;

        for (size_t i = qs_sorted_from(sorted, count, at - reach);
             i < count && sorted[i] <= at + reach; i++) {
            sum += sorted[i];
            inside++;
        }
        if (inside == 0)
            return at;
        moved = sum / (double)inside - at;
        at += moved;
        if (fabs(moved) < 1e-4)
            break;
    }
    return at;
}

/* Rms of what lies below `centre`, out to 3.5 times itself, from `least` up. */
static double
lower_spread(const double *sorted, size_t count, double centre, double least,
             double most)
{
    double spread = most;

    for (int round = 0; round < 20; round++) {
        double sum = 0.0, next;
        size_t inside = 0;

        for (size_t i = 0; i < count && sorted[i] < centre; i++) {
            if (sorted[i] > centre - 3.5 * spread) {
                sum += (sorted[i] - centre) * (sorted[i] - centre);
                inside++;
            }
        }
        next = inside == 0 ? least : sqrt(sum / (double)inside);
        next = next < least ? least : next > most ? most : next;
        if (fabs(next - spread) < 1e-3 * spread)
            return next;
        spread = next;
    }
    return spread;
}

static double
low_cluster(double *values, size_t count)
{
    double at;

    qs_sort(values, count);
    at = climb(values, count, values[count * 15 / 100], 2.0 * CLUSTER);
    return climb(values, count, at, CLUSTER);
}

/*
 * The low cluster of the variances of some windows, and the mean tone of the
 * windows in it: others in the bin may be of quite another tone.
 */
static struct qs_curve_point
low_point(const struct sample *item, size_t count, double *scratch)
{
    struct qs_curve_point point = {.weight = 1.0};
    double low, mean = 0.0;
    size_t inside = 0;

    for (size_t i = 0; i < count; i++)
        scratch[i] = log(item[i].tone.within);
    low = low_cluster(scratch, count);
    for (size_t i = 0; i < count; i++) {
        if (fabs(log(item[i].tone.within) - low) < CLUSTER) {
            mean += item[i].tone.mean;
            inside++;
        }
    }
    point.variance = exp(low);
    point.mean = inside == 0 ? item[count / 2].tone.mean : mean / (double)inside;
    return point;
}

/* Draws the variance inside cells against tone; `s` is in order of the means. */
static void
draw_within(struct qs_floor_channel *channel, struct samples *s)
{
    struct qs_curve_point points[QS_CURVE_POINTS];
    size_t bins = s->count / BIN_MIN;
    int used = 0;

    bins = bins < 1 ? 1 : bins > QS_CURVE_POINTS ? QS_CURVE_POINTS : bins;
    for (size_t b = 0; b < bins; b++) {
        size_t from = b * s->count / bins, to = (b + 1) * s->count / bins;

        points[used++] = low_point(s->item + from, to - from, s->scratch);
    }
    qs_curve_draw(&channel->within, points, used);
}

static void
scale_curve(struct qs_curve *curve, double log_factor)
{
    if (curve->shape == QS_CURVE_LOG) {
        curve->k[0] += log_factor;
        return;
    }
    for (int i = 0; i < 3; i++)
        curve->k[i] *= exp(log_factor);
}

/* Centres the curve on its cluster and takes the cluster's spread. */
static void
settle_within(const struct hunt *hunt, struct qs_floor_channel *channel,
              struct samples *s)
{
    const double least = sqrt(2.0 / ((double)hunt->windows->side * hunt->windows->side *
                                     (hunt->pixels - 1.0)));
    double centre;

    for (size_t i = 0; i < s->count; i++)
        s->scratch[i] = log(s->item[i].tone.within /
                            qs_curve_at(&channel->within, s->item[i].tone.mean));
    qs_sort(s->scratch, s->count);
    centre = climb(s->scratch, s->count, 0.0, 0.12);
    centre = climb(s->scratch, s->count, centre, 0.12);
    channel->within_spread = lower_spread(s->scratch, s->count, centre, least, 0.25);
    scale_curve(&channel->within, centre);
}

static double
log_within(const struct qs_floor_channel *channel, const struct qs_window_fit *fit)
{
    return log(channel->follows ? fit->within
                                : qs_curve_at(&channel->within, fit->mean));
}

static double
log_ratio(const struct qs_window_fit *fit)
{
    return log(fit->between / fit->within);
}

/* Draws log(between / within) as a line over log(within), and its spread. */
static void
draw_between(const struct hunt *hunt, struct qs_floor_channel *channel,
             struct samples *s)
{
    double mean_x = 0.0, mean_y = 0.0, xx = 0.0, xy = 0.0, centre;
    const double n = (double)s->count, least = sqrt(2.0 / hunt->dof);

    for (size_t i = 0; i < s->count; i++) {
        mean_x += log_within(channel, &s->item[i].fit) / n;
        mean_y += log_ratio(&s->item[i].fit) / n;
    }
    for (size_t i = 0; i < s->count; i++) {
        double x = log_within(channel, &s->item[i].fit) - mean_x;

        xx += x * x;
        xy += x * (log_ratio(&s->item[i].fit) - mean_y);
    }
    /* A slope of 0.1 is worth as much as what the independent windows say of it. */
    channel->slope =
        xy / (xx + hunt->overlap / hunt->thinned * least * least / (0.1 * 0.1));
    channel->pivot = mean_x;
    for (size_t i = 0; i < s->count; i++)
        s->scratch[i] =
            log_ratio(&s->item[i].fit) -
            channel->slope * (log_within(channel, &s->item[i].fit) - mean_x);
    qs_sort(s->scratch, s->count);
    centre = climb(s->scratch, s->count, s->scratch[s->count * 3 / 10], 2.0 * least);
    channel->ratio = centre;
    for (size_t i = 0; i < s->count; i++) {
        double within, between;

        qs_floor_at(channel, &s->item[i].fit, &within, &between);
        s->scratch[i] = log(s->item[i].fit.between / between);
    }
    qs_sort(s->scratch, s->count);
    channel->between_spread = lower_spread(s->scratch, s->count, 0.0, least, 0.6);
}

/* Spread of log(core) that independent cells make. */
static double
least_core_spread(const struct hunt *hunt)
{
    return sqrt(2.0 / (hunt->dof - 2.0 * (hunt->windows->side - 3.0)));
}

static void
draw_core(const struct hunt *hunt, struct qs_floor_channel *channel, struct samples *s)
{
    const double least = least_core_spread(hunt);
    size_t count = 0;
    double within, between;

    for (size_t i = 0; i < s->count; i++) {
        qs_floor_at(channel, &s->item[i].fit, &within, &between);
        if (s->item[i].fit.core > 0.0)
            s->scratch[count++] = log(s->item[i].fit.core / between);
    }
    channel->core = 0.0;
    channel->core_spread = least;
    if (count == 0)
        return;
    qs_sort(s->scratch, count);
    channel->core = climb(s->scratch, count, s->scratch[count * 3 / 10], 2.0 * least);
    channel->core_spread = lower_spread(s->scratch, count, channel->core, least, 1.0);
}

static void
draw_steps(const struct hunt *hunt, struct qs_floor_channel *channel, struct samples *s)
{
    double within, between;

    for (int axis = 0; axis < 2; axis++) {
        for (size_t i = 0; i < s->count; i++) {
            const struct qs_window_fit *fit = &s->item[i].fit;

            qs_floor_at(channel, fit, &within, &between);
            s->scratch[i] = (axis == 0 ? fit->step_x : fit->step_y) / between;
        }
        qs_sort(s->scratch, s->count);
        *(axis == 0 ? &channel->step_x : &channel->step_y) =
            s->scratch[s->count / 4] / qs_window_step_quartile(hunt->windows->side);
    }
}

void
qs_floor_at(const struct qs_floor_channel *channel, const struct qs_window_fit *fit,
            double *within, double *between)
{
    *within = channel->follows ? fit->within : qs_curve_at(&channel->within, fit->mean);
    *between = *within *
               exp(channel->ratio + channel->slope * (log(*within) - channel->pivot));
}

static bool
is_usable(const struct hunt *hunt, size_t i)
{
    const struct qs_window_fit *fit = &hunt->windows->fit[i];

    return fit->within > 0.0 && fit->between > 0.0 &&
           hunt->windows->tone[i].within > 0.0 &&
           hunt->windows->clipped[i] <= hunt->clipped_max;
}

/* Keeps the samples whose two variances lie near the floor. */
static void
keep_near(const struct qs_floor_channel *channel, struct samples *s)
{
    size_t kept = 0;

    for (size_t i = 0; i < s->count; i++) {
        const struct sample *item = &s->item[i];
        double law = qs_curve_at(&channel->within, item->tone.mean), within, between;

        qs_floor_at(channel, &item->fit, &within, &between);
        if (fabs(log(item->tone.within / law)) <
                fmax(3.5 * channel->within_spread, 0.08) &&
            fabs(log(item->fit.between / between)) <
                fmax(3.5 * channel->between_spread, 0.5))
            s->item[kept++] = *item;
    }
    s->count = kept;
}

/* Keeps the samples without a step: edges at a window's rim make floors look rough. */
static void
keep_stepless(const struct qs_floor_channel *channel, struct samples *s)
{
    size_t kept = 0;

    for (size_t i = 0; i < s->count; i++) {
        double within, between;

        qs_floor_at(channel, &s->item[i].fit, &within, &between);
        if (s->item[i].fit.step_x < QS_STEP_LIMIT * channel->step_x * between &&
            s->item[i].fit.step_y < QS_STEP_LIMIT * channel->step_y * between)
            s->item[kept++] = s->item[i];
    }
    s->count = kept;
}

/* Draws the floor of one channel through samples near a ratio. */
static void
draw_channel(const struct hunt *hunt, struct qs_floor_channel *channel,
             struct samples *s, size_t least)
{
    for (int round = 0; round < 2 && s->count >= least; round++) {
        draw_within(channel, s);
        settle_within(hunt, channel, s);
        draw_between(hunt, channel, s);
        draw_steps(hunt, channel, s);
        keep_near(channel, s);
        keep_stepless(channel, s);
    }
    if (s->count < least)
        return;
    draw_between(hunt, channel, s);
    draw_core(hunt, channel, s);
    draw_steps(hunt, channel, s);
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
    struct samples *s = &hunt->kept;
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
    qsort(s->item, s->count, sizeof *s->item, by_mean);
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
    if (take_samples(hunt, ratio, 3.7 * sqrt(2.0 / hunt->dof)) < least_windows(hunt))
        return false;
    least = (size_t)((double)least_windows(hunt) / hunt->thinned);
    draw_channel(hunt, y, &hunt->kept, least);
    if (hunt->kept.count < least)
        return false;
    for (size_t i = 0; i < hunt->kept.count; i++)
        hunt->list[i] = hunt->kept.item[i].index;
    qs_nature_measure(&nature, hunt->windows, hunt->cells, hunt->basis, hunt->list,
                      hunt->kept.count, hunt->overlap / hunt->thinned);
    nature.uneven = y->core_spread / least_core_spread(hunt);
    nature.share = (double)hunt->kept.count * hunt->thinned / (double)hunt->usable;
    bool ok = qs_nature_is_noise(&nature, y->ratio, hunt->cells->side_px,
                                 hunt->windows->side);
    return ok;
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
    const double least = sqrt(2.0 / hunt->dof);
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
    struct samples *s = &hunt->kept;

    s->count = 0;
    for (size_t i = 0; i < used; i++) {
        struct sample sample = {.index = hunt->list[i * total / used]};

        qs_window_measure(hunt->cells, channel,
                          qs_window_first(hunt->windows, hunt->cells, sample.index),
                          hunt->basis, &sample.fit);
        sample.tone.mean = sample.fit.mean;
        sample.tone.within = sample.fit.within;
        if (sample.fit.within > 0.0 && sample.fit.between > 0.0)
            s->item[s->count++] = sample;
    }
    qsort(s->item, s->count, sizeof *s->item, by_mean);
    draw_channel(hunt, &floor->channel[channel], s, 4);
    if (s->count < 4)
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
    const double least = sqrt(2.0 / ((double)hunt->windows->side * hunt->windows->side *
                                     (hunt->pixels - 1.0)));
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
    centre = climb(hunt->kept.scratch, used, hunt->kept.scratch[used * 3 / 10], 0.12);
    floor->sum_spread = lower_spread(hunt->kept.scratch, used, centre, least, 0.25);
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
            usable ? (float)log_ratio(&hunt->windows->fit[i]) : HUGE_VALF;
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
    hunt.dof = side * side - 6.0;
    hunt.pixels = (double)cells->side_px * cells->side_px;
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
