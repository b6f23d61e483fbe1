/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_clip.h"

#include <math.h>

#include "base/chisquare.h"

static const double PI = 3.14159265358979323846;

static double
density(double x)
{
    return exp(-0.5 * x * x) / sqrt(2.0 * PI);
}

static double
below(double x)
{
    return 0.5 * erfc(-x / sqrt(2.0));
}

/* x density(x), 0 at infinity. */
static double
edge(double x)
{
    return isfinite(x) ? x * density(x) : 0.0;
}

/* value x share, 0 for an infinite value that nothing reaches. */
static double
part(double value, double share)
{
    return isfinite(value) ? value * share : 0.0;
}

/* T20: in units of the true sd, from the true mean. */
void
qs_clipped_normal(double mean, double sd, double low, double high, double *cut_mean,
                  double *cut_sd)
{
    double a = (low - mean) / sd, b = (high - mean) / sd;
    double first = part(a, below(a)) + density(a) - density(b) + part(b, below(-b));
    double second = part(a * a, below(a)) + below(b) - below(a) + edge(a) - edge(b) +
                    part(b * b, below(-b));

    *cut_mean = mean + sd * first;
    *cut_sd = sd * sqrt(fmax(second - first * first, 0.0));
}

/* T21 */
struct qs_clip_effect
qs_clip_effect(double share)
{
    struct qs_clip_effect effect;

    qs_clipped_normal(0.0, 1.0, qs_normal_quantile(share), INFINITY, &effect.mean_shift,
                      &effect.sd_kept);
    return effect;
}

/* The highest values of a plane and how often each occurs. */
enum {
    TOP_VALUES = 8
};

struct top {
    double value[TOP_VALUES]; /* from the highest down */
    double count[TOP_VALUES];
    int values;
};

/* Puts a value in its place, the lowest making room. */
static void
note(struct top *top, double value)
{
    int at = 0;

    while (at < top->values && top->value[at] > value)
        at++;
    if (at < top->values && top->value[at] == value) {
        top->count[at] += 1.0;
        return;
    }
    if (at == TOP_VALUES)
        return;
    top->values += top->values < TOP_VALUES;
    for (int k = top->values - 1; k > at; k--) {
        top->value[k] = top->value[k - 1];
        top->count[k] = top->count[k - 1];
    }
    top->value[at] = value;
    top->count[at] = 1.0;
}

/*
 * T23: many pixels at the highest value, several times as many as at all of the next
 * ones together, as no tail of a distribution has.
 */
void
qs_pile_look(const struct qs_plane *plane, struct qs_pile *out)
{
    struct top top = {.values = 0};
    double pixels = (double)plane->width * plane->height, next = 0.0;

    for (int y = 0; y < plane->height; y++) {
        const float *row = qs_plane_row(plane, y);

        for (int x = 0; x < plane->width; x++)
            if (top.values < TOP_VALUES || (double)row[x] >= top.value[TOP_VALUES - 1])
                note(&top, (double)row[x]);
    }
    for (int k = 1; k < top.values; k++)
        next += top.count[k];
    *out = (struct qs_pile){.value = top.value[0], .share = top.count[0] / pixels};
    out->seen = top.values == TOP_VALUES && top.count[0] >= 5.0 &&
                out->share >= 0.002 && top.count[0] > 2.0 * next;
}
