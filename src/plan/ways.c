/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/ways.h"

#include <math.h>

const char *
qs_way_key(enum qs_way_kind kind)
{
    static const char *const keys[QS_WAYS] = {[QS_WAY_OPEN_UP] = "open-up",
                                              [QS_WAY_SLOWER] = "slower-shutter",
                                              [QS_WAY_MORE_LIGHT] = "more-light",
                                              [QS_WAY_RAISE_ISO] = "raise-iso",
                                              [QS_WAY_SMALLER] = "deliver-smaller"};

    return keys[kind];
}

/* Stops that a step gives, and whether they are the whole gap. */
static void
settle(struct qs_way *way, double value, double stops, double gap)
{
    *way = (struct qs_way){.known = true,
                           .value = value,
                           .stops = fmin(stops, gap),
                           .is_enough = stops >= gap - 1e-9};
}

static void
open_up(const struct qs_gap *gap, struct qs_way *way)
{
    double wanted = gap->f_number * exp2(-0.5 * gap->short_stops);
    double value = fmax(wanted, gap->widest_f);

    if (value > gap->f_number)
        value = gap->f_number;
    settle(way, value, 2.0 * log2(gap->f_number / value), gap->short_stops);
}

static void
slow_down(const struct qs_gap *gap, struct qs_way *way)
{
    double value = gap->exposure_s * exp2(gap->short_stops);

    if (gap->longest_s > 0.0)
        value = fmin(value, fmax(gap->longest_s, gap->exposure_s));
    settle(way, value, log2(value / gap->exposure_s), gap->short_stops);
}

static void
add_light(const struct qs_gap *gap, struct qs_way *way)
{
    settle(way, gap->light_lx * exp2(gap->short_stops), gap->short_stops,
           gap->short_stops);
    way->has_other = true;
    way->other = exp2(-0.5 * gap->short_stops);
}

void
qs_ways_of_light(const struct qs_gap *gap, struct qs_ways *ways)
{
    ways->known = true;
    open_up(gap, &ways->way[QS_WAY_OPEN_UP]);
    slow_down(gap, &ways->way[QS_WAY_SLOWER]);
    add_light(gap, &ways->way[QS_WAY_MORE_LIGHT]);
}
