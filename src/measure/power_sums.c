/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Sums over the power of a patch's noise: what a filter lets through of it, how
 * uncertain that is, and what folds onto the same frequency when pixels are left out.
 */
#include "measure/shape.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/lanes.h"
#include "base/memory.h"

/* Below this share of the response, two frequencies that fold together don't matter. */
static const double FOLD_FLOOR = 1e-3;

enum {
    MOST_SHIFTS = 16
};

/* Signed frequencies i of n that have a partner i + shift: *from <= i < *to. */
static void
partnered(int n, int shift, int *from, int *to)
{
    *from = -(n / 2) - (shift < 0 ? shift : 0);
    *to = n - n / 2 - (shift > 0 ? shift : 0);
}

/* One response along each axis, and room for two rows of all signed frequencies. */
struct folding {
    const struct qs_noise_shape *shape;
    const double *gain_x;
    const double *gain_y;
    double *row;
    double *partner;
};

/* Gain along x times power of row j: [i + width / 2] for each signed frequency i. */
QS_CLONES static void
weigh_row(const struct qs_noise_shape *shape, const double *gain, int j, double *out)
{
    const int half = shape->width / 2, height = shape->height;
    const double *up = shape->power + (ptrdiff_t)(j < 0 ? j + height : j) * (half + 1);
    const double *down =
        shape->power + (ptrdiff_t)(j > 0 ? height - j : -j) * (half + 1);

    for (int i = 0; i < shape->width - half; i++)
        out[half + i] = gain[i] * up[i];
    for (int i = 1; i <= half; i++)
        out[half - i] = gain[i] * down[i];
}

/* Sum over one row, and the one shifted down, of G P G' P' but for the gains down. */
static double
fold_row(const struct folding *now, const double *partner, int shift_x)
{
    const int width = now->shape->width;
    int from, to;

    partnered(width, shift_x, &from, &to);
    return qs_dot(now->row + width / 2 + from, partner + width / 2 + from + shift_x,
                  to - from);
}

/*
 * <G P G' P'> summed over the shifts across, all but the first (0, 0); power is even
 * about zero, so that opposite shifts give the same: shifts down are positive, those
 * across both.
 */
static double
fold_mean(const struct folding *now, const int *shift_x, int count_x, int shift_y)
{
    const int height = now->shape->height;
    int from, to;
    double sum = 0.0;

    partnered(height, shift_y, &from, &to);
    for (int j = from; j < to; j++) {
        double gy = now->gain_y[abs(j)] * now->gain_y[abs(j + shift_y)], row = 0.0;
        const double *partner = shift_y > 0 ? now->partner : now->row;

        if (gy <= FOLD_FLOOR * FOLD_FLOOR)
            continue;
        weigh_row(now->shape, now->gain_x, j, now->row);
        if (shift_y > 0)
            weigh_row(now->shape, now->gain_x, j + shift_y, now->partner);
        for (int i = shift_y > 0 ? 0 : 1; i < count_x; i++) {
            row += fold_row(now, partner, shift_x[i]);
            if (i > 0 && shift_y > 0)
                row += fold_row(now, partner, -shift_x[i]);
        }
        sum += gy * row;
    }
    return sum / ((double)now->shape->width * height);
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

/* S9: all pairs of frequencies that fold together; opposite shifts are counted once. */
static double
alias_mean(const struct folding *now, double scale_x, double scale_y)
{
    int shift_x[MOST_SHIFTS], shift_y[MOST_SHIFTS];
    int count_x = fold_shifts(now->gain_x, now->shape->width, scale_x, shift_x);
    int count_y = fold_shifts(now->gain_y, now->shape->height, scale_y, shift_y);
    double sum = 0.0;

    for (int j = 0; j < count_y; j++)
        if (j > 0 || count_x > 1)
            sum += 2.0 * fold_mean(now, shift_x, count_x, shift_y[j]);
    return sum;
}

/* Sums over one row of power, weighted by how often a frequency counts, and by gain. */
struct row_sums {
    double native, square, mean, mean_square, mean_product;
};

/* `times` and `gain` go on with zeros to the next multiple of 8. */
QS_CLONES static void
sum_row(const double *power, const double *times, const double *gain, int count,
        struct row_sums *out)
{
    qs_lanes native = {0.0}, square = native, mean = native, mean_square = native,
             mean_product = native;
    double last[8] = {0.0};

    for (int i = 0; i < count; i += 8) {
        const double *from = power + i;
        qs_lanes p, t, g, gp;

        if (i + 8 > count) {
            memcpy(last, from, (size_t)(count - i) * sizeof *last);
            from = last;
        }
        memcpy(&p, from, sizeof p);
        memcpy(&t, times + i, sizeof t);
        memcpy(&g, gain + i, sizeof g);
        gp = g * p;
        t = t * p;
        native += t;
        square += t * p;
        mean += t * g;
        mean_square += t * g * gp;
        mean_product += t * gp;
    }
    out->native = qs_lanes_total(&native);
    out->square = qs_lanes_total(&square);
    out->mean = qs_lanes_total(&mean);
    out->mean_square = qs_lanes_total(&mean_square);
    out->mean_product = qs_lanes_total(&mean_product);
}

static void
add_row(const struct row_sums *row, double gain, double count,
        struct qs_power_sums *sums)
{
    sums->native += row->native / count;
    sums->square += row->square / count;
    sums->mean += gain * row->mean / count;
    sums->mean_square += gain * gain * row->mean_square / count;
    sums->mean_product += gain * row->mean_product / count;
}

/* The stored half stands for two frequencies but at its ends. */
static void
fill_times(int width, double *times)
{
    for (int i = 0; i <= width / 2; i++)
        times[i] = i == 0 || 2 * i == width ? 1.0 : 2.0;
}

enum qs_status
qs_noise_shape_sums(const struct qs_noise_shape *shape, const double *gain_x,
                    const double *gain_y, double scale_x, double scale_y,
                    struct qs_power_sums *sums, struct qs_error *err)
{
    const int bins = shape->width / 2 + 1;
    const size_t room = ((size_t)shape->width + 15) & ~(size_t)7;
    double *times = qs_alloc(room, sizeof *times), *gain = qs_alloc(room, sizeof *gain);
    /* the rows are summed before any is folded: one room does for both */
    const struct folding folding = {shape, gain_x, gain_y, times, gain};

    *sums = (struct qs_power_sums){0};
    if (times == NULL || gain == NULL) {
        qs_free(times);
        qs_free(gain);
        return qs_fail_memory(err);
    }
    fill_times(shape->width, times);
    memcpy(gain, gain_x, (size_t)bins * sizeof *gain);
    for (int j = 0; j < shape->height; j++) {
        struct row_sums row;

        sum_row(shape->power + (ptrdiff_t)j * bins, times, gain, bins, &row);
        add_row(&row, gain_y[2 * j <= shape->height ? j : shape->height - j],
                (double)shape->width * shape->height, sums);
    }
    sums->mean_alias = alias_mean(&folding, scale_x, scale_y);
    qs_free(times);
    qs_free(gain);
    return QS_OK;
}
