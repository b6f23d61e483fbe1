/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * least_squares.h - small dense problems of least squares
 *
 * Solved by Householder reflections, which keep the digits that normal equations lose.
 *
 * Threads: results depend on the arguments alone.
 * Method: docs/method/model.md, V4 (Golub 1965, from memory; tests hold it against
 * certified data).
 */
#ifndef QS_MODEL_LEAST_SQUARES_H
#define QS_MODEL_LEAST_SQUARES_H

#include <stdbool.h>

enum {
    QS_LEAST_SQUARES_MOST = 8 /* unknowns */
};

struct qs_least_squares {
    double x[QS_LEAST_SQUARES_MOST];
    /* of x, for rows whose errors have sd 1: (A^T A)^-1 */
    double covariance[QS_LEAST_SQUARES_MOST][QS_LEAST_SQUARES_MOST];
    double square; /* sum of the squares that are left */
};

/*
 * Minimises the sum of squares of a x - b: a[rows x columns] row by row, rows >=
 * columns, 1 <= columns <= QS_LEAST_SQUARES_MOST.  Weighted rows are multiplied by the
 * root of their weight beforehand.  a and b are overwritten.  False where the columns
 * are not independent.
 */
bool
qs_least_squares_solve(double *a, double *b, int rows, int columns,
                       struct qs_least_squares *out);

#endif
