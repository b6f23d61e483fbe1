/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * flicker.h - light that pulses, and the shutters it lets pass
 *
 * Two kinds of lamp have to be told apart.
 *
 * Lamps that follow the mains pulse twice a cycle: 100 or 120 times a second.  A
 * shutter that holds a whole number of pulses gets the same light wherever it opens; so
 * does every row of a sensor that is read row by row.
 *
 * Lamps with a pulse-width dimmer are switched on and off at a rate of the dimmer's
 * own, from about 100 Hz to above 100 kHz.  Shutters that suit the mains do not help
 * there: the rate is no multiple of the mains, most makers do not state it, and it may
 * drift or change with the dimmer.  What helps is many pulses in one exposure, since an
 * exposure has at most one pulse more or less than another.  Rows of a sensor that is
 * read row by row differ by as much as exposures do, and show it as stripes.
 *
 * Units: hertz, seconds, degrees of shutter angle, stops, pulses (a plain number).
 * Threads: results depend on the arguments alone; call from any thread.
 * Memory: nothing is allocated.
 * Method: docs/method/light.md, equations E19 to E24.
 */
#ifndef QS_PLAN_FLICKER_H
#define QS_PLAN_FLICKER_H

#include <stdbool.h>

/* Mains */

/*
 * A shutter this part of a pulse off a whole number still counts as safe: light that
 * swings like a wave down to dark then differs by less than 0.06 stop (E20).  That
 * admits the 29.97 and 59.94 frames of television, and refuses 1/125 for 1/120 and
 * 1/48 under 50 Hz.
 */
#define QS_SAFE_PULSE_PART 0.02

enum qs_mains {
    QS_MAINS_50,
    QS_MAINS_60,
    QS_MAINS
};

double
qs_mains_hz(enum qs_mains mains);

/* A shutter as people set it that is safe under its mains. */
struct qs_safe_shutter {
    enum qs_mains mains;
    int pulses;       /* that it holds */
    const char *text; /* "1/50" */
};

/* Row `index` of the table of the usual ones, fastest first for each mains; NULL after
   the last. */
const struct qs_safe_shutter *
qs_safe_shutter_row(int index);

/* Mains pulses that a shutter holds, whole or not. */
double
qs_mains_pulses(enum qs_mains mains, double exposure_s);

bool
qs_mains_safe(enum qs_mains mains, double exposure_s);

/* The safe shutters next to one, exact to the pulse; both are the whole pulses meant
   where it is safe itself. */
struct qs_safe_near {
    bool has_faster; /* false for a shutter faster than one pulse */
    double faster_s;
    double slower_s;
};

struct qs_safe_near
qs_mains_safe_near(enum qs_mains mains, double exposure_s);

/*
 * How much brighter the brightest exposure can be than the darkest, in stops, under a
 * lamp whose light swings like a wave by `depth`, 0 to 1, about its mean; 1 is dark for
 * a moment between pulses.  False where the darkest gets no light.  A dimmer that cuts
 * pieces out of the mains keeps a lamp dark for longer, which is worse: take
 * qs_pulse_swing with the pulses of qs_mains_pulses for it.
 */
bool
qs_mains_swing_stops(enum qs_mains mains, double exposure_s, double depth,
                     double *stops);

/* How many shutter angles up to 360 degrees are safe at a frame rate; may be 0. */
int
qs_safe_angles(enum qs_mains mains, double fps);

/* The angle that holds so many pulses. */
double
qs_safe_angle_deg(enum qs_mains mains, double fps, int pulses);

/* Pulse-width dimmers: full light for the share `duty` of each pulse, 0 < duty <= 1,
   and none for the rest */

/* What two exposures can differ by at most. */
struct qs_swing {
    double share;   /* largest less smallest, over the mean */
    bool has_stops; /* false where the smallest gets no light at all */
    double stops;   /* log2 of largest over smallest */
};

/* Exactly, for `pulses` > 0 per exposure, whole or not. */
struct qs_swing
qs_pulse_swing(double pulses, double duty);

/* The largest share for this many pulses when their fraction is not known, as it hardly
   ever is: min(1, (1 - duty) / duty) / pulses. */
double
qs_pulse_swing_most_share(double pulses, double duty);

/*
 * The least whole number of pulses from which on no two exposures differ by more than
 * `stops` > 0, whatever the fraction.  0 for a duty of 1, which does not pulse.
 */
double
qs_pulses_least(double duty, double stops);

#endif
