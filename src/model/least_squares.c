/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/least_squares.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

/* What is left of a column after the others are taken off it, as a share of it, below
   which it is rounding. */
static const double INDEPENDENT = 1e-13;

enum {
    MOST = QS_LEAST_SQUARES_MOST
};

static double
column_norm(const double *a, int from, int rows, int columns, int j)
{
    double largest = 0.0, sum = 0.0;

    for (int i = from; i < rows; i++)
        largest = fmax(largest, fabs(a[(ptrdiff_t)i * columns + j]));
    if (!(largest > 0.0))
        return 0.0;
    for (int i = from; i < rows; i++) {
        double share = a[(ptrdiff_t)i * columns + j] / largest;

        sum += share * share;
    }
    return largest * sqrt(sum);
}

/* Takes a reflection given by column j (from row j on) off one column of a, or off b.
 */
static void
reflect(const double *a, int rows, int columns, int j, double head, double beta,
        double *target, ptrdiff_t step)
{
    double sum = head * target[j * step];

    for (int i = j + 1; i < rows; i++)
        sum += a[(ptrdiff_t)i * columns + j] * target[i * step];
    sum *= beta;
    target[j * step] -= sum * head;
    for (int i = j + 1; i < rows; i++)
        target[i * step] -= sum * a[(ptrdiff_t)i * columns + j];
}

/* Brings a to upper triangular form, b along with it; the diagonal goes to `diagonal`.
 */
static bool
triangulate(double *a, double *b, int rows, int columns, double *diagonal)
{
    double norms[MOST];

    for (int j = 0; j < columns; j++)
        norms[j] = column_norm(a, 0, rows, columns, j);
    for (int j = 0; j < columns; j++) {
        double *head = &a[(ptrdiff_t)j * columns + j];
        double norm = column_norm(a, j, rows, columns, j), own, beta;

        if (!(norm > INDEPENDENT * norms[j]) || !isfinite(norm))
            return false;
        diagonal[j] = *head > 0.0 ? -norm : norm;
        own = *head - diagonal[j];
        beta = -1.0 / (diagonal[j] * own);
        for (int k = j + 1; k < columns; k++)
            reflect(a, rows, columns, j, own, beta, a + k, columns);
        reflect(a, rows, columns, j, own, beta, b, 1);
    }
    return true;
}

/* Inverts the triangle R: columns of `inverse` solve R x = unit vectors. */
static void
invert(const double *a, int columns, const double *diagonal, double inverse[MOST][MOST])
{
    for (int k = 0; k < columns; k++)
        for (int i = columns - 1; i >= 0; i--) {
            double sum = i == k ? 1.0 : 0.0;

            for (int m = i + 1; m < columns; m++)
                sum -= a[(ptrdiff_t)i * columns + m] * inverse[m][k];
            inverse[i][k] = sum / diagonal[i];
        }
}

bool
qs_least_squares_solve(double *a, double *b, int rows, int columns,
                       struct qs_least_squares *out)
{
    double diagonal[MOST], inverse[MOST][MOST];

    assert(columns >= 1 && columns <= MOST && rows >= columns);
    *out = (struct qs_least_squares){.square = 0.0};
    if (!triangulate(a, b, rows, columns, diagonal))
        return false;
    invert(a, columns, diagonal, inverse);
    for (int i = 0; i < columns; i++)
        for (int k = 0; k < columns; k++) {
            out->x[i] += inverse[i][k] * b[k];
            for (int m = 0; m < columns; m++)
                out->covariance[i][k] += inverse[i][m] * inverse[k][m];
        }
    for (int i = columns; i < rows; i++)
        out->square += b[i] * b[i];
    return true;
}
