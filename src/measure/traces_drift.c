/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_drift.h"

#include <math.h>

#include "base/order.h"

enum {
    MOST_PAIRS = 256
};

/* Darker than this, a black point that is a little off already moves the ratio. */
static const double DARKEST = 0.005;

/* Patches that change apart from each other by more are not one scene's. */
static const double ONE_SCENE_STOPS = 0.25;

/* Shutters and apertures are good to about this (common practice, no source). */
static const double EQUAL_STOPS = 0.1;
static const double EXPOSED_STOPS = 0.2;
static const double COLOUR_STOPS = 0.03;

static bool
has_light(const struct qs_drift_pair *pair, bool grey)
{
    for (int c = grey ? 3 : 0; c < 4; c++)
        if (!(pair->before[c] > DARKEST) || !(pair->after[c] > DARKEST) ||
            pair->before[c] > 0.9 || pair->after[c] > 0.9)
            return false;
    return true;
}

/* T31: median over the pairs of a channel's change against another's (-1: none). */
static double
change(const struct qs_drift_pair *pairs, const int *use, int count, int channel,
       int against, double *spread)
{
    double values[MOST_PAIRS], middle;

    for (int i = 0; i < count; i++) {
        const struct qs_drift_pair *p = &pairs[use[i]];

        values[i] = log2(p->after[channel] / p->before[channel]);
        if (against >= 0)
            values[i] -= log2(p->after[against] / p->before[against]);
    }
    middle = qs_median(values, (size_t)count);
    for (int i = 0; i < count; i++)
        values[i] = fabs(values[i] - middle);
    *spread = qs_median(values, (size_t)count);
    return middle;
}

/* T32: equal brightness, or the promised one, whichever is nearer. */
static void
judge_brightness(bool has_exposure, double exposure_stops, struct qs_drift *out)
{
    double off = out->raw_stops - exposure_stops;

    out->stops = out->raw_stops;
    out->exposure = fabs(out->raw_stops) > EQUAL_STOPS;
    if (!out->exposure || !has_exposure)
        return;
    out->exposure = fabs(off) > EXPOSED_STOPS;
    if (fabs(off) < fabs(out->raw_stops))
        out->stops = off;
}

void
qs_drift_judge(const struct qs_drift_pair *pairs, int count, bool grey,
               bool has_exposure, double exposure_stops, struct qs_drift *out)
{
    int use[MOST_PAIRS], used = 0;
    double spread, off;

    *out = (struct qs_drift){.known = false};
    for (int i = 0; i < count && used < MOST_PAIRS; i++)
        if (has_light(&pairs[i], grey))
            use[used++] = i;
    if (used == 0)
        return;
    out->raw_stops = change(pairs, use, used, 3, -1, &spread);
    if (spread > ONE_SCENE_STOPS)
        return;
    out->known = true;
    judge_brightness(has_exposure, exposure_stops, out);
    if (grey)
        return;
    out->red_stops = change(pairs, use, used, 0, 1, &off);
    out->blue_stops = change(pairs, use, used, 2, 1, &off);
    out->colour = fmax(fabs(out->red_stops), fabs(out->blue_stops)) > COLOUR_STOPS;
}
