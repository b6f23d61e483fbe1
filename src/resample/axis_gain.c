/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "resample/axis_gain.h"

#include <math.h>

#include "base/memory.h"
#include "resample/weights.h"

static const double PI = 3.14159265358979323846;

/*
 * Places looked at where all of them occur.  With 64 no filter's gain is further than
 * 2e-5 from that of 4096 places (tests).
 */
enum {
    PLACES = 64
};

/*
 * Places a delivered pixel's centre can have between source pixels: for a ratio
 * of small whole numbers just those that occur, else many.
 */
static int
places_of(double scale)
{
    for (int p = 1; p <= PLACES; p++) {
        double whole = p * scale;

        if (fabs(whole - floor(whole + 0.5)) < 1e-9 * p)
            return p;
    }
    return PLACES;
}

static void
add_autocorrelation(const double *weight, int count, int places, double *sum)
{
    for (int lag = 0; lag < count; lag++)
        for (int n = 0; n + lag < count; n++)
            sum[lag] += weight[n] * weight[n + lag] / places;
}

/* Every place that occurs. */
static void
add_each(enum qs_filter filter, int places, struct qs_axis_gain *gain, double *weight)
{
    for (int i = 0; i < places; i++) {
        int first, count = qs_taps_at(filter, gain->scale,
                                      (i + 0.5) * gain->scale - 0.5, &first, weight);

        add_autocorrelation(weight, count, places, gain->autocorrelation);
    }
}

/* Many places, spread over one pixel; mirrored ones have mirrored weights, whose
   autocorrelation is the same. */
static void
add_spread(enum qs_filter filter, struct qs_axis_gain *gain, double *weight)
{
    for (int i = 0; i < PLACES / 2; i++) {
        double centre = (i + 0.5) / PLACES - 0.5;
        int first, count = qs_taps_at(filter, gain->scale, centre, &first, weight);

        add_autocorrelation(weight, count, PLACES / 2, gain->autocorrelation);
    }
}

static enum qs_status
fill(struct qs_axis_gain *gain, enum qs_filter filter, struct qs_error *err)
{
    int room = qs_taps_room(filter, gain->scale);
    int places = places_of(gain->scale);
    double *weight = qs_alloc((size_t)room, sizeof *weight);

    gain->autocorrelation = qs_alloc((size_t)room, sizeof(double));
    if (weight == NULL || gain->autocorrelation == NULL) {
        qs_free(weight);
        qs_axis_gain_clear(gain);
        return qs_fail_memory(err);
    }
    gain->lags = room - 1;
    if (places == PLACES)
        add_spread(filter, gain, weight);
    else
        add_each(filter, places, gain, weight);
    qs_free(weight);
    return QS_OK;
}

static enum qs_status
fill_identity(struct qs_axis_gain *gain, struct qs_error *err)
{
    gain->autocorrelation = qs_alloc(1, sizeof(double));
    if (gain->autocorrelation == NULL)
        return qs_fail_memory(err);
    gain->autocorrelation[0] = 1.0;
    return QS_OK;
}

enum qs_status
qs_axis_gain_init(struct qs_axis_gain *gain, enum qs_filter filter, double scale,
                  struct qs_error *err)
{
    *gain = (struct qs_axis_gain){.scale = scale};
    return scale > 1.0 ? fill(gain, filter, err) : fill_identity(gain, err);
}

void
qs_axis_gain_clear(struct qs_axis_gain *gain)
{
    qs_free(gain->autocorrelation);
    *gain = (struct qs_axis_gain){0};
}

double
qs_axis_gain_at(const struct qs_axis_gain *gain, double f_cpp)
{
    double sum = gain->autocorrelation[0];

    for (int d = 1; d <= gain->lags; d++)
        sum += 2.0 * gain->autocorrelation[d] * cos(2.0 * PI * f_cpp * d);
    return sum;
}

/* F6: power of white noise that comes out from below the new Nyquist frequency. */
static double
power_in_band(const struct qs_axis_gain *gain, double nyquist_cpp)
{
    double sum = gain->autocorrelation[0] * 2.0 * nyquist_cpp;

    for (int d = 1; d <= gain->lags; d++)
        sum +=
            2.0 * gain->autocorrelation[d] * sin(2.0 * PI * nyquist_cpp * d) / (PI * d);
    return sum;
}

enum qs_status
qs_axis_response(enum qs_filter filter, double scale, struct qs_axis_response *out,
                 struct qs_error *err)
{
    double nyquist = 0.5 / scale;
    struct qs_axis_gain gain = {.scale = scale};
    enum qs_status status = fill(&gain, filter, err);

    if (status != QS_OK)
        return status;
    out->white_gain = sqrt(gain.autocorrelation[0]);
    out->kept_half_nyquist = sqrt(fmax(qs_axis_gain_at(&gain, nyquist / 2.0), 0.0));
    out->kept_nyquist = sqrt(fmax(qs_axis_gain_at(&gain, nyquist), 0.0));
    out->alias_share = 1.0 - power_in_band(&gain, nyquist) / gain.autocorrelation[0];
    qs_axis_gain_clear(&gain);
    return QS_OK;
}

double
qs_alias_share_2d(double share_x, double share_y)
{
    return 1.0 - (1.0 - share_x) * (1.0 - share_y);
}
