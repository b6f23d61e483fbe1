/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "resample/weights.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"

/* A tap this much beyond the kernel's end is rounding, not a tap. */
static const double EDGE_SLACK_PX = 1e-9;

int
qs_taps_room(enum qs_filter filter, double scale)
{
    return (int)ceil(2.0 * qs_filter_row(filter)->radius * scale) + 3;
}

/* Exact overlap of [centre - scale/2, centre + scale/2] with each source pixel. */
static int
area_taps(double scale, double centre, int *first, double *weight)
{
    double low = centre - scale / 2.0;
    double high = centre + scale / 2.0;
    int from = (int)floor(low + 0.5 + EDGE_SLACK_PX);
    int to = (int)ceil(high - 0.5 - EDGE_SLACK_PX);

    *first = from;
    for (int n = from; n <= to; n++)
        weight[n - from] = fmin(high, n + 0.5) - fmax(low, n - 0.5);
    return to - from + 1;
}

static int
kernel_taps(const struct qs_filter_row *row, double scale, double centre, int *first,
            double *weight)
{
    double reach = row->radius * scale;
    int from = (int)ceil(centre - reach - EDGE_SLACK_PX);
    int to = (int)floor(centre + reach + EDGE_SLACK_PX);

    *first = from;
    for (int n = from; n <= to; n++)
        weight[n - from] = row->value((n - centre) / scale);
    return to - from + 1;
}

static void
normalise(double *weight, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += weight[i];
    for (int i = 0; i < count; i++)
        weight[i] /= sum;
}

int
qs_taps_at(enum qs_filter filter, double scale, double centre, int *first,
           double *weight)
{
    const struct qs_filter_row *row = qs_filter_row(filter);
    int count = row->value == NULL ? area_taps(scale, centre, first, weight)
                                   : kernel_taps(row, scale, centre, first, weight);

    normalise(weight, count);
    return count;
}

/* Leaves out the taps beyond the source; says whether any had to go. */
static bool
cut_to_source(int in, int *first, int *count, double *weight)
{
    int before = *first < 0 ? -*first : 0;
    int after = *first + *count > in ? *first + *count - in : 0;

    if (before == 0 && after == 0)
        return false;
    *first += before;
    *count -= before + after;
    memmove(weight, weight + before, (size_t)*count * sizeof *weight);
    normalise(weight, *count);
    return true;
}

static void
fill(struct qs_weights *weights, enum qs_filter filter, double *work)
{
    weights->whole_first = weights->out;
    weights->whole_end = 0;
    for (int i = 0; i < weights->out; i++) {
        double centre = (i + 0.5) * weights->scale - 0.5;
        float *into = weights->weight + (ptrdiff_t)i * weights->taps;

        weights->count[i] =
            qs_taps_at(filter, weights->scale, centre, &weights->first[i], work);
        if (!cut_to_source(weights->in, &weights->first[i], &weights->count[i], work)) {
            if (weights->whole_first > i)
                weights->whole_first = i;
            weights->whole_end = i + 1;
        }
        for (int n = 0; n < weights->count[i]; n++)
            into[n] = (float)work[n];
    }
}

static void
fill_identity(struct qs_weights *weights)
{
    for (int i = 0; i < weights->out; i++) {
        weights->first[i] = i;
        weights->count[i] = 1;
        weights->weight[i] = 1.0f;
    }
    weights->whole_first = 0;
    weights->whole_end = weights->out;
}

enum qs_status
qs_weights_init(struct qs_weights *weights, enum qs_filter filter, int in, int out,
                struct qs_error *err)
{
    double scale = (double)in / out;
    int taps = in == out ? 1 : qs_taps_room(filter, scale);
    double *work = qs_alloc((size_t)taps, sizeof *work);

    *weights = (struct qs_weights){.in = in, .out = out, .scale = scale, .taps = taps};
    weights->first = qs_alloc((size_t)out, sizeof *weights->first);
    weights->count = qs_alloc((size_t)out, sizeof *weights->count);
    weights->weight = qs_alloc((size_t)out * (size_t)taps, sizeof *weights->weight);
    if (work == NULL || weights->first == NULL || weights->count == NULL ||
        weights->weight == NULL) {
        qs_free(work);
        qs_weights_clear(weights);
        return qs_fail_memory(err);
    }
    if (in == out)
        fill_identity(weights);
    else
        fill(weights, filter, work);
    qs_free(work);
    return QS_OK;
}

void
qs_weights_clear(struct qs_weights *weights)
{
    qs_free(weights->first);
    qs_free(weights->count);
    qs_free(weights->weight);
    *weights = (struct qs_weights){0};
}

void
qs_weights_autocorrelation(const struct qs_weights *weights, int origin, double *even,
                           double *odd)
{
    int lags = weights->taps - 1;
    bool has_whole = weights->whole_first < weights->whole_end;
    int from = has_whole ? weights->whole_first : 0;
    int to = has_whole ? weights->whole_end : weights->out;
    double share = 1.0 / (to - from);

    memset(even, 0, (size_t)(2 * lags + 1) * sizeof *even);
    memset(odd, 0, (size_t)(2 * lags + 1) * sizeof *odd);
    for (int i = from; i < to; i++) {
        const float *w = weights->weight + (ptrdiff_t)i * weights->taps;
        int count = weights->count[i];

        for (int n = 0; n < count; n++) {
            double *into = ((weights->first[i] + n + origin) & 1) ? odd : even;

            for (int m = 0; m < count; m++)
                into[m - n + lags] += share * (double)w[n] * (double)w[m];
        }
    }
}
