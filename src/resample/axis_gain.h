/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * axis_gain.h - what a filter does to noise along one axis, without a picture
 *
 * The autocorrelation of a filter's weights, averaged over all the places that a
 * delivered pixel has between source pixels; its power response follows from it.
 *
 * Units: source pixels; frequencies in cycles per source pixel (_cpp).
 * Threads: after qs_axis_gain_init only read.
 * Method: docs/method/filters.md, equations F4 to F6.
 */
#ifndef QS_RESAMPLE_AXIS_GAIN_H
#define QS_RESAMPLE_AXIS_GAIN_H

#include "base/status.h"
#include "resample/filter.h"

struct qs_axis_gain {
    double scale;            /* source pixels a delivered pixel spans, >= 1 */
    int lags;                /* autocorrelation[0 .. lags] */
    double *autocorrelation; /* [0] is the white-noise gain in power */
};

/*
 * Shrinking by `scale` >= 1; 1 is no filter at all, as in qs_weights_init.
 *
 *   QS_OK           clear with qs_axis_gain_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_axis_gain_init(struct qs_axis_gain *gain, enum qs_filter filter, double scale,
                  struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_axis_gain_clear(struct qs_axis_gain *gain);

/* Power response, |H|^2 averaged over places, at any frequency. */
double
qs_axis_gain_at(const struct qs_axis_gain *gain, double f_cpp);

/* How much noise, contrast and aliasing a filter leaves along one axis. */
struct qs_axis_response {
    double white_gain; /* sd out / sd in of white noise, rms over delivered pixels */
    double kept_half_nyquist; /* contrast kept at half the new Nyquist frequency */
    double kept_nyquist;      /* and at the new Nyquist frequency; rms over pixels */
    double alias_share; /* share of white noise power out that came from beyond it */
};

/*
 * The response of `filter` at reduction `scale` >= 1, averaged over all places a
 * delivered pixel can have between two source pixels.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_axis_response(enum qs_filter filter, double scale, struct qs_axis_response *out,
                 struct qs_error *err);

/* Aliased share in two dimensions from those of the two axes. */
double
qs_alias_share_2d(double share_x, double share_y);

#endif
