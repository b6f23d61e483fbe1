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
#include <stddef.h>

#include "measure/traces_cross.h"

enum {
    QS_RESIDUAL_PAD = 16, /* zeros on either side of each row */
    QS_PRODUCT_LAGS = 32
};

/*
 * The residuals of one patch, channel by channel.  A row has QS_RESIDUAL_PAD zeros
 * before it, and as many or up to 7 more behind it: what a lag finds there adds
 * nothing.
 */
struct qs_residuals {
    double *e[3]; /* pixel (0, 0) */
    int channels;
    int width;
    int height;
    ptrdiff_t stride;
    int frame_x; /* of the top left pixel */
    int frame_y;
};

/* Values from one row to the next where rows are `width` long. */
static inline ptrdiff_t
qs_residual_stride(int width)
{
    return (((ptrdiff_t)width + 7) & ~(ptrdiff_t)7) + 2 * QS_RESIDUAL_PAD;
}

/* Values that three such channels take. */
static inline size_t
qs_residual_room(int width, int height)
{
    return 3 * (size_t)height * (size_t)qs_residual_stride(width);
}

/* Which rows of pixels: y0, y0 + step_y ... */
struct qs_comb {
    int y0;
    int step_y;
};

struct qs_products {
    double sum[2][3][3]; /* of the even columns, of the odd ones */
    double pairs[2];
};

/*
 * T1: sums of a(p) b(p + lag) over the pixels p of a comb into out[count], for each of
 * `count` lags; a out of *f, b out of *g, which are of one size.  Lags are at most
 * QS_RESIDUAL_PAD across, and QS_PRODUCT_LAGS of them.
 */
void
qs_products_make(const struct qs_residuals *f, const struct qs_residuals *g,
                 const struct qs_lag *lags, int count, const struct qs_comb *comb,
                 struct qs_products *out);

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

/* Finds both; `variance` is the channels' own.  *room is as large as *f, its rows
 * padded with zeros too, and is written over. */
void
qs_smooth_find(const struct qs_residuals *f, double variance[3][3],
               struct qs_residuals *room, struct qs_smooth *out);

/* Takes them off all covariances of *cross. */
void
qs_smooth_take_off(struct qs_smooth *smooth, struct qs_cross *cross);

#endif
