/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Sums over the power of a patch's noise: what a filter lets through of it, how
 * uncertain that is, and what folds onto the same frequency when pixels are left out.
 */
#include "measure/shape.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* Below this share of the response, two frequencies that fold together don't matter. */
static const double FOLD_FLOOR = 1e-3;

enum {
    MOST_SHIFTS = 16
};

/* Power at a signed frequency of the grid, from the half that is stored. */
static double
power_at(const struct qs_noise_shape *shape, int i, int j)
{
    if (i < 0) {
        i = -i;
        j = -j;
    }
    j = j < 0 ? j + shape->height : j;
    return shape->power[(ptrdiff_t)j * (shape->width / 2 + 1) + i];
}

/* Signed frequencies i of n that have a partner i + shift: *from <= i < *to. */
static void
partnered(int n, int shift, int *from, int *to)
{
    *from = -(n / 2) - (shift < 0 ? shift : 0);
    *to = n - n / 2 - (shift > 0 ? shift : 0);
}

/* <G P G' P'> for one shift of the grid. */
static double
fold_mean(const struct qs_noise_shape *shape, const double *gain_x,
          const double *gain_y, int shift_x, int shift_y)
{
    int from_x, to_x, from_y, to_y;
    double sum = 0.0;

    partnered(shape->width, shift_x, &from_x, &to_x);
    partnered(shape->height, shift_y, &from_y, &to_y);
    for (int j = from_y; j < to_y; j++) {
        double gy = gain_y[abs(j)] * gain_y[abs(j + shift_y)];

        if (gy <= FOLD_FLOOR * FOLD_FLOOR)
            continue;
        for (int i = from_x; i < to_x; i++)
            sum += gy * gain_x[abs(i)] * gain_x[abs(i + shift_x)] *
                   power_at(shape, i, j) * power_at(shape, i + shift_x, j + shift_y);
    }
    return sum / ((double)shape->width * shape->height);
}

/* Whether the reduction folds any frequency i onto i + shift, response counted. */
static bool
folds(const double *gain, int n, int shift)
{
    int from, to;

    partnered(n, shift, &from, &to);
    for (int i = from; i < to; i++)
        if (gain[abs(i)] * gain[abs(i + shift)] > FOLD_FLOOR * gain[0] * gain[0])
            return true;
    return false;
}

/* The shifts >= 0 along one axis by which a reduction folds frequencies. */
static int
fold_shifts(const double *gain, int n, double scale, int shift[MOST_SHIFTS])
{
    int count = 1;

    shift[0] = 0;
    for (int m = 1; m < scale && count < MOST_SHIFTS; m++) {
        int by = (int)floor(n * m / scale + 0.5);

        if (folds(gain, n, by))
            shift[count++] = by;
    }
    return count;
}

/*
 * S9: all pairs of frequencies that fold together.  Power is even about zero, so
 * that a shift and its opposite give the same.
 */
static double
alias_mean(const struct qs_noise_shape *shape, const double *gain_x,
           const double *gain_y, double scale_x, double scale_y)
{
    int shift_x[MOST_SHIFTS], shift_y[MOST_SHIFTS];
    int count_x = fold_shifts(gain_x, shape->width, scale_x, shift_x);
    int count_y = fold_shifts(gain_y, shape->height, scale_y, shift_y);
    double sum = 0.0;

    for (int j = 0; j < count_y; j++)
        for (int i = 0; i < count_x; i++) {
            if (i == 0 && j == 0)
                continue;
            sum += 2.0 * fold_mean(shape, gain_x, gain_y, shift_x[i], shift_y[j]);
            if (i > 0 && j > 0)
                sum += 2.0 * fold_mean(shape, gain_x, gain_y, shift_x[i], -shift_y[j]);
        }
    return sum;
}

void
qs_noise_shape_sums(const struct qs_noise_shape *shape, const double *gain_x,
                    const double *gain_y, double scale_x, double scale_y,
                    struct qs_power_sums *sums)
{
    int half = shape->width / 2;
    double count = (double)shape->width * shape->height;

    *sums = (struct qs_power_sums){0};
    for (int j = 0; j < shape->height; j++) {
        const double *power = shape->power + (ptrdiff_t)j * (half + 1);
        double gy = gain_y[2 * j <= shape->height ? j : shape->height - j];

        for (int i = 0; i <= half; i++) {
            /* the stored half stands for two frequencies but at its ends */
            double times = i == 0 || 2 * i == shape->width ? 1.0 : 2.0;
            double p = power[i], g = gain_x[i] * gy;

            sums->native += times * p / count;
            sums->square += times * p * p / count;
            sums->mean += times * g * p / count;
            sums->mean_square += times * g * g * p * p / count;
            sums->mean_product += times * g * p * p / count;
        }
    }
    sums->mean_alias = alias_mean(shape, gain_x, gain_y, scale_x, scale_y);
}
