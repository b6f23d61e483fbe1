/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/forecast.h"

#include <math.h>

#include "base/memory.h"

/* Two-sided 95 % of a normal distribution. */
static const double SIGMAS_95 = 1.959963984540054;

/* Autocorrelation of the response's square: the autocorrelation of the weights'
   autocorrelation. */
static enum qs_status
fill_square(const struct qs_axis_gain *gain, struct qs_node_weights *out,
            struct qs_error *err)
{
    int lags = gain->lags;
    const double *a = gain->autocorrelation;
    double *square = qs_alloc((size_t)(2 * lags + 1), sizeof *square);

    if (square == NULL)
        return qs_fail_memory(err);
    for (int d = 0; d <= 2 * lags; d++)
        for (int n = d - lags; n <= lags; n++)
            square[d] += a[n < 0 ? -n : n] * a[d - n < 0 ? n - d : d - n];
    qs_node_weights_fill(square, 2 * lags, out);
    qs_free(square);
    return QS_OK;
}

static enum qs_status
axis_init(struct qs_axis_gain *gain, enum qs_filter filter, double scale,
          struct qs_node_weights *power, struct qs_node_weights *square,
          struct qs_error *err)
{
    enum qs_status status = qs_axis_gain_init(gain, filter, scale, err);

    if (status != QS_OK)
        return status;
    qs_node_weights_fill(gain->autocorrelation, gain->lags, power);
    return fill_square(gain, square, err);
}

enum qs_status
qs_shrinking_init(struct qs_shrinking *shrinking, enum qs_filter filter, int width,
                  int height, int out_width, int out_height, struct qs_error *err)
{
    enum qs_status status;

    *shrinking = (struct qs_shrinking){0};
    status = axis_init(&shrinking->across, filter, (double)width / out_width,
                       &shrinking->across_power, &shrinking->across_square, err);
    if (status == QS_OK)
        status = axis_init(&shrinking->down, filter, (double)height / out_height,
                           &shrinking->down_power, &shrinking->down_square, err);
    if (status != QS_OK)
        qs_shrinking_clear(shrinking);
    return status;
}

void
qs_shrinking_clear(struct qs_shrinking *shrinking)
{
    qs_axis_gain_clear(&shrinking->across);
    qs_axis_gain_clear(&shrinking->down);
    *shrinking = (struct qs_shrinking){0};
}

/* What a zone's noise comes to, and how sure that is. */
struct zone_share {
    double ratio;
    double spread; /* relative variance of `ratio` */
};

static double
square(double value)
{
    return value * value;
}

/*
 * P2: variance of a zone's share, 2 <G^2 P^2> / pixels (S8).  What whole rows share is
 * told by as many values as there are rows, with the pixels' own part in a row's mean
 * as noise on them; columns likewise.
 */
static double
variance_of_share(const struct qs_sheet_zone *zone,
                  const struct qs_shrinking *shrinking)
{
    const struct qs_spectrum *spectrum = &zone->spectrum;
    const double *across = shrinking->across_square.at,
                 *down = shrinking->down_square.at;
    double pixel = 0.0, rows = 0.0, columns = 0.0;

    for (int j = 0; j < (int)QS_SPECTRUM_NODES; j++) {
        for (int i = 0; i < (int)QS_SPECTRUM_NODES; i++)
            pixel += square(spectrum->pixel[j][i]) * down[j] * across[i];
        rows += square(spectrum->row[j] +
                       spectrum->pixel[j][0] * zone->rows / zone->pixels) *
                down[j];
        columns += square(spectrum->column[j] +
                          spectrum->pixel[0][j] * zone->columns / zone->pixels) *
                   across[j];
    }
    return 2.0 * (pixel / zone->pixels + rows / zone->rows + columns / zone->columns);
}

static struct zone_share
share_of_zone(const struct qs_sheet_zone *zone, const struct qs_shrinking *shrinking)
{
    struct zone_share share = {.spread = 0.0};

    share.ratio = qs_spectrum_variance(&zone->spectrum, &shrinking->across_power,
                                       &shrinking->down_power);
    if (share.ratio > 0.0 && zone->pixels > 0.0 && zone->rows > 0.0 &&
        zone->columns > 0.0)
        share.spread = variance_of_share(zone, shrinking) / square(share.ratio);
    return share;
}

/* Zones beside a tone, and the share of the upper one; false where none is known. */
struct zone_pair {
    const struct qs_sheet_zone *low, *high;
    double share;
};

/*
 * P2: each part of the noise keeps its own look over tone, and what is not pattern runs
 * straight over it: so does the spectrum in absolute terms.  The share of the upper
 * zone in the variance at a tone between the two.
 */
static double
share_of_high(const struct qs_sheet_signal *signal, double low, double high,
              double tone)
{
    double way = (tone - low) / (high - low);
    double of_low = (1.0 - way) * qs_model_variance(&signal->model, low);
    double of_high = way * qs_model_variance(&signal->model, high);

    return of_low + of_high > 0.0 ? of_high / (of_low + of_high) : way;
}

static bool
zones_beside(const struct qs_sheet_signal *signal, double tone, struct zone_pair *out)
{
    *out = (struct zone_pair){NULL, NULL, 0.0};
    for (int z = 0; z < QS_SHEET_ZONES; z++) {
        const struct qs_sheet_zone *zone = &signal->zones[z];

        if (!zone->known || !(zone->tone > 0.0))
            continue;
        if (zone->tone <= tone || out->low == NULL)
            out->low = zone;
        if (zone->tone >= tone && out->high == NULL)
            out->high = zone;
    }
    if (out->low == NULL)
        return false;
    if (out->high == NULL || out->low->tone >= tone)
        out->high = out->low;
    if (out->high->tone > out->low->tone)
        out->share = share_of_high(signal, out->low->tone, out->high->tone, tone);
    return true;
}

/* P2 */
static bool
share_at(const struct qs_sheet_signal *signal, double tone,
         const struct qs_shrinking *shrinking, struct zone_share *out)
{
    struct zone_pair pair;
    struct zone_share low, high;

    if (!zones_beside(signal, tone, &pair))
        return false;
    low = share_of_zone(pair.low, shrinking);
    high = share_of_zone(pair.high, shrinking);
    out->ratio = (1.0 - pair.share) * low.ratio + pair.share * high.ratio;
    out->spread = (1.0 - pair.share) * low.spread + pair.share * high.spread;
    return out->ratio > 0.0;
}

/*
 * P1: relative variance of the model's variance.  Where a part that may rule at the
 * tone was not tested, the noise is only known to lie between two bounds: below the
 * darkest patch between no change and the square of tone, above the brightest likewise;
 * the far bound is taken for the end of the 95 % interval.
 */
static double
model_spread(const struct qs_model *model, double tone)
{
    double variance = qs_model_variance(model, tone);
    double se = qs_model_variance_se(model, tone) / variance, bound = variance;

    if (tone < model->mean_low && !model->fitted[QS_MODEL_READ2])
        bound = qs_model_variance(model, model->mean_low);
    if (tone > model->mean_high && !model->fitted[QS_MODEL_PATTERN2])
        bound = qs_model_variance(model, model->mean_high) *
                square(tone / model->mean_high);
    return square(se) + square(log(bound / variance) / SIGMAS_95);
}

struct qs_forecast
qs_forecast_at(const struct qs_sheet_iso *iso, int signal, double tone,
               const struct qs_shrinking *shrinking)
{
    const struct qs_sheet_signal *from = &iso->signals[signal];
    struct qs_forecast out = {.known = false};
    struct zone_share share;
    double native;

    if (!from->fitted || !share_at(from, tone, shrinking, &share))
        return out;
    native = qs_model_variance(&from->model, tone);
    if (!(native > 0.0))
        return out;
    out.known = true;
    out.ratio = share.ratio;
    out.variance = native * share.ratio;
    out.spread = model_spread(&from->model, tone);
    if (shrinking->across.scale > 1.0 || shrinking->down.scale > 1.0)
        out.spread += share.spread;
    return out;
}

/* The noise of one signal at a tone, and how sure it is. */
struct toned {
    struct qs_spectrum spectrum;
    double spread;                /* relative variance of its variance */
    double pixels, rows, columns; /* that its look rests on */
};

/* Of two zones, one of which has `share` of the noise. */
static double
rests_on(double low, double high, double share)
{
    return 1.0 / ((1.0 - share) / low + share / high);
}

static bool
noise_at(const struct qs_sheet_signal *signal, double tone, struct toned *out)
{
    struct zone_pair pair;
    double variance;

    if (!signal->fitted || !zones_beside(signal, tone, &pair))
        return false;
    variance = qs_model_variance(&signal->model, tone);
    if (!(variance > 0.0))
        return false;
    *out = (struct toned){.spread = model_spread(&signal->model, tone)};
    out->pixels = rests_on(pair.low->pixels, pair.high->pixels, pair.share);
    out->rows = rests_on(pair.low->rows, pair.high->rows, pair.share);
    out->columns = rests_on(pair.low->columns, pair.high->columns, pair.share);
    qs_spectrum_mix(&out->spectrum, 0.0, &pair.low->spectrum,
                    variance * (1.0 - pair.share));
    qs_spectrum_mix(&out->spectrum, 1.0, &pair.high->spectrum, variance * pair.share);
    return true;
}

/* P2, of noise as seen: its own relative variance. */
static double
seen_spread(const struct qs_visible *visible, const struct toned *from)
{
    double seen = square(visible->total);

    if (!(seen > 0.0) ||
        !(from->pixels > 0.0 && from->rows > 0.0 && from->columns > 0.0))
        return 0.0;
    return 2.0 *
           (visible->square.pixel / from->pixels + visible->square.row / from->rows +
            visible->square.column / from->columns) /
           square(seen);
}

struct qs_seen_forecast
qs_forecast_seen(const struct qs_sheet_iso *iso, int channels, double tone,
                 const struct qs_shrinking *shrinking,
                 const struct qs_viewing_condition *viewing)
{
    struct qs_seen_forecast out = {.known = false};
    struct toned lightness, red_green = {.spread = 0.0}, yellow_blue = {.spread = 0.0};
    struct qs_visible_input input = {.lightness = &lightness.spectrum,
                                     .tone = tone,
                                     .across = &shrinking->across,
                                     .down = &shrinking->down,
                                     .pixels_per_degree = viewing->pixels_per_degree,
                                     .eye = viewing->eye,
                                     .onlooker = viewing->onlooker};

    if (!noise_at(&iso->signals[QS_Y], tone, &lightness))
        return out;
    if (channels == 3) {
        if (!noise_at(&iso->signals[QS_SIGNAL_RED_GREEN], tone, &red_green) ||
            !noise_at(&iso->signals[QS_SIGNAL_YELLOW_BLUE], tone, &yellow_blue))
            return out;
        input.red_green = &red_green.spectrum;
        input.yellow_blue = &yellow_blue.spectrum;
    }
    if (qs_visible(&input, &out.visible, NULL) != QS_OK)
        return out;
    out.spread = fmax(lightness.spread, fmax(red_green.spread, yellow_blue.spread)) +
                 seen_spread(&out.visible, &lightness);
    out.known = out.visible.has_total;
    return out;
}
