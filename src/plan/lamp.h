/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * lamp.h - continuous lamps, and the ambient light they stand in
 *
 * A lamp is known by a light level measured at one distance; what it gives at another
 * follows from the inverse square of the distance.  That holds for sources that are
 * small against the distance: at five times the width of an evenly bright round
 * one it is 1 % off (0.014 stop), nearer more: qs_lamp_wide_error_stops.  Beams
 * shaped by a lens or a deep reflector fall more slowly near the lamp; measure
 * those where they stand.
 *
 * Lamps and ambient add up, and the shutter can't tell one from the other as it can
 * with flash: a faster one darkens both alike.  So ambient is held down by more
 * lamp, never by the shutter.
 *
 * No light level is said to be enough for working or walking in; that is for the
 * rules of the place.
 *
 * Units: lux at the subject, metres, stops (factors of two).
 * Ranges: numbers are finite, and above 0 unless another range is given.
 * Threads: results depend on the arguments alone; call from any thread.
 * Memory: nothing is allocated; the caller owns every struct.
 * Method: docs/method/light.md, equations E26 to E32.
 */
#ifndef QS_PLAN_LAMP_H
#define QS_PLAN_LAMP_H

#include <stdbool.h>

#include "base/status.h"

struct qs_lamp {
    char name[32];     /* UTF-8, as typed */
    double lux;        /* measured, lamp at its full, nothing in front */
    double at_m;       /* lamp to meter, when it was measured */
    double distance_m; /* lamp to subject */
    double loss_stops; /* >= 0: what diffusion, nets or gels take */
    double dim;        /* share of its full light that it is dimmed to, 0 < dim <= 1 */
};

/*
 * Reads NAME=LUX@DISTANCE[,DISTANCE[,LOSS[,DIM%]]]:
 *
 *   key=1200lux@1m,2.5m,1,50%   1200 lux at 1 m; stands at 2.5 m, loses 1 stop,
 *                               dimmed to half of its light
 *   fill=40@2                   40 lux at 2 m, where it stands
 *   rim=90fc@6ft,,0.5           left empty: where it was measured
 *
 * Light is in lux or foot-candles, distances in m, cm, mm, in or ft (units.h); without
 * a unit, lux and metres.  The per cent are of light, which is seldom what a dimmer's
 * scale says.
 *
 *   QS_OK         *out is filled
 *   QS_ERR_USAGE  the text is none of these, or a number is out of the ranges
 *                 above; the sentence says which part and gives an example
 */
QS_MUST_CHECK enum qs_status
qs_lamp_parse(const char *text, struct qs_lamp *out, struct qs_error *err);

/* Light at the subject. */
double
qs_lamp_lux(const struct qs_lamp *lamp);

/* Of `count` >= 0 lamps together, without ambient; 0 for none. */
double
qs_lamps_lux(const struct qs_lamp *lamps, int count);

/*
 * How many stops more the inverse square promises for `distance_m` than an evenly
 * bright round source of `width_m` gives, measured at `at_m` on its axis.  > 0 where
 * the lamp is moved nearer, < 0 where it is moved away.
 */
double
qs_lamp_wide_error_stops(double width_m, double at_m, double distance_m);

/* The distance that gives `stops` more light (< 0: less) than the one given. */
double
qs_lamp_distance_for_stops(double distance_m, double stops);

/* The distance at which the lamp gives `lux` at the subject. */
double
qs_lamp_distance_for_lux(const struct qs_lamp *lamp, double lux);

/* Ambient */

/* Stops that a lamp is above ambient (< 0: below).  False where either is 0. */
bool
qs_lamp_over_ambient_stops(double lamp_lx, double ambient_lx, double *stops);

/*
 * Lamp light that leaves ambient `stops` > 0 below the total, for which the exposure is
 * set: ambient (2^stops - 1).  One stop takes as much lamp as ambient, three
 * take seven times as much.
 */
double
qs_lamp_to_hold_ambient_lx(double ambient_lx, double stops);

/* Stops that ambient > 0 lies below the total of lamp >= 0 and ambient. */
double
qs_ambient_below_total_stops(double lamp_lx, double ambient_lx);

/* Key and fill */

enum qs_lamp_role {
    QS_LAMP_KEY,
    QS_LAMP_FILL,
    QS_LAMP_ROLES
};

/* "key" or "fill". */
const char *
qs_lamp_role_name(enum qs_lamp_role role);

/* How many stops the role's light is under the exposure's: 0 for the key, 1 for the
   fill, so that the shadow side has half the light; common practice, no source. */
double
qs_lamp_role_under_stops(enum qs_lamp_role role);

struct qs_lamp_need {
    bool ambient_is_enough; /* then no lamp is needed, and the rest is 0 */
    double lamp_lx;         /* what the lamp has to give beside ambient */
    double short_stops;     /* what it is short of that; < 0 is to spare */
};

/*
 * Is `lamp_lx` enough where `needed_lx` is the light the exposure asks for, and the
 * part of the picture that this lamp lights may be `under_stops` >= 0 darker?  Ambient
 * >= 0 reaches that part too.
 */
struct qs_lamp_need
qs_lamp_need_of(double lamp_lx, double ambient_lx, double needed_lx,
                double under_stops);

/*
 * Two ratios go by the same words, so say which: key to fill is that of the lamps
 * alone; the lighting ratio is that of the bright side, which both reach, to the shadow
 * side, which the fill alone reaches.  Ambient that reaches both sides counts as fill.
 */
double
qs_key_to_fill(double key_lx, double fill_lx);

double
qs_lighting_ratio(double key_lx, double fill_lx);

#endif
