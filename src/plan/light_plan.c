/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/light_plan.h"

#include <math.h>
#include <stddef.h>

/* Where a dimmer's pulses are worst for a given number of them: half on, half off. */
static const double HALF_DUTY = 0.5;

/* A difference between exposures that is hardly seen; common practice, no source. */
static const double TENTH_STOP = 0.1;

static void
add_up(const struct qs_light_request *request, struct qs_light_plan *out)
{
    out->lamps_lx = qs_lamps_lux(request->lamps, request->lamp_count);
    out->light_lx = request->exposure.light_lx;
    out->light_is_sum =
        !(out->light_lx > 0.0) && out->lamps_lx + request->ambient_lx > 0.0;
    if (out->light_is_sum)
        out->light_lx = out->lamps_lx + request->ambient_lx;
}

/* Three of the four give the fourth; four give how well they go together. */
static void
solve_exposure(const struct qs_light_request *request, struct qs_light_plan *out)
{
    struct qs_exposure exposure = request->exposure;
    int unknown = 0;

    exposure.light_lx = out->light_lx;
    for (int p = 0; p < (int)QS_EXPOSURE_PARTS; p++)
        if (!(qs_exposure_part_of(&exposure, (enum qs_exposure_part)p) > 0.0)) {
            unknown++;
            out->part = (enum qs_exposure_part)p;
        }
    if (unknown == 0) {
        out->has_error = true;
        out->error_stops = qs_exposure_error_stops(&exposure, request->meter_c);
    } else if (unknown == 1) {
        out->solved = qs_exposure_solve(&exposure, request->meter_c, NULL) == QS_OK;
    }
    out->exposure = exposure;
}

static void
look_at_ambient(const struct qs_light_request *request, struct qs_light_plan *out)
{
    if (!(request->ambient_lx > 0.0))
        return;
    if (out->lamps_lx > 0.0) {
        out->has_ambient_below = true;
        out->ambient_below_stops =
            qs_ambient_below_total_stops(out->lamps_lx, request->ambient_lx);
    }
    if (request->hold_stops > 0.0) {
        out->has_hold = true;
        out->hold_lamp_lx =
            qs_lamp_to_hold_ambient_lx(request->ambient_lx, request->hold_stops);
        if (out->lamps_lx > 0.0)
            out->hold_short_stops = log2(out->hold_lamp_lx / out->lamps_lx);
    }
}

static struct qs_flicker_plan
look_at_flicker(const struct qs_light_request *request, double exposure_s)
{
    struct qs_flicker_plan out = {.exposure_s = exposure_s,
                                  .has_mains = request->has_mains,
                                  .has_pwm = request->pwm_hz > 0.0};

    if (out.has_mains) {
        out.pulses = qs_mains_pulses(request->mains, exposure_s);
        out.is_safe = qs_mains_safe(request->mains, exposure_s);
        out.near = qs_mains_safe_near(request->mains, exposure_s);
    }
    if (out.has_pwm) {
        out.pwm_pulses = request->pwm_hz * exposure_s;
        out.swing = qs_pulse_swing(out.pwm_pulses, HALF_DUTY);
        out.pulses_for_tenth = qs_pulses_least(HALF_DUTY, TENTH_STOP);
    }
    return out;
}

void
qs_light_plan_make(const struct qs_light_request *request, struct qs_light_plan *out)
{
    *out = (struct qs_light_plan){.lamps_lx = 0.0};
    add_up(request, out);
    solve_exposure(request, out);
    look_at_ambient(request, out);
    if (!request->has_mains && !(request->pwm_hz > 0.0))
        return;
    out->has_stills = out->exposure.exposure_s > 0.0;
    if (out->has_stills)
        out->stills = look_at_flicker(request, out->exposure.exposure_s);
    out->has_motion = request->motion_s > 0.0;
    if (out->has_motion)
        out->motion = look_at_flicker(request, request->motion_s);
    if (request->has_mains && request->fps > 0.0) {
        out->has_angles = true;
        out->angles = qs_safe_angles(request->mains, request->fps);
    }
}
