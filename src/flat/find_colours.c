/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_colours.h"

#include <assert.h>
#include <math.h>

enum {
    WINDOWS_MAX = 128, /* measured; 0.13 / sqrt(128) = 0.01 is good enough */
    SIDE_MAX = 8,      /* of a grid's windows, in cells */
    CELLS_MAX = SIDE_MAX * SIDE_MAX
};

/*
 * What is alike is detail, as a share of the variance: 0.1 inside the cells is 5 % of
 * an sd.
 */
static const double BETWEEN_MAX = 0.2;
static const double WITHIN_MAX = 0.1;

/*
 * Demosaicing by gradients makes noise alike too: 0.45 to 0.83 inside the cells, with
 * and without a colour matrix, but from cell to cell at most 0.39 of that (greys and
 * green simulated).  Detail is more alike from cell to cell than inside cells, since
 * there is less noise in a cell's mean.
 */
static const double WITHIN_GRADIENT = 0.4;
static const double SHARE_GRADIENT = 0.45;

struct sums {
    double alike[3];            /* r with g, g with b, b with r */
    double square[3][3];        /* sums of products of r, g and b's residuals, */
    double luminance[3];        /* and of theirs with y's */
    double inside[QS_CHANNELS]; /* variances inside the cells, y = 1 */
};

/* Solves the symmetric a x = b in place; false where it is all but singular. */
static bool
solve3(double a[3][3], double b[3])
{
    for (int i = 0; i < 3; i++) {
        if (!(a[i][i] > 0.0))
            return false;
        for (int j = i + 1; j < 3; j++) {
            double before = a[j][j], f = a[j][i] / a[i][i];

            for (int k = i; k < 3; k++)
                a[j][k] -= f * a[i][k];
            b[j] -= f * b[i];
            if (j == i + 1 && !(a[j][j] > 1e-6 * before))
                return false;
        }
    }
    for (int i = 2; i >= 0; i--) {
        for (int k = i + 1; k < 3; k++)
            b[i] -= a[i][k] * b[k];
        b[i] /= a[i][i];
    }
    return true;
}

static double
product(const double *a, const double *b, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum / count;
}

static double
mean_variance(const struct qs_cells *cells, enum qs_channel channel, size_t first,
              int side)
{
    double sum = 0.0;

    for (int i = 0; i < side * side; i++)
        sum += cells->variance[channel][first +
                                        (size_t)(i / side) * (size_t)cells->columns +
                                        (size_t)(i % side)];
    return sum / (side * side);
}

/* What r, g and b have in common in one window, in its cell means and inside cells. */
static void
add_window(struct sums *sums, const struct qs_cells *cells, size_t first,
           const struct qs_window_basis *basis, double within)
{
    const int side = basis->side, count = side * side;
    double residual[QS_CHANNELS][CELLS_MAX], square[3][3];

    for (int c = 0; c < QS_CHANNELS; c++) {
        qs_window_residual(cells, (enum qs_channel)c, first, basis, residual[c]);
        sums->inside[c] +=
            mean_variance(cells, (enum qs_channel)c, first, side) / within;
    }
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            square[i][j] = product(residual[i], residual[j], count);
            sums->square[i][j] += square[i][j] / within;
        }
        sums->luminance[i] += product(residual[i], residual[QS_Y], count) / within;
    }
    for (int c = 0; c < 3; c++) {
        int next = (c + 1) % 3;
        double unit = sqrt(square[c][c] * square[next][next]);

        sums->alike[c] += unit > 0.0 ? square[c][next] / unit : 1.0;
    }
}

/*
 * Correlation of r, g and b inside the cells, from how far y's variance is above the
 * sum of theirs.  Their weights in y follow from the residuals, of which y's is the
 * weighted sum exactly.  1 where two of them are the same.
 */
static double
correlation_within(struct sums *sums, size_t used)
{
    double own = 0.0, shared = 0.0, v[QS_CHANNELS], *weight = sums->luminance;

    if (!solve3(sums->square, weight))
        return 1.0;
    for (int c = 0; c < QS_CHANNELS; c++)
        v[c] = sums->inside[c] / (double)used;
    for (int i = 0; i < 3; i++) {
        own += weight[i] * weight[i] * v[i];
        for (int j = 0; j < i; j++)
            shared += 2.0 * weight[i] * weight[j] * sqrt(v[i] * v[j]);
    }
    return shared > 0.0 ? (v[QS_Y] - own) / shared : 1.0;
}

void
qs_colours_measure(struct qs_colours *colours, const struct qs_windows *windows,
                   const struct qs_cells *cells, const struct qs_window_basis *basis,
                   const size_t *list, size_t count)
{
    const size_t used = count < WINDOWS_MAX ? count : WINDOWS_MAX;
    struct sums sums = {.inside = {0.0}};

    assert(cells->first == QS_R && windows->side <= SIDE_MAX && count >= 1);
    for (size_t i = 0; i < used; i++) {
        size_t index = list[i * count / used];

        add_window(&sums, cells, qs_window_first(windows, cells, index), basis,
                   windows->fit[index].within);
    }
    colours->between =
        fmax(fmax(sums.alike[0], sums.alike[1]), sums.alike[2]) / (double)used;
    colours->within = correlation_within(&sums, used);
}

bool
qs_colours_are_own(const struct qs_colours *colours)
{
    if (colours->within > WITHIN_GRADIENT)
        return colours->between < SHARE_GRADIENT * colours->within;
    return colours->within < WITHIN_MAX && colours->between < BETWEEN_MAX;
}
