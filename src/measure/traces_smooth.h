/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_smooth.h - what blotches and stripes add to covariances at every lag
 *
 * Both reach over lags that no demosaicing does; from there they are read, and told for
 * the short lags.  Part of traces_cross.h.
 *
 * Threads: depends on the arguments alone.
 * Method: docs/method/traces.md, equations T3 and T4.
 */
#ifndef QS_MEASURE_TRACES_SMOOTH_H
#define QS_MEASURE_TRACES_SMOOTH_H

#include <stdbool.h>

#include "measure/traces_cross.h"

/* The residuals of one patch, channel by channel. */
struct qs_residuals {
    const double *e[3];
    int channels;
    int width;
    int height;
    int frame_x; /* of the top left pixel */
    int frame_y;
};

/* Which pixels: every one of a step's multiples from a first one on. */
struct qs_comb {
    int x0, y0;
    int step_x, step_y;
};

struct qs_products {
    double sum[3][3];
    double pairs;
};

/* T1: adds a(p) b(p + lag) over the pixels p of a comb. */
void
qs_products_add(const struct qs_residuals *f, struct qs_lag lag,
                const struct qs_comb *comb, struct qs_products *out);

/* to += k m */
void
qs_matrix_add(double to[3][3], double k, double m[3][3]);

struct qs_smooth {
    double blotch[3][3]; /* covariance of blotches at lag 0; zeros: none */
    double bell[3];      /* at lag (x, y): times exp(-(b0 x^2 + b1 y^2 + b2 x y)) */
    /* what lines share that are -REACH to REACH apart, for lines of either parity in
       the frame: by chance lines differ in what they share with others */
    double row[2][2 * QS_CROSS_REACH + 1][3][3];
    double column[2][2 * QS_CROSS_REACH + 1][3][3];
    double slow; /* what was too faint to be told, see struct qs_cross */
};

/* Finds both; `variance` is the channels' own. */
void
qs_smooth_find(const struct qs_residuals *f, double variance[3][3],
               struct qs_smooth *out);

/* Takes them off all covariances of *cross. */
void
qs_smooth_take_off(struct qs_smooth *smooth, struct qs_cross *cross);

#endif
