/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/forecast.h"

#include <math.h>

#include "base/memory.h"

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
        out->share =
            log2(tone / out->low->tone) / log2(out->high->tone / out->low->tone);
    return true;
}

/* P2: between two zones, straight over the logarithm of tone. */
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

struct qs_forecast
qs_forecast_at(const struct qs_sheet_iso *iso, int signal, double tone,
               const struct qs_shrinking *shrinking)
{
    const struct qs_sheet_signal *from = &iso->signals[signal];
    struct qs_forecast out = {.known = false};
    struct zone_share share;
    double native, se;

    if (!from->fitted || !share_at(from, tone, shrinking, &share))
        return out;
    native = qs_model_variance(&from->model, tone);
    if (!(native > 0.0))
        return out;
    se = qs_model_variance_se(&from->model, tone);
    out.known = true;
    out.ratio = share.ratio;
    out.variance = native * share.ratio;
    out.spread = se * se / (native * native);
    if (shrinking->across.scale > 1.0 || shrinking->down.scale > 1.0)
        out.spread += share.spread;
    return out;
}

/* The spectrum at a tone, with the model's variance there. */
static bool
spectrum_at(const struct qs_sheet_signal *signal, double tone, struct qs_spectrum *out,
            double *spread)
{
    struct zone_pair pair;
    double variance, se;

    if (!signal->fitted || !zones_beside(signal, tone, &pair))
        return false;
    variance = qs_model_variance(&signal->model, tone);
    if (!(variance > 0.0))
        return false;
    se = qs_model_variance_se(&signal->model, tone);
    *spread = se * se / (variance * variance);
    *out = (struct qs_spectrum){.pixel = {{0.0}}};
    qs_spectrum_mix(out, 0.0, &pair.low->spectrum, variance * (1.0 - pair.share));
    qs_spectrum_mix(out, 1.0, &pair.high->spectrum, variance * pair.share);
    return true;
}

struct qs_seen_forecast
qs_forecast_seen(const struct qs_sheet_iso *iso, int channels, double tone,
                 const struct qs_shrinking *shrinking,
                 const struct qs_viewing_condition *viewing)
{
    struct qs_seen_forecast out = {.known = false};
    struct qs_spectrum lightness, red_green, yellow_blue;
    struct qs_visible_input input = {.lightness = &lightness,
                                     .tone = tone,
                                     .across = &shrinking->across,
                                     .down = &shrinking->down,
                                     .pixels_per_degree = viewing->pixels_per_degree,
                                     .eye = viewing->eye};
    double spread = 0.0, other = 0.0;

    if (!spectrum_at(&iso->signals[QS_Y], tone, &lightness, &spread))
        return out;
    if (channels == 3) {
        if (!spectrum_at(&iso->signals[QS_SIGNAL_RED_GREEN], tone, &red_green,
                         &other) ||
            !spectrum_at(&iso->signals[QS_SIGNAL_YELLOW_BLUE], tone, &yellow_blue,
                         &other))
            return out;
        input.red_green = &red_green;
        input.yellow_blue = &yellow_blue;
    }
    if (qs_visible(&input, &out.visible, NULL) != QS_OK)
        return out;
    out.spread = fmax(spread, other);
    out.known = out.visible.has_total && out.visible.total > 0.0;
    return out;
}
