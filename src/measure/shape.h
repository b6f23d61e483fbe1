/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shape.h - how a patch's noise hangs together from pixel to pixel
 *
 * Holds the covariance of the noise over lags in x and y, apart for the four
 * places a pixel can have in a 2 x 2 mosaic (demosaiced noise repeats with it), and
 * its power at each frequency.  From these follow the noise after any filter
 * and reduction, and how uncertain every variance is.
 *
 * Units: variances in the square of the plane's unit; lags in pixels.
 * Power is normalised so that its mean over the frequency grid is the residual's mean
 * square: the variance less what was given back for the removed surface.
 * Threads: measuring is safe from any thread (FFTW plans are made under a lock);
 * a filled shape is only read.
 * Method: docs/method/spectrum.md, equations S1 to S9.
 */
#ifndef QS_MEASURE_SHAPE_H
#define QS_MEASURE_SHAPE_H

#include "base/status.h"
#include "flat/shading.h"

enum {
    QS_MOSAIC =
        4 /* places in a 2 x 2 mosaic: index = 2 (y & 1) + (x & 1) in the frame */
};

struct qs_noise_shape {
    int width; /* pixels of the patch */
    int height;
    int lags_x; /* lags run from -lags_x to lags_x */
    int lags_y;
    double *covariance[QS_MOSAIC]; /* [2 lags_y + 1][2 lags_x + 1]: mean of e(p) e(p +
                                      lag) over pixels p of that place of the mosaic,
                                      with what the removed surface took given back */
    double *power;   /* [height][width / 2 + 1], frequency (i / width, j / height) */
    double variance; /* with the removed surface's part given back */
    double removed;  /* noise power the removed surface took along, summed over its
                        terms: variance = (sum of squares + removed) / pixels */
    double removed_square; /* sum of the squares of the same, term by term */
    double removed_term[QS_SHADING_TERMS]; /* and the terms themselves */
};

/*
 * Measures residual[height x width], a patch less its surface, for lags up to
 * lags_x and lags_y (each is cut to one less than the patch's side).
 * (frame_x, frame_y) is the patch's top left pixel in the frame.  What the surface took
 * is still to be given back.
 *
 *   QS_OK           clear with qs_noise_shape_clear
 *   QS_ERR_MEMORY   *shape is empty
 */
QS_MUST_CHECK enum qs_status
qs_noise_shape_measure(const struct qs_shading_basis *basis, const double *residual,
                       int frame_x, int frame_y, int lags_x, int lags_y,
                       struct qs_noise_shape *shape, struct qs_error *err);

/*
 * Gives covariance and variance back the noise power removed[t] that the surface's term
 * t took along; once for each measured shape.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_noise_shape_give_back(const struct qs_shading_basis *basis,
                         const double removed[QS_SHADING_TERMS],
                         struct qs_noise_shape *shape, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_noise_shape_clear(struct qs_noise_shape *shape);

/*
 * Means over the whole frequency grid of power P and of a power response G, which is
 * gain_x[0 .. width / 2] times gain_y[0 .. height / 2], symmetric about zero.
 */
struct qs_power_sums {
    double native;       /* <P> */
    double square;       /* <P^2> */
    double mean;         /* <G P> */
    double mean_square;  /* <G^2 P^2> */
    double mean_product; /* <G P^2> */
    double mean_alias;   /* sum over shifts of <G P G' P'>, P' and G' being those of a
                            frequency that a reduction folds onto the same one */
};

/*
 * `scale_x` and `scale_y` are the reductions, >= 1, along the axes.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_noise_shape_sums(const struct qs_noise_shape *shape, const double *gain_x,
                    const double *gain_y, double scale_x, double scale_y,
                    struct qs_power_sums *sums, struct qs_error *err);

#endif
