/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_matrix.h"

#include <math.h>

bool
qs_matrix_factor(double m[3][3], int n, double factor[3][3])
{
    for (int i = 0; i < n; i++)
        for (int k = 0; k <= i; k++) {
            double sum = m[i][k];

            for (int j = 0; j < k; j++)
                sum -= factor[i][j] * factor[k][j];
            if (k < i) {
                factor[i][k] = sum / factor[k][k];
                continue;
            }
            if (!(sum > 1e-4 * m[i][i]) || !isfinite(sum))
                return false;
            factor[i][i] = sqrt(sum);
        }
    return true;
}

/* out = L^-1 m. */
static void
forward(double factor[3][3], int n, double m[3][3], double out[3][3])
{
    for (int c = 0; c < n; c++)
        for (int i = 0; i < n; i++) {
            double sum = m[i][c];

            for (int j = 0; j < i; j++)
                sum -= factor[i][j] * out[j][c];
            out[i][c] = sum / factor[i][i];
        }
}

static void
turn(double m[3][3])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < i; k++) {
            double kept = m[i][k];

            m[i][k] = m[k][i];
            m[k][i] = kept;
        }
}

void
qs_matrix_whiten(double factor[3][3], int n, double m[3][3], double out[3][3])
{
    double half[3][3] = {{0.0}};

    forward(factor, n, m, half);
    turn(half);
    forward(factor, n, half, out);
    turn(out);
}

/*
 * Eigenvalues of a symmetric 3 x 3 matrix in closed form: with q the mean of the
 * diagonal and p^2 the mean square of m - q I over its six free entries, the greatest
 * is q + 2 p cos(acos(det((m - q I) / p) / 2) / 3) (textbook algebra).
 */
double
qs_matrix_greatest(double m[3][3], int n)
{
    double q, p = 0.0, b[3][3], det;

    if (n == 1)
        return m[0][0];
    q = (m[0][0] + m[1][1] + m[2][2]) / 3.0;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            b[i][k] = m[i][k] - (i == k ? q : 0.0);
            p += b[i][k] * b[i][k] / 6.0;
        }
    p = sqrt(p);
    if (p <= 0.0)
        return q;
    det = b[0][0] * (b[1][1] * b[2][2] - b[1][2] * b[2][1]) -
          b[0][1] * (b[1][0] * b[2][2] - b[1][2] * b[2][0]) +
          b[0][2] * (b[1][0] * b[2][1] - b[1][1] * b[2][0]);
    return q +
           2.0 * p * cos(acos(fmin(fmax(det / (2.0 * p * p * p), -1.0), 1.0)) / 3.0);
}

double
qs_matrix_least(double m[3][3], int n)
{
    double turned[3][3];

    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            turned[i][k] = -m[i][k];
    return -qs_matrix_greatest(turned, n);
}

/*
 * Powers of m plus a multiple of 1, which makes the greatest eigenvalue greatest in
 * size too.
 */
void
qs_matrix_direction(double m[3][3], int n, double out[3])
{
    double lift = 0.0;

    for (int i = 0; i < n; i++)
        for (int k = 0; k < n; k++)
            lift += fabs(m[i][k]);
    for (int i = 0; i < n; i++)
        out[i] = 1.0 + 0.01 * i; /* no direction that is likely to be the least */
    for (int round = 0; round < 60; round++) {
        double next[3] = {0.0}, size = 0.0;

        for (int i = 0; i < n; i++) {
            for (int k = 0; k < n; k++)
                next[i] += m[i][k] * out[k];
            next[i] += lift * out[i];
            size += next[i] * next[i];
        }
        for (int i = 0; i < n; i++)
            out[i] = size > 0.0 ? next[i] / sqrt(size) : out[i];
    }
}

static void
add_row(double *to, const double *from, double share, int count)
{
    for (int k = 0; k < count; k++)
        to[k] += share * from[k];
}

void
qs_matrix_solve(double *rows, int n)
{
    int width = n + 1;

    for (int i = 0; i < n; i++) {
        double pivot = rows[i * width + i];

        for (int k = 0; k < width; k++)
            rows[i * width + k] /= pivot;
        for (int j = 0; j < n; j++)
            if (j != i)
                add_row(rows + j * width, rows + i * width, -rows[j * width + i],
                        width);
    }
}
