/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * fall.h - noise of one patch at one delivery size through one filter
 *
 * Two ways to the same figure: predicted from how the patch's noise hangs
 * together and the filter's weights, and measured by really shrinking the patch
 * on the frame's own grid.  They check each other.
 *
 * Units: the plane's; worth in stops: 2 log2(sd at native size / sd here), stops
 * of light if the noise is photon-limited.
 * Threads: results depend on the arguments alone; call from any thread.
 * Method: docs/method/fall.md, equations D1 to D8.
 */
#ifndef QS_FALL_FALL_H
#define QS_FALL_FALL_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"
#include "measure/noise.h"
#include "resample/weights.h"

enum {
    QS_FALL_MIN_SIDE =
        QS_SHADING_MIN_PX /* least delivered pixels along a side to measure */
};

/* One filter at one size, over the whole frame (or its crop). */
struct qs_reduction {
    struct qs_weights across;
    struct qs_weights down;
    int origin_x; /* frame place of the first source pixel: the crop's corner */
    int origin_y;
    double *across_parity[2]; /* qs_weights_autocorrelation of `across`, even and odd */
    double *down_parity[2];
    double kept_half_nyquist; /* contrast kept at half the new Nyquist frequency */
    double alias_share;       /* of white noise, in two dimensions */
};

/*
 * Prepares shrinking the part `crop` of a frame to out_width x out_height, each at
 * least 1 and at most the crop's.
 *
 *   QS_OK           clear with qs_reduction_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_reduction_init(struct qs_reduction *reduction, enum qs_filter filter,
                  struct qs_box crop, int out_width, int out_height,
                  struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_reduction_clear(struct qs_reduction *reduction);

struct qs_fall_value {
    bool has_predicted; /* false where the patch is smaller than the filter's kernel, or
                           chance left no positive variance */
    double sd_predicted;
    bool has_measured; /* false where too few delivered pixels lie in the patch */
    double sd_measured;
    double sd_low;  /* 95 % interval of the sd here, about the measured one, or */
    double sd_high; /*   the predicted one where there is none */
    bool has_fall;  /* the three below: false where either sd is 0 or unknown */
    double fall_db;
    double worth_stops;
    double worth_se_stops; /* standard error of worth_stops */
};

/* A patch's pixels of one channel, with what lies evenly around it. */
struct qs_patch_view {
    struct qs_plane plane; /* the pixels there are */
    struct qs_box box;     /* the patch itself, in frame coordinates */
    struct qs_box reach;   /* the even part around it that kernels may see; holds box */
    int plane_x;           /* frame place of plane's first pixel */
    int plane_y;
};

/* Delivered pixels of `reduction` that lie in the patch and see only `reach`. */
struct qs_box
qs_fall_pixels(const struct qs_reduction *reduction, const struct qs_patch_view *view);

/*
 * Fills *out for one channel.  `noise` and `shape` are the patch's at native size;
 * `shape` must have been measured for lags of at least taps - 1 along each axis.
 * `delivered`, of the size qs_fall_pixels says, holds the shrunk patch, or is NULL
 * where that has a side below QS_FALL_MIN_SIDE.
 *
 *   QS_OK
 *   QS_ERR_MEMORY  *out is undefined
 */
QS_MUST_CHECK enum qs_status
qs_fall(const struct qs_reduction *reduction, const struct qs_noise *noise,
        const struct qs_noise_shape *shape, const struct qs_plane *delivered,
        struct qs_fall_value *out, struct qs_error *err);

#endif
