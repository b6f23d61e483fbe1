/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * repeats.h - random and fixed noise of one patch, from repeats of one scene
 *
 * n frames of the same scene: what changes from frame to frame is random noise, what
 * stays is fixed noise (or detail of the scene).  Each frame after the first gives one
 * contrast, its difference from the mean of those before, scaled so that it holds
 * random noise alone and just as much of it as one frame; the mean of all frames
 * holds the fixed noise and 1/n of the random one.
 *
 * Units: those of the plane (linear light, 1.0 = white), variances in their square.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/repeats.md, equations R1 to R12 and R30, after EMVA 1288
 * Release 4.0 (equations 18, 32 and 42) and the n-frame form of ISO 15739.
 */
#ifndef QS_MEASURE_REPEATS_H
#define QS_MEASURE_REPEATS_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"
#include "measure/noise.h"

/* R3: factor of the contrast that frame number `frame` (1, 2 ...; the first is 0)
 * gives. */
double
qs_repeats_contrast(int frame);

/* What is known of one plane: a contrast, or the mean of all frames. */
struct qs_repeats_plane {
    struct qs_noise noise;
    double row_variance; /* as qs_bands gives them: below 0 about as often as above */
    double column_variance;
    double far_variance; /* what pixels 2 and 3 px apart both ways have in common */
    double pixels;
};

/*
 * Fills all of *out but `noise`, which is left as it is, from `plane`, at least
 * QS_SHADING_MIN_PX along each side.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_repeats_bands(const struct qs_plane *plane, struct qs_repeats_plane *out,
                 struct qs_error *err);

/* Sums over the contrasts; all zero = none yet. */
struct qs_repeats_sums {
    int contrasts;
    double variance;
    double spread; /* sum of the variances of the above */
    double row_variance;
    double column_variance;
    double far_variance;
    int grains; /* contrasts that had a grain */
    double grain_px;
};

void
qs_repeats_add(struct qs_repeats_sums *sums, const struct qs_repeats_plane *contrast);

/* One part of the noise, and what rows, columns and single pixels have in it. */
struct qs_repeats_part {
    double sd;
    double sd_low; /* 95 % interval */
    double sd_high;
    double row_sd; /* 0 where the estimate of its variance is below 0 */
    double column_sd;
    double pixel_sd;
};

struct qs_repeats {
    int frames;
    double mean;
    struct qs_repeats_part total; /* of one frame: total^2 = random^2 + fixed^2 */
    struct qs_repeats_part random;
    struct qs_repeats_part fixed;
    bool textured; /* R30: what stays is soft structure, not a sensor's fixed pattern */
    bool fixed_lost;       /* the estimate of fixed^2 is below 0; fixed.sd is 0 */
    double random_freedom; /* effective degrees of freedom of random^2; 0 = no noise */
    double fixed_variance; /* the estimate of fixed^2, below 0 too */
    double fixed_se;       /* its standard error */
    bool has_grain;
    double grain_px; /* of the random part; mean over contrasts */
};

/* R4 to R9: the parts, from the mean of all frames and at least one contrast. */
void
qs_repeats_solve(const struct qs_repeats_plane *mean,
                 const struct qs_repeats_sums *sums, struct qs_repeats *out);

/* R10: sd of the noise in the mean of `count` >= 1 frames. */
double
qs_repeats_averaged(const struct qs_repeats *repeats, int count);

#endif
