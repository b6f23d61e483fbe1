/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * light_plan.h - the light of one set-up: exposure, lamps, flicker
 *
 * All that can be told of the light without a camera sheet; and for each row of a plan,
 * whether a lamp is enough.
 *
 * Units: lux at the subject, seconds, stops, hertz.
 * Memory: nothing is allocated; lamps are the caller's.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/light.md.
 */
#ifndef QS_PLAN_LIGHT_PLAN_H
#define QS_PLAN_LIGHT_PLAN_H

#include <stdbool.h>

#include "plan/exposure.h"
#include "plan/flicker.h"
#include "plan/lamp.h"

enum {
    QS_LAMPS_MOST = 16
};

/* 0 = not given. */
struct qs_light_request {
    struct qs_exposure exposure; /* of stills */
    double motion_s;             /* shutter of motion */
    double fps;
    double meter_c;
    struct qs_lamp lamps[QS_LAMPS_MOST];
    int lamp_count;
    double ambient_lx;
    double hold_stops; /* ambient is to stay so far below the exposure */
    bool has_mains;
    enum qs_mains mains;
    double pwm_hz;
};

/* What pulsing light does to one shutter. */
struct qs_flicker_plan {
    double exposure_s;
    bool has_mains;
    double pulses;
    bool is_safe;
    struct qs_safe_near near;
    bool has_pwm;
    double pwm_pulses;
    struct qs_swing swing;   /* dimmed to half */
    double pulses_for_tenth; /* for a difference of a tenth of a stop */
};

struct qs_light_plan {
    double lamps_lx; /* all lamps together */
    double light_lx; /* given, else lamps and ambient; 0 = unknown */
    bool light_is_sum;
    bool solved; /* three were given, the fourth follows: */
    enum qs_exposure_part part;
    struct qs_exposure exposure;
    bool has_error;     /* all four were given: */
    double error_stops; /*   too bright by so much */
    bool has_ambient_below;
    double ambient_below_stops; /* of the lamps and ambient together */
    bool has_hold;
    double hold_lamp_lx;     /* that the lamps are to give */
    double hold_short_stops; /* what they are short of it */
    bool has_stills;
    struct qs_flicker_plan stills;
    bool has_motion;
    struct qs_flicker_plan motion;
    bool has_angles; /* mains-safe shutter angles at the frame rate */
    int angles;
};

/* Fills *out; nothing can fail, what can't be told is not. */
void
qs_light_plan_make(const struct qs_light_request *request, struct qs_light_plan *out);

#endif
