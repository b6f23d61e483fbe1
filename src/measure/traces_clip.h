/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_clip.h - what clipping does to a mean and an sd, and where values pile up
 *
 * Units: those of the plane.  Threads: depends on the arguments alone.
 * Method: docs/method/traces.md, equations T20 to T23.
 */
#ifndef QS_MEASURE_TRACES_CLIP_H
#define QS_MEASURE_TRACES_CLIP_H

#include <stdbool.h>

#include "base/plane.h"

/* Mean and sd of a normal distribution cut to [low, high]; infinite ends are allowed.
 */
void
qs_clipped_normal(double mean, double sd, double low, double high, double *cut_mean,
                  double *cut_sd);

/* What clipping one end of normal noise leaves, from the share that sits there. */
struct qs_clip_effect {
    double sd_kept;    /* sd as measured / true sd: below 1 */
    double mean_shift; /* towards the middle of the range, in true sd */
};

/* `share` in (0, 1). */
struct qs_clip_effect
qs_clip_effect(double share);

/* A value that pixels pile up at, at the top of what a patch holds. */
struct qs_pile {
    bool seen;
    double value;
    double share; /* of the patch's pixels */
};

/*
 * Looks for a pile-up at the highest value of the plane: highlights that a converter
 * cuts below the top of the code range, as where white balance ends.
 */
void
qs_pile_look(const struct qs_plane *plane, struct qs_pile *out);

#endif
