/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/matrix3.h"

#include <math.h>

void
qs_matrix3_apply(const struct qs_matrix3 *m, const double in[3], double out[3])
{
    const double a = in[0], b = in[1], c = in[2];

    for (int i = 0; i < 3; i++)
        out[i] = m->at[i][0] * a + m->at[i][1] * b + m->at[i][2] * c;
}

struct qs_matrix3
qs_matrix3_times(const struct qs_matrix3 *a, const struct qs_matrix3 *b)
{
    struct qs_matrix3 product;

    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            product.at[i][j] = a->at[i][0] * b->at[0][j] + a->at[i][1] * b->at[1][j] +
                               a->at[i][2] * b->at[2][j];
        }
    }
    return product;
}

void
qs_matrix3_scale_columns(struct qs_matrix3 *m, const double scale[3])
{
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++)
            m->at[i][j] *= scale[j];
    }
}

/* Signed minor of element (i, j); the indices turn round, so the sign is in it. */
static double
cofactor(const struct qs_matrix3 *m, int i, int j)
{
    const int i1 = (i + 1) % 3, i2 = (i + 2) % 3;
    const int j1 = (j + 1) % 3, j2 = (j + 2) % 3;

    return m->at[i1][j1] * m->at[i2][j2] - m->at[i1][j2] * m->at[i2][j1];
}

static double
norm(const struct qs_matrix3 *m)
{
    double sum = 0.0;

    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++)
            sum += m->at[i][j] * m->at[i][j];
    }
    return sqrt(sum);
}

bool
qs_matrix3_invert(const struct qs_matrix3 *m, struct qs_matrix3 *out)
{
    struct qs_matrix3 inverse;
    double determinant = 0.0;
    double condition;

    for (int j = 0; j < 3; j++)
        determinant += m->at[0][j] * cofactor(m, 0, j);
    if (!isfinite(determinant) || determinant == 0.0)
        return false;
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++)
            inverse.at[j][i] = cofactor(m, i, j) / determinant;
    }
    condition = norm(m) * norm(&inverse);
    if (!isfinite(condition) || condition > QS_MATRIX3_CONDITION)
        return false;
    *out = inverse;
    return true;
}
