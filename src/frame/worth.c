/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/frame.h"

#include <math.h>

/* A patch with one delivered figure can't be surer than this (stops). */
static const double LEAST_SE_STOPS = 1e-4;

/* A patch with more of its samples at an end of the code range is not believed. */
static const double CLIPPED_SHARE = 0.002;

static bool
is_clipped(const struct qs_patch *patch, enum qs_channel channel)
{
    const struct qs_patch_channel *c = &patch->channel[channel];

    return c->near_low || c->near_high ||
           c->clipped_low + c->clipped_high >= CLIPPED_SHARE;
}

/* Sums over patches for weights 1 / (se^2 + between). */
struct pooled {
    int count;
    double weight, weight_square, worth, square; /* square: weight x worth^2 */
};

static struct pooled
pool_up(const struct qs_frame *frame, int delivery, int filter, enum qs_channel channel,
        bool clipped, double between)
{
    struct pooled sums = {0};

    for (int p = 0; p < frame->patch_count; p++) {
        const struct qs_fall_value *value =
            &qs_frame_fall(frame, delivery, filter, p)->channel[channel];
        double se, w;

        if (!value->has_fall || (!clipped && is_clipped(&frame->patches[p], channel)))
            continue;
        se = fmax(value->worth_se_stops, LEAST_SE_STOPS);
        w = 1.0 / (se * se + between);
        sums.count++;
        sums.weight += w;
        sums.weight_square += w * w;
        sums.worth += w * value->worth_stops;
        sums.square += w * value->worth_stops * value->worth_stops;
    }
    return sums;
}

/* Variance of the true worth between patches, by the method of moments. */
static double
between_patches(const struct pooled *sums)
{
    double mean = sums->worth / sums->weight;
    double spread = sums->square - sums->weight * mean * mean;
    double room = sums->weight - sums->weight_square / sums->weight;

    if (sums->count < 2 || room <= 0.0)
        return 0.0;
    return fmax((spread - (sums->count - 1)) / room, 0.0);
}

struct qs_frame_worth
qs_frame_worth(const struct qs_frame *frame, int delivery, int filter,
               enum qs_channel channel)
{
    struct qs_frame_worth worth = {0};
    bool clipped = false; /* taken only where there is nothing else */
    struct pooled sums = pool_up(frame, delivery, filter, channel, clipped, 0.0);

    if (sums.count == 0) {
        clipped = true;
        sums = pool_up(frame, delivery, filter, channel, clipped, 0.0);
    }
    worth.ideal_stops = 2.0 * log2(frame->deliveries[delivery].reduction);
    worth.patches = sums.count;
    if (sums.count == 0)
        return worth;
    sums = pool_up(frame, delivery, filter, channel, clipped, between_patches(&sums));
    worth.worth_stops = sums.worth / sums.weight;
    worth.se_stops = sqrt(1.0 / sums.weight);
    return worth;
}
