/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_drift.h - do brightness and colour stay put from frame to frame?
 *
 * Compares the means of the same patches in two frames.  Brightness ought to stay equal
 * (shutter and ISO changed against each other), or to follow what the files say
 * of exposure; the ratios of the colours ought to stay equal.
 *
 * Threads: depends on the arguments alone.
 * Method: docs/method/traces.md, equations T31 to T33.
 */
#ifndef QS_MEASURE_TRACES_DRIFT_H
#define QS_MEASURE_TRACES_DRIFT_H

#include <stdbool.h>

/* One patch in both frames; means in linear light. */
struct qs_drift_pair {
    double before[4]; /* r, g, b, y; y alone for grey */
    double after[4];
};

struct qs_drift {
    bool known;        /* false: too few pairs with light, or not the same scene */
    double stops;      /* after over before, what exposure explains taken off */
    double raw_stops;  /* the same before that */
    double red_stops;  /* change of r over g */
    double blue_stops; /* change of b over g */
    bool exposure;     /* brightness drifts */
    bool colour;       /* white balance drifts */
};

/*
 * `exposure_stops` is what shutter, aperture and ISO of the two files promise, when
 * `has_exposure`.  Brightness that stayed equal is right whatever they promise.
 */
void
qs_drift_judge(const struct qs_drift_pair *pairs, int count, bool grey,
               bool has_exposure, double exposure_stops, struct qs_drift *out);

#endif
