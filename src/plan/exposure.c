/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/exposure.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* ISO 12232: saturation speed is this over the exposure at saturation, in lx s. */
static const double SATURATION = 78.0;

/* ISO 12232: lux on the sensor for each cd/m^2 of the subject at f/1: lens and corner.
 */
static const double LENS = 0.65;

/* Four parts that multiply: E t S / (C N^2) = 1. */
static const struct part {
    const char *name;
    size_t offset;
    double power; /* of the part in that product */
} parts[QS_EXPOSURE_PARTS] = {
    [QS_EXPOSURE_APERTURE] = {"aperture", offsetof(struct qs_exposure, f_number), -2.0},
    [QS_EXPOSURE_SHUTTER] = {"shutter", offsetof(struct qs_exposure, exposure_s), 1.0},
    [QS_EXPOSURE_ISO] = {"ISO", offsetof(struct qs_exposure, iso), 1.0},
    [QS_EXPOSURE_LIGHT] = {"light", offsetof(struct qs_exposure, light_lx), 1.0},
};

double
qs_stops_of_ratio(double ratio)
{
    assert(ratio > 0.0);
    return log2(ratio);
}

double
qs_ratio_of_stops(double stops)
{
    return exp2(stops);
}

double
qs_stops_of_apertures(double from_f_number, double to_f_number)
{
    assert(from_f_number > 0.0 && to_f_number > 0.0);
    return 2.0 * log2(from_f_number / to_f_number);
}

const char *
qs_exposure_part_name(enum qs_exposure_part part)
{
    return parts[part].name;
}

double
qs_exposure_part_of(const struct qs_exposure *exposure, enum qs_exposure_part part)
{
    double value;

    memcpy(&value, (const char *)exposure + parts[part].offset, sizeof value);
    return value;
}

static void
set_part(struct qs_exposure *exposure, enum qs_exposure_part part, double value)
{
    memcpy((char *)exposure + parts[part].offset, &value, sizeof value);
}

static enum qs_status
check_parts(const struct qs_exposure *exposure, struct qs_error *err)
{
    for (int i = 0; i < QS_EXPOSURE_PARTS; i++) {
        double value = qs_exposure_part_of(exposure, (enum qs_exposure_part)i);

        if (!isfinite(value) || value < 0.0)
            return qs_fail(err, QS_ERR_RANGE,
                           "The %s is no number above 0; give another one.",
                           parts[i].name);
    }
    return QS_OK;
}

/* How many parts are unknown; *last is one of them, `names` lists all. */
static int
unknown_parts(const struct qs_exposure *exposure, enum qs_exposure_part *last,
              char names[64])
{
    int count = 0;

    names[0] = '\0';
    for (int i = 0; i < QS_EXPOSURE_PARTS; i++) {
        size_t used = strlen(names);

        if (qs_exposure_part_of(exposure, (enum qs_exposure_part)i) > 0.0)
            continue;
        (void)snprintf(names + used, 64 - used, "%s%s", count > 0 ? ", " : "",
                       parts[i].name);
        *last = (enum qs_exposure_part)i;
        count++;
    }
    return count;
}

/* E1: log2 of E t S / (C N^2), the part `left_out` taken as 1. */
static double
product_stops(const struct qs_exposure *exposure, double meter_c, int left_out)
{
    double stops = -log2(meter_c);

    for (int i = 0; i < QS_EXPOSURE_PARTS; i++)
        if (i != left_out)
            stops += parts[i].power *
                     log2(qs_exposure_part_of(exposure, (enum qs_exposure_part)i));
    return stops;
}

enum qs_status
qs_exposure_solve(struct qs_exposure *exposure, double meter_c, struct qs_error *err)
{
    enum qs_exposure_part wanted = QS_EXPOSURE_PARTS;
    char names[64];
    int unknown;
    double value;
    enum qs_status status = check_parts(exposure, err);

    assert(meter_c > 0.0);
    if (status != QS_OK)
        return status;
    unknown = unknown_parts(exposure, &wanted, names);
    if (unknown == 0)
        return QS_OK;
    if (unknown > 1)
        return qs_fail(err, QS_ERR_USAGE,
                       "Any three of aperture, shutter, ISO and light give the fourth; "
                       "what is missing here is %s: give all but one of them.",
                       names);
    value = exp2(-product_stops(exposure, meter_c, (int)wanted) / parts[wanted].power);
    if (!isfinite(value) || value <= 0.0)
        return qs_fail(err, QS_ERR_RANGE,
                       "The %s that goes with the other three is beyond all numbers; "
                       "check them.",
                       names);
    set_part(exposure, wanted, value);
    return QS_OK;
}

double
qs_exposure_error_stops(const struct qs_exposure *exposure, double meter_c)
{
    assert(meter_c > 0.0);
    return product_stops(exposure, meter_c, QS_EXPOSURE_PARTS);
}

double
qs_ev_of_setting(double f_number, double exposure_s)
{
    assert(f_number > 0.0 && exposure_s > 0.0);
    return log2(f_number * f_number / exposure_s);
}

double
qs_ev100_of_lux(double light_lx, double meter_c)
{
    assert(light_lx > 0.0 && meter_c > 0.0);
    return log2(100.0 * light_lx / meter_c);
}

double
qs_lux_of_ev100(double ev, double meter_c)
{
    return meter_c / 100.0 * exp2(ev);
}

double
qs_luminance_of_ev100(double ev)
{
    return QS_METER_K / 100.0 * exp2(ev);
}

double
qs_ev100_of_luminance(double luminance)
{
    assert(luminance > 0.0);
    return log2(100.0 * luminance / QS_METER_K);
}

double
qs_luminance_of_lux(double light_lx, double reflectance)
{
    return light_lx * reflectance / PI;
}

double
qs_lux_of_luminance(double luminance, double reflectance)
{
    assert(reflectance > 0.0);
    return luminance * PI / reflectance;
}

double
qs_shutter_of_motion(double fps, double angle_deg)
{
    assert(fps > 0.0 && angle_deg > 0.0 && angle_deg <= 360.0);
    return angle_deg / 360.0 / fps;
}

double
qs_angle_of_shutter(double fps, double exposure_s)
{
    assert(fps > 0.0 && exposure_s > 0.0);
    return 360.0 * fps * exposure_s;
}

bool
qs_snr_of_tone(double read2, double gain, double pattern2, double ratio, double tone,
               double *snr)
{
    double variance = read2 + gain * tone + pattern2 * tone * tone;

    assert(ratio > 0.0);
    if (!(variance > 0.0))
        return false;
    *snr = tone / (ratio * sqrt(variance));
    return true;
}

bool
qs_least_tone(double read2, double gain, double pattern2, double ratio, double snr,
              double *tone)
{
    double spare = 1.0 / (snr * ratio * snr * ratio) - pattern2;

    assert(read2 >= 0.0 && gain >= 0.0 && pattern2 >= 0.0 && ratio > 0.0 && snr > 0.0);
    if (!(spare > 0.0))
        return false;
    *tone = (gain + sqrt(gain * gain + 4.0 * read2 * spare)) / (2.0 * spare);
    return true;
}

bool
qs_size_worth_stops(double read2, double gain, double pattern2, double ratio,
                    double snr, double *stops)
{
    double native, delivered;

    if (!qs_least_tone(read2, gain, pattern2, 1.0, snr, &native) ||
        !qs_least_tone(read2, gain, pattern2, ratio, snr, &delivered) ||
        !(native > 0.0 && delivered > 0.0))
        return false;
    *stops = log2(native / delivered);
    return true;
}

double
qs_electrons_for_snr(double snr, double read_e)
{
    double electrons = 0.0;
    bool possible = qs_least_tone(read_e * read_e, 1.0, 0.0, 1.0, snr, &electrons);

    assert(possible);
    (void)possible;
    return electrons;
}

double
qs_light_of_tone(const struct qs_exposure *exposure, double meter_c, double reflectance,
                 double tone)
{
    double n = exposure->f_number;

    assert(n > 0.0 && exposure->exposure_s > 0.0 && exposure->iso > 0.0);
    assert(meter_c > 0.0 && reflectance > 0.0);
    return meter_c * n * n / (exposure->exposure_s * exposure->iso) * tone /
           reflectance;
}

double
qs_luminance_of_tone_saturation(const struct qs_exposure *exposure, double tone)
{
    double n = exposure->f_number;

    assert(n > 0.0 && exposure->exposure_s > 0.0 && exposure->iso > 0.0);
    return SATURATION * tone / exposure->iso * n * n / (LENS * exposure->exposure_s);
}

enum qs_status
qs_calibrate(const struct qs_exposure *exposure, double meter_c, double reflectance,
             double mean, double *stops, struct qs_error *err)
{
    enum qs_exposure_part part;
    char names[64];
    enum qs_status status = check_parts(exposure, err);

    if (status != QS_OK)
        return status;
    if (unknown_parts(exposure, &part, names) > 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "A calibration takes a frame whose aperture, shutter, ISO and "
                       "light are all known; what is missing here is %s.",
                       names);
    if (!(reflectance > 0.0 && reflectance <= 1.0))
        return qs_fail(err, QS_ERR_RANGE,
                       "A grey reflects more than none and at most all of its light, "
                       "not %g; give its reflectance, such as 0.18.",
                       reflectance);
    if (!(mean > 0.0 && mean < 1.0))
        return qs_fail(
            err, QS_ERR_RANGE,
            "The grey is black or clipped in the frame, so it tells nothing; "
            "take one that is exposed between the two.");
    *stops = log2(mean / reflectance) - qs_exposure_error_stops(exposure, meter_c);
    return QS_OK;
}

double
qs_calibrated_meter_c(double meter_c, double stops)
{
    return meter_c * exp2(-stops);
}
