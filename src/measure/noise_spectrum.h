/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * noise_spectrum.h - the noise's power over frequency, kept in few numbers
 *
 * Power density is kept at a few frequencies along each axis, the nodes, and runs
 * straight (bilinearly) between them; that is enough to tell the noise after any
 * filter and reduction down to a tenth.  What whole rows and whole columns share
 * lies on the axes alone and is kept apart.
 *
 * Units: frequencies in cycles per pixel of the stored frame (_cpp), densities in
 * variance per (cycle per pixel)^2, or per cycle per pixel for rows and columns; so the
 * integral over |u|, |v| <= 0.5 is a variance, and white noise has its variance
 * everywhere. Densities are even in u and in v; by chance a node may lie a little below
 * 0. Threads: results depend on the arguments alone. Method: docs/method/spectrum.md,
 * equations S13 to S17.
 */
#ifndef QS_MEASURE_NOISE_SPECTRUM_H
#define QS_MEASURE_NOISE_SPECTRUM_H

#include "base/status.h"
#include "measure/shape.h"

enum {
    QS_SPECTRUM_NODES = 11
};

/* The nodes, from 0 to 0.5 cycles per pixel. */
extern const double qs_spectrum_cpp[QS_SPECTRUM_NODES];

struct qs_spectrum {
    double pixel[QS_SPECTRUM_NODES][QS_SPECTRUM_NODES]; /* [v, down][u, across] */
    double row[QS_SPECTRUM_NODES];                      /* shared by rows, over v */
    double column[QS_SPECTRUM_NODES];                   /* shared by columns, over u */
};

/*
 * The spectrum of a patch whose noise has this shape.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_spectrum_measure(const struct qs_noise_shape *shape, struct qs_spectrum *out,
                    struct qs_error *err);

/*
 * A power response along one axis, as the nodes see it: at[k] is the integral over
 * |f| <= 0.5 of the response times the function that is 1 at node k, falls straight to
 * 0 at the nodes beside it and is 0 beyond.
 */
struct qs_node_weights {
    double at[QS_SPECTRUM_NODES];
    double zero; /* the response at frequency 0 */
};

/*
 * Of the response a[0] + 2 sum a[d] cos(2 pi f d), d from 1 to lags: that of a filter
 * whose weights have the autocorrelation a.  lags = 0, a[0] = 1: no filter.
 */
void
qs_node_weights_fill(const double *a, int lags, struct qs_node_weights *out);

/* into = keep x into + factor x other, number by number. */
void
qs_spectrum_mix(struct qs_spectrum *into, double keep, const struct qs_spectrum *other,
                double factor);

/* S17: what responses along both axes leave of the variance. */
double
qs_spectrum_variance(const struct qs_spectrum *spectrum,
                     const struct qs_node_weights *across,
                     const struct qs_node_weights *down);

/* Density of the pixels' own part at (u, v), each within -0.5 to 0.5. */
double
qs_spectrum_at(const struct qs_spectrum *spectrum, double u_cpp, double v_cpp);

/* Density of what rows (or columns) share at f, within -0.5 to 0.5; `nodes` is
   spectrum->row or spectrum->column. */
double
qs_spectrum_line_at(const double nodes[QS_SPECTRUM_NODES], double f_cpp);

#endif
