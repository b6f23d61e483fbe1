/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_matrix.h - the little linear algebra that traces_sites.c needs
 *
 * Matrices are of up to 3 x 3, the upper left n x n of which counts.
 * Threads: depends on the arguments alone.
 */
#ifndef QS_MEASURE_TRACES_MATRIX_H
#define QS_MEASURE_TRACES_MATRIX_H

#include <stdbool.h>

/*
 * Cholesky: the lower triangle L with L L^T = m.  False where m is not positive, or so
 * nearly singular that its channels are one (pivot below 1e-4 of the variance).
 */
bool
qs_matrix_factor(double m[3][3], int n, double factor[3][3]);

/* out = L^-1 m L^-T for such a triangle: m in units of what was factored. */
void
qs_matrix_whiten(double factor[3][3], int n, double m[3][3], double out[3][3]);

/* Unit vector along which a symmetric m is greatest. */
void
qs_matrix_direction(double m[3][3], int n, double out[3]);

/* The greatest eigenvalue of a symmetric m; n is 1 or 3. */
double
qs_matrix_greatest(double m[3][3], int n);

/* The least. */
double
qs_matrix_least(double m[3][3], int n);

/*
 * Solves n equations in place: rows of n + 1 values, the last of which is the right
 * side and becomes the answer.  The matrix must be positive definite.
 */
void
qs_matrix_solve(double *rows, int n);

#endif
