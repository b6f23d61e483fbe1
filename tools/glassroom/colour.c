/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "colour.h"

struct gr_matrix
gr_matrix_product(const struct gr_matrix *a, const struct gr_matrix *b)
{
    struct gr_matrix out = {{{0.0}}};

    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            for (int k = 0; k < 3; k++)
                out.m[i][j] += a->m[i][k] * b->m[k][j];
    return out;
}

/* The cofactor of element (i, j); the cyclic indices carry the sign. */
static double
cofactor(const struct gr_matrix *a, int i, int j)
{
    int i1 = (i + 1) % 3, i2 = (i + 2) % 3, j1 = (j + 1) % 3, j2 = (j + 2) % 3;

    return a->m[i1][j1] * a->m[i2][j2] - a->m[i1][j2] * a->m[i2][j1];
}

struct gr_matrix
gr_matrix_inverse(const struct gr_matrix *a)
{
    struct gr_matrix out;
    double det = 0.0;

    for (int j = 0; j < 3; j++)
        det += a->m[0][j] * cofactor(a, 0, j);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            out.m[j][i] = cofactor(a, i, j) / det;
    return out;
}
