/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_draw.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "flat/find_cluster.h"

enum {
    BIN_MIN = 24 /* windows a tone bin needs */
};

/* Reach of a cluster of log(within): 2.5 sd of 64 white cells of 16 pixels. */
static const double CLUSTER = 0.1;

/* log(between / within) above the other tones' that halves a tone's weight. */
static const double ROUGHER = 0.25;

/* How far from the floor a window may lie and still help to draw it. */
static const double SPREADS = 3.5;
static const double LEAST_WITHIN = 0.08;
static const double LEAST_BETWEEN = 0.5;

static int
by_mean(const void *a, const void *b)
{
    const struct qs_sample *x = a, *y = b;

    if (x->tone.mean != y->tone.mean)
        return x->tone.mean < y->tone.mean ? -1 : 1;
    return (x->index > y->index) - (x->index < y->index);
}

void
qs_samples_order(struct qs_samples *samples)
{
    qsort(samples->item, samples->count, sizeof *samples->item, by_mean);
}

double
qs_draw_within_spread(const struct qs_draw *draw)
{
    return sqrt(2.0 / ((double)draw->side * draw->side * (draw->pixels - 1.0)));
}

double
qs_draw_between_spread(const struct qs_draw *draw)
{
    return sqrt(2.0 / ((double)draw->side * draw->side - 6.0));
}

double
qs_draw_core_spread(const struct qs_draw *draw)
{
    return sqrt(2.0 / (draw->side * (draw->side - 2.0)));
}

static double
low_cluster(double *values, size_t count)
{
    double at;

    qs_sort(values, count);
    at = qs_cluster_climb(values, count, values[count * 15 / 100], 2.0 * CLUSTER);
    return qs_cluster_climb(values, count, at, CLUSTER);
}

/*
 * The low cluster of the variances of some windows, and the mean tone of the
 * windows in it: others in the bin may be of quite another tone.  The weight is
 * for now their mean log(between / within).
 */
static struct qs_curve_point
low_point(const struct qs_sample *item, size_t count, double *scratch)
{
    struct qs_curve_point point = {0.0, 0.0, 0.0};
    double low, mean = 0.0, ratio = 0.0;
    size_t inside = 0;

    for (size_t i = 0; i < count; i++)
        scratch[i] = log(item[i].tone.within);
    low = low_cluster(scratch, count);
    for (size_t i = 0; i < count; i++) {
        if (fabs(log(item[i].tone.within) - low) < CLUSTER) {
            mean += item[i].tone.mean;
            ratio += qs_log_ratio(&item[i].fit);
            inside++;
        }
    }
    point.variance = exp(low);
    if (inside == 0) {
        point.mean = item[count / 2].tone.mean;
        point.weight = qs_log_ratio(&item[count / 2].fit);
        return point;
    }
    point.mean = mean / (double)inside;
    point.weight = ratio / (double)inside;
    return point;
}

/*
 * Turns ratios into weights: at tones whose windows are rougher than elsewhere,
 * detail is likelier to have raised the variance.
 */
static void
weigh(struct qs_curve_point *points, int count)
{
    double ratio[QS_CURVE_POINTS], low;

    for (int i = 0; i < count; i++)
        ratio[i] = points[i].weight;
    qs_sort(ratio, (size_t)count);
    low = ratio[count / 5];
    for (int i = 0; i < count; i++) {
        double rougher = fmax(points[i].weight - low, 0.0) / ROUGHER;

        points[i].weight = 1.0 / (1.0 + rougher * rougher);
    }
}

/* Draws the variance inside cells against tone; `s` is in order of the means. */
static void
draw_within(struct qs_floor_channel *channel, struct qs_samples *s)
{
    struct qs_curve_point points[QS_CURVE_POINTS];
    size_t bins = s->count / BIN_MIN;
    int used = 0;

    bins = bins < 1 ? 1 : bins > QS_CURVE_POINTS ? QS_CURVE_POINTS : bins;
    for (size_t b = 0; b < bins; b++) {
        size_t from = b * s->count / bins, to = (b + 1) * s->count / bins;

        points[used++] = low_point(s->item + from, to - from, s->scratch);
    }
    weigh(points, used);
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
settle_within(const struct qs_draw *draw, struct qs_floor_channel *channel,
              struct qs_samples *s)
{
    const double least = qs_draw_within_spread(draw);
    double centre;

    for (size_t i = 0; i < s->count; i++)
        s->scratch[i] = log(s->item[i].tone.within /
                            qs_curve_at(&channel->within, s->item[i].tone.mean));
    qs_sort(s->scratch, s->count);
    centre = qs_cluster_climb(s->scratch, s->count, 0.0, 0.12);
    centre = qs_cluster_climb(s->scratch, s->count, centre, 0.12);
    channel->within_spread =
        qs_cluster_spread(s->scratch, s->count, centre, least, 0.25);
    scale_curve(&channel->within, centre);
}

static double
log_within(const struct qs_floor_channel *channel, const struct qs_window_fit *fit)
{
    return log(channel->follows ? fit->within
                                : qs_curve_at(&channel->within, fit->mean));
}

/* Draws log(between / within) as a line over log(within), and its spread. */
static void
draw_between(const struct qs_draw *draw, struct qs_floor_channel *channel,
             struct qs_samples *s)
{
    double mean_x = 0.0, mean_y = 0.0, xx = 0.0, xy = 0.0, centre;
    const double n = (double)s->count, least = qs_draw_between_spread(draw);

    for (size_t i = 0; i < s->count; i++) {
        mean_x += log_within(channel, &s->item[i].fit) / n;
        mean_y += qs_log_ratio(&s->item[i].fit) / n;
    }
    for (size_t i = 0; i < s->count; i++) {
        double x = log_within(channel, &s->item[i].fit) - mean_x;

        xx += x * x;
        xy += x * (qs_log_ratio(&s->item[i].fit) - mean_y);
    }
    /* A slope of 0.1 is worth as much as what the independent windows say of it. */
    channel->slope = xy / (xx + draw->sharing * least * least / (0.1 * 0.1));
    channel->pivot = mean_x;
    for (size_t i = 0; i < s->count; i++)
        s->scratch[i] =
            qs_log_ratio(&s->item[i].fit) -
            channel->slope * (log_within(channel, &s->item[i].fit) - mean_x);
    qs_sort(s->scratch, s->count);
    centre = qs_cluster_climb(s->scratch, s->count, s->scratch[s->count * 3 / 10],
                              2.0 * least);
    channel->ratio = centre;
    for (size_t i = 0; i < s->count; i++) {
        double within, between;

        qs_floor_at(channel, &s->item[i].fit, &within, &between);
        s->scratch[i] = log(s->item[i].fit.between / between);
    }
    qs_sort(s->scratch, s->count);
    channel->between_spread = qs_cluster_spread(s->scratch, s->count, 0.0, least, 0.6);
}

static void
draw_core(const struct qs_draw *draw, struct qs_floor_channel *channel,
          struct qs_samples *s)
{
    const double least = qs_draw_core_spread(draw);
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
    channel->core =
        qs_cluster_climb(s->scratch, count, s->scratch[count * 3 / 10], 2.0 * least);
    channel->core_spread =
        qs_cluster_spread(s->scratch, count, channel->core, least, 1.0);
}

static void
draw_steps(const struct qs_draw *draw, struct qs_floor_channel *channel,
           struct qs_samples *s)
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
            s->scratch[s->count / 4] / qs_window_step_quartile(draw->side);
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

/* Keeps the samples whose two variances lie near the floor. */
static void
keep_near(const struct qs_floor_channel *channel, struct qs_samples *s)
{
    size_t kept = 0;

    for (size_t i = 0; i < s->count; i++) {
        const struct qs_sample *item = &s->item[i];
        double law = qs_curve_at(&channel->within, item->tone.mean), within, between;

        qs_floor_at(channel, &item->fit, &within, &between);
        if (fabs(log(item->tone.within / law)) <
                fmax(SPREADS * channel->within_spread, LEAST_WITHIN) &&
            fabs(log(item->fit.between / between)) <
                fmax(SPREADS * channel->between_spread, LEAST_BETWEEN))
            s->item[kept++] = *item;
    }
    s->count = kept;
}

/* Keeps the samples without a step: edges at a window's rim make floors look rough. */
static void
keep_stepless(const struct qs_floor_channel *channel, struct qs_samples *s)
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
void
qs_draw_channel(const struct qs_draw *draw, struct qs_floor_channel *channel,
                struct qs_samples *s, size_t least)
{
    for (int round = 0; round < 2 && s->count >= least; round++) {
        draw_within(channel, s);
        settle_within(draw, channel, s);
        draw_between(draw, channel, s);
        draw_steps(draw, channel, s);
        keep_near(channel, s);
        keep_stepless(channel, s);
    }
    if (s->count < least)
        return;
    draw_between(draw, channel, s);
    draw_core(draw, channel, s);
    draw_steps(draw, channel, s);
}
