/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * matrix3.h - three by three matrices for colour
 *
 * A matrix takes a column vector: out[i] = sum over j of at[i][j] in[j].
 *
 * Threads: results depend on the arguments alone.
 * Memory: nothing is allocated.
 */
#ifndef QS_LINEAR_MATRIX3_H
#define QS_LINEAR_MATRIX3_H

#include <stdbool.h>

struct qs_matrix3 {
    double at[3][3]; /* [row][column] */
};

/* out = m in; `out` may be `in`. */
void
qs_matrix3_apply(const struct qs_matrix3 *m, const double in[3], double out[3]);

/* a b, that is: b first, then a. */
struct qs_matrix3
qs_matrix3_times(const struct qs_matrix3 *a, const struct qs_matrix3 *b);

/* Multiplies column j by scale[j]. */
void
qs_matrix3_scale_columns(struct qs_matrix3 *m, const double scale[3]);

/*
 * Inverts `m` into *out, which may be `m`.  False, with *out left alone, where
 * an element is not finite or the condition (Frobenius norm of the matrix times
 * that of its inverse) is above QS_MATRIX3_CONDITION.
 */
bool
qs_matrix3_invert(const struct qs_matrix3 *m, struct qs_matrix3 *out);

/* RGB spaces in use have conditions of 4 to 8; common practice, no source. */
#define QS_MATRIX3_CONDITION 1e4

#endif
