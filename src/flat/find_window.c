/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_window.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/memory.h"

enum {
    SURFACE_TERMS = 6,
    STRAIGHT_MAX = 12 /* cells over which uneven light is a slope at most */
};

/* The sums of one window, about the value of its first cell. */
struct sums {
    double origin;
    double square;
    double within;
    double column[QS_WINDOW_MAX];
    double row[QS_WINDOW_MAX];
    double tilted[QS_WINDOW_MAX]; /* column sums weighted by the linear term down */
};

/* Coefficients of the orthonormal surface. */
struct terms {
    double level, x, y, xx, yy, xy;
};

static double
dot(const double *a, const double *b, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum;
}

/* Takes the parts of order 0 to `order` out of a profile, in place. */
static void
flatten(const struct qs_window_basis *basis, double *profile, int order)
{
    const int n = basis->side;
    double level = 0.0, linear = dot(profile, basis->linear, n);
    double square = order < 2 ? 0.0 : dot(profile, basis->square, n);

    for (int i = 0; i < n; i++)
        level += profile[i];
    for (int i = 0; i < n; i++)
        profile[i] -= level / n + linear * basis->linear[i] + square * basis->square[i];
}

/*
 * Order of the light that may pass for even where steps are looked for.  A parabola
 * over few cells bends to a step near the rim; over so few, light is straight.
 */
static int
step_order(int side)
{
    return side <= STRAIGHT_MAX ? 1 : 2;
}

static void
init_steps(struct qs_window_basis *basis)
{
    double step[QS_WINDOW_MAX];

    for (int k = 1; k < basis->side; k++) {
        for (int i = 0; i < basis->side; i++)
            step[i] = i < k ? 1.0 : 0.0;
        flatten(basis, step, step_order(basis->side));
        basis->step[k] = 1.0 / dot(step, step, basis->side);
    }
}

void
qs_window_basis_init(struct qs_window_basis *basis, int side)
{
    double linear2 = 0.0, square2 = 0.0;

    assert(side >= QS_WINDOW_MIN && side <= QS_WINDOW_MAX);
    *basis = (struct qs_window_basis){.side = side};
    for (int i = 0; i < side; i++) {
        double x = i - 0.5 * (side - 1);

        basis->linear[i] = x;
        basis->square[i] = x * x - ((double)side * side - 1.0) / 12.0;
        linear2 += basis->linear[i] * basis->linear[i];
        square2 += basis->square[i] * basis->square[i];
    }
    for (int i = 0; i < side; i++) {
        basis->linear[i] /= sqrt(linear2);
        basis->square[i] /= sqrt(square2);
    }
    init_steps(basis);
}

double
qs_window_step_quartile(int side)
{
    static const double table[][2] = {{4, 0.52},  {6, 1.08},  {8, 1.45},  {9, 1.60},
                                      {10, 1.71}, {11, 1.82}, {12, 1.92}, {13, 2.12},
                                      {17, 2.47}, {25, 2.90}, {34, 3.22}, {66, 3.77}};
    size_t i = 0;

    while (side > table[i + 1][0])
        i++;
    return table[i][1] + (table[i + 1][1] - table[i][1]) * log(side / table[i][0]) /
                             log(table[i + 1][0] / table[i][0]);
}

static void
gather(const struct qs_cells *cells, enum qs_channel channel, size_t first,
       const struct qs_window_basis *basis, struct sums *sums)
{
    const int n = basis->side;
    double square[QS_WINDOW_MAX] = {0}, within[QS_WINDOW_MAX] = {0};

    memset(sums->column, 0, sizeof sums->column);
    memset(sums->tilted, 0, sizeof sums->tilted);
    sums->origin = cells->mean[channel][first];
    sums->square = sums->within = 0.0;
    for (int y = 0; y < n; y++) {
        size_t at = first + (size_t)y * (size_t)cells->columns;
        const float *mean = cells->mean[channel] + at;
        const float *variance = cells->variance[channel] + at;
        double row = 0.0;

        for (int x = 0; x < n; x++) {
            double value = mean[x] - sums->origin;

            row += value;
            sums->column[x] += value;
            sums->tilted[x] += value * basis->linear[y];
            square[x] += value * value;
            within[x] += variance[x];
        }
        sums->row[y] = row;
    }
    for (int x = 0; x < n; x++) {
        sums->square += square[x];
        sums->within += within[x];
    }
}

static struct terms
fit_terms(const struct qs_window_basis *basis, const struct sums *sums)
{
    const int n = basis->side;
    const double unit = 1.0 / sqrt(n);
    struct terms t = {0};

    for (int i = 0; i < n; i++)
        t.level += sums->row[i];
    t.level /= n;
    t.x = unit * dot(sums->column, basis->linear, n);
    t.xx = unit * dot(sums->column, basis->square, n);
    t.y = unit * dot(sums->row, basis->linear, n);
    t.yy = unit * dot(sums->row, basis->square, n);
    t.xy = dot(sums->tilted, basis->linear, n);
    return t;
}

/*
 * The largest squared step in a profile of row or column sums, which it flattens.  As
 * the profile then has no part of that order, its inner product with a step is a
 * running sum.
 */
static double
largest_step(const struct qs_window_basis *basis, double *profile)
{
    double sum = 0.0, largest = 0.0;

    flatten(basis, profile, step_order(basis->side));
    for (int k = 1; k < basis->side; k++) {
        double square;

        sum += profile[k - 1];
        square = sum * sum * basis->step[k];
        if (square > largest)
            largest = square;
    }
    return largest / basis->side;
}

void
qs_window_measure(const struct qs_cells *cells, enum qs_channel channel, size_t first,
                  const struct qs_window_basis *basis, struct qs_window_fit *fit)
{
    const int n = basis->side;
    const double count = (double)n * n;
    struct sums sums;
    struct terms t;
    double left, shared;

    gather(cells, channel, first, basis, &sums);
    t = fit_terms(basis, &sums);
    left = sums.square - t.level * t.level - t.x * t.x - t.y * t.y - t.xx * t.xx -
           t.yy * t.yy - t.xy * t.xy;
    fit->mean = sums.origin + t.level / n;
    fit->within = sums.within / count;
    fit->between = left > 0.0 ? left / (count - SURFACE_TERMS) : 0.0;
    fit->step_x = largest_step(basis, sums.column);
    fit->step_y = largest_step(basis, sums.row);
    flatten(basis, sums.column, 2);
    flatten(basis, sums.row, 2);
    shared = (dot(sums.column, sums.column, n) + dot(sums.row, sums.row, n)) / n;
    fit->core =
        left > shared ? (left - shared) / (count - SURFACE_TERMS - 2.0 * (n - 3)) : 0.0;
}

void
qs_window_residual(const struct qs_cells *cells, enum qs_channel channel, size_t first,
                   const struct qs_window_basis *basis, double *residual)
{
    const int n = basis->side;
    const double unit = 1.0 / sqrt(n);
    struct sums sums;
    struct terms t;

    gather(cells, channel, first, basis, &sums);
    t = fit_terms(basis, &sums);
    for (int y = 0; y < n; y++) {
        const float *mean =
            cells->mean[channel] + first + (size_t)y * (size_t)cells->columns;
        double level = sums.origin + unit * (t.level * unit + t.y * basis->linear[y] +
                                             t.yy * basis->square[y]);
        double slope = unit * t.x + t.xy * basis->linear[y];

        for (int x = 0; x < n; x++)
            residual[y * n + x] = mean[x] - level - slope * basis->linear[x] -
                                  unit * t.xx * basis->square[x];
    }
}

struct qs_window_tone
qs_window_tone_of(const struct qs_cells *cells, size_t first, int side)
{
    const enum qs_channel channel = cells->first == QS_Y ? QS_Y : QS_G;
    struct qs_window_tone tone = {0.0, 0.0};

    for (int y = 0; y < side; y++) {
        size_t row = first + (size_t)y * (size_t)cells->columns;

        for (int x = 0; x < side; x++) {
            tone.mean += cells->mean[channel][row + (size_t)x];
            tone.within += cells->variance[channel][row + (size_t)x];
        }
    }
    tone.mean /= side * side;
    tone.within /= side * side;
    return tone;
}

static unsigned char
clipped_share(const struct qs_cells *cells, size_t first, int side)
{
    int sum = 0;

    for (int y = 0; y < side; y++) {
        for (int x = 0; x < side; x++)
            sum +=
                cells->clipped[first + (size_t)y * (size_t)cells->columns + (size_t)x];
    }
    return (unsigned char)(sum / (side * side));
}

enum qs_status
qs_windows_init(struct qs_windows *windows, const struct qs_cells *cells, int step,
                const struct qs_window_basis *basis, struct qs_error *err)
{
    const int side = basis->side;
    struct qs_windows grid = {.side = side, .step = step};
    size_t count;

    *windows = (struct qs_windows){0};
    grid.columns = cells->columns < side ? 0 : (cells->columns - side) / step + 1;
    grid.rows = cells->rows < side ? 0 : (cells->rows - side) / step + 1;
    count = (size_t)grid.columns * (size_t)grid.rows;
    grid.fit = qs_alloc(count, sizeof *grid.fit);
    grid.tone = qs_alloc(count, sizeof *grid.tone);
    grid.clipped = qs_alloc(count, sizeof *grid.clipped);
    if (grid.fit == NULL || grid.tone == NULL || grid.clipped == NULL) {
        qs_windows_clear(&grid);
        return qs_fail_memory(err);
    }
    for (size_t i = 0; i < count; i++) {
        size_t first = qs_window_first(&grid, cells, i);

        qs_window_measure(cells, QS_Y, first, basis, &grid.fit[i]);
        grid.tone[i] = qs_window_tone_of(cells, first, side);
        grid.clipped[i] = clipped_share(cells, first, side);
    }
    *windows = grid;
    return QS_OK;
}

void
qs_windows_clear(struct qs_windows *windows)
{
    qs_free(windows->fit);
    qs_free(windows->tone);
    qs_free(windows->clipped);
    *windows = (struct qs_windows){0};
}
