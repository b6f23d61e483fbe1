/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_cross.h - how the noise of r, g and b hangs together, by place in a mosaic
 *
 * Covariances between the channels of one patch over short lags, apart for the four
 * places of a 2 x 2 mosaic; less what soft blotches and stripes add to all of them,
 * which is read off lags that no demosaicing reaches.
 *
 * Units: variance of the planes; lags in pixels.
 * Threads: depends on its arguments alone.
 * Method: docs/method/traces.md, equations T1 to T4.
 */
#ifndef QS_MEASURE_TRACES_CROSS_H
#define QS_MEASURE_TRACES_CROSS_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"
#include "measure/shape.h"

enum {
    QS_CROSS_REACH = 3,     /* longest lag along either axis */
    QS_CROSS_LAGS = 25,     /* lag 0, then one of each pair +lag, -lag */
    QS_CROSS_MOST_PX = 512, /* of a larger patch, the middle is looked at */
    QS_CROSS_LEAST_PX = 32  /* patches with a shorter side are not looked at */
};

struct qs_lag {
    int x;
    int y;
};

/* Lag 0 first; the others have y > 0, or y = 0 and x > 0. */
extern const struct qs_lag qs_cross_lag[QS_CROSS_LAGS];

struct qs_cross {
    int channels; /* 1 or 3 */
    double pixels;
    double value[QS_MOSAIC][QS_CROSS_LAGS][3][3]; /* mean of a(p) b(p + lag), p at that
                                                     place of the frame's mosaic */
    double pairs[QS_MOSAIC][QS_CROSS_LAGS];
    double mean[QS_CROSS_LAGS][3][3]; /* over the places */
    double blotch; /* share of the variance, in the mixture of colours that shows it
                      most, that hangs together over several pixels and was
                      taken off; 0 where there is none */
    double blotch_second; /* the same share in the second blotchiest of three
                             independent mixtures, */
    double blotch_least;  /*   and in the third; 0 with one channel */
    double slow; /* stripes and blotches too faint in this patch to be taken off: their
                    estimated share, summed over independent mixtures; of either sign
                    by chance */
    double places; /* share of the variance that is the difference between the four
                      places' own means: near 1 in a mosaic that was never demosaiced */
    bool thirds;   /* variance repeats every 3 pixels: another kind of mosaic */
};

/*
 * Measures planes[0 .. channels - 1], all of one size, of a patch whose top left pixel
 * is (frame_x, frame_y).
 *
 *   QS_OK
 *   QS_ERR_TOO_FEW  a side is shorter than QS_CROSS_LEAST_PX
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_cross_measure(const struct qs_plane *planes, int channels, int frame_x, int frame_y,
                 struct qs_cross *out, struct qs_error *err);

#endif
