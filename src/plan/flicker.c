/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/flicker.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static const double PI = 3.14159265358979323846;

/* Slack for numbers that would be whole but for rounding; no shutter is as exact. */
static const double ROUNDING = 1e-9;

static const double mains_hz[QS_MAINS] = {[QS_MAINS_50] = 50.0, [QS_MAINS_60] = 60.0};

static const struct qs_safe_shutter safe[] = {
    {QS_MAINS_50, 1, "1/100"}, {QS_MAINS_50, 2, "1/50"},  {QS_MAINS_50, 4, "1/25"},
    {QS_MAINS_50, 5, "1/20"},  {QS_MAINS_50, 10, "1/10"}, {QS_MAINS_50, 20, "1/5"},
    {QS_MAINS_60, 1, "1/120"}, {QS_MAINS_60, 2, "1/60"},  {QS_MAINS_60, 3, "1/40"},
    {QS_MAINS_60, 4, "1/30"},  {QS_MAINS_60, 6, "1/20"},  {QS_MAINS_60, 8, "1/15"},
    {QS_MAINS_60, 12, "1/10"}, {QS_MAINS_60, 24, "1/5"},
};

double
qs_mains_hz(enum qs_mains mains)
{
    return mains_hz[mains];
}

const struct qs_safe_shutter *
qs_safe_shutter_row(int index)
{
    return index >= 0 && (size_t)index < COUNT(safe) ? &safe[index] : NULL;
}

double
qs_mains_pulses(enum qs_mains mains, double exposure_s)
{
    assert(exposure_s > 0.0);
    return 2.0 * mains_hz[mains] * exposure_s;
}

static double
exposure_of(enum qs_mains mains, double pulses)
{
    return pulses / (2.0 * mains_hz[mains]);
}

/* The whole number that `pulses` is meant to be; 0 where it is none. */
static double
whole_pulses(double pulses)
{
    double nearest = floor(pulses + 0.5);

    return fabs(pulses - nearest) <= QS_SAFE_PULSE_PART + ROUNDING ? nearest : 0.0;
}

bool
qs_mains_safe(enum qs_mains mains, double exposure_s)
{
    return whole_pulses(qs_mains_pulses(mains, exposure_s)) >= 1.0;
}

struct qs_safe_near
qs_mains_safe_near(enum qs_mains mains, double exposure_s)
{
    double pulses = qs_mains_pulses(mains, exposure_s);
    double whole = whole_pulses(pulses);
    double below = whole >= 1.0 ? whole : floor(pulses);
    struct qs_safe_near near = {below >= 1.0, 0.0, 0.0};

    if (near.has_faster)
        near.faster_s = exposure_of(mains, below);
    near.slower_s = exposure_of(mains, whole >= 1.0 ? whole : below + 1.0);
    return near;
}

/* E20: a swing of cosine form, averaged over the time the shutter is open. */
bool
qs_mains_swing_stops(enum qs_mains mains, double exposure_s, double depth,
                     double *stops)
{
    double x = PI * qs_mains_pulses(mains, exposure_s);
    double swing = depth * fabs(sin(x) / x);

    assert(depth >= 0.0 && depth <= 1.0);
    if (!(swing < 1.0))
        return false;
    *stops = log2((1.0 + swing) / (1.0 - swing));
    return true;
}

int
qs_safe_angles(enum qs_mains mains, double fps)
{
    double most = 2.0 * mains_hz[mains] / fps;

    assert(fps > 0.0 && most < 1e6);
    return (int)floor(most * (1.0 + ROUNDING));
}

double
qs_safe_angle_deg(enum qs_mains mains, double fps, int pulses)
{
    assert(fps > 0.0 && pulses > 0);
    return 360.0 * fps * exposure_of(mains, pulses);
}

/*
 * E22: n = k + r pulses hold k whole ones, k duty of light, wherever they begin; the
 * rest r of a pulse holds at most min(r, duty) and at least max(0, r + duty - 1).
 */
struct qs_swing
qs_pulse_swing(double pulses, double duty)
{
    double whole = floor(pulses), rest = pulses - whole;
    double most = whole * duty + fmin(rest, duty);
    double least = whole * duty + fmax(0.0, rest + duty - 1.0);
    struct qs_swing swing = {0};

    assert(pulses > 0.0 && duty > 0.0 && duty <= 1.0);
    swing.share =
        fmin(fmin(rest, 1.0 - rest), fmin(duty, 1.0 - duty)) / (pulses * duty);
    swing.has_stops = least > 0.0;
    if (swing.has_stops)
        swing.stops = log2(most / least);
    return swing;
}

double
qs_pulse_swing_most_share(double pulses, double duty)
{
    assert(pulses > 0.0 && duty > 0.0 && duty <= 1.0);
    return fmin(1.0, (1.0 - duty) / duty) / pulses;
}

/* E24: within k and k + 1 pulses the worst ratio is 1 + min(1, (1 - duty) / duty) / k.
 */
double
qs_pulses_least(double duty, double stops)
{
    double part = fmin(1.0, (1.0 - duty) / duty);

    assert(duty > 0.0 && duty <= 1.0 && stops > 0.0);
    return ceil(part / expm1(stops * log(2.0)) * (1.0 - ROUNDING));
}
