/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ways.h - the ways to close a gap of light, in the order the trade uses
 *
 * Open up, slow the shutter within what movement allows, move or add light, raise the
 * ISO, deliver smaller: each taken alone, with its number.
 *
 * Units: stops, seconds, lux, metres; f-numbers.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/plan.md, equation P10; the order is common practice, no source.
 */
#ifndef QS_PLAN_WAYS_H
#define QS_PLAN_WAYS_H

#include <stdbool.h>

enum qs_way_kind {
    QS_WAY_OPEN_UP,
    QS_WAY_SLOWER,
    QS_WAY_MORE_LIGHT,
    QS_WAY_RAISE_ISO,
    QS_WAY_SMALLER,
    QS_WAYS
};

/* "open-up", "slower-shutter", "more-light", "raise-iso", "deliver-smaller". */
const char *
qs_way_key(enum qs_way_kind kind);

struct qs_way {
    bool known;     /* false: nothing can be told; the rest is 0 */
    double value;   /* f-number, seconds, lux, ISO, or width in pixels */
    double stops;   /* gained by it, at most the gap */
    bool is_enough; /* it closes the gap alone */
    double other;   /* lux: share of a lamp's distance; ISO: SNR, or noise as
                       seen, at that ISO; width: height in pixels */
    bool has_other;
};

struct qs_ways {
    bool known; /* a gap was to be closed */
    struct qs_way way[QS_WAYS];
};

/* What the first three need. */
struct qs_gap {
    double short_stops; /* above 0 */
    double f_number;
    double exposure_s;
    double light_lx;
    double widest_f;  /* 0 = unknown */
    double longest_s; /* that movement, or the frame rate, allows; 0 = unknown */
};

/* Fills the first three ways. */
void
qs_ways_of_light(const struct qs_gap *gap, struct qs_ways *ways);

#endif
