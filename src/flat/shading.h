/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shading.h - uneven light across a patch, fitted and taken off
 *
 * Light falls off smoothly across a patch; that is not noise.  It is described
 * by polynomials in x and y that are orthonormal on the patch's own pixels
 * (Gram polynomials), so that each one's share is a plain inner product and the
 * fit is the least-squares fit.  Second order: 1, x, y, x^2, xy, y^2.
 *
 * Threads: depends on its arguments alone.
 * Method: docs/method/noise.md, equations N1 to N3.
 */
#ifndef QS_FLAT_SHADING_H
#define QS_FLAT_SHADING_H

#include "base/plane.h"
#include "base/status.h"

enum {
    QS_SHADING_ORDERS = 3, /* polynomials along an axis: orders 0, 1, 2 */
    QS_SHADING_TERMS = 6,  /* terms of the second-order surface */
    QS_SHADING_MIN_PX = 8  /* least pixels along each side */
};

/* The terms of the surface. */
enum {
    QS_TERM_1,
    QS_TERM_X,
    QS_TERM_Y,
    QS_TERM_XX,
    QS_TERM_XY,
    QS_TERM_YY
};

/* Their orders (in x, in y). */
extern const int qs_shading_term[QS_SHADING_TERMS][2];

/* The polynomials of a patch's two axes. */
struct qs_shading_basis {
    int width;
    int height;
    double *x; /* [QS_SHADING_ORDERS][width] */
    double *y; /* [QS_SHADING_ORDERS][height] */
};

/*
 * Polynomials for a patch of this size, both sides >= QS_SHADING_MIN_PX.
 *
 *   QS_OK           clear with qs_shading_basis_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_shading_basis_init(struct qs_shading_basis *basis, int width, int height,
                      struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_shading_basis_clear(struct qs_shading_basis *basis);

/* A fitted surface: the share of each term, in units of the plane x pixels^(1/2). */
struct qs_surface {
    double share[QS_SHADING_TERMS];
};

/*
 * Fits the surface to `plane`, whose size is the basis's, and writes the plane
 * less the surface to residual[height x width].  Returns the plane's mean.
 */
double
qs_shading_remove(const struct qs_shading_basis *basis, const struct qs_plane *plane,
                  double *residual, struct qs_surface *surface);

/*
 * The surface's value at a place of the patch, which may lie outside of it, in
 * pixels from its top left pixel.
 */
double
qs_surface_at(const struct qs_shading_basis *basis, const struct qs_surface *surface,
              double x, double y);

#endif
