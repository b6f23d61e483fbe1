/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_smooth.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "measure/traces_matrix.h"

/* Lags beyond the reach of 5 x 5 demosaicing, off the axes. */
static const struct qs_lag far_lag[] = {
    {4, 3}, {-4, 3}, {3, 4}, {-3, 4}, {5, 2}, {-5, 2}, {2, 5}, {-2, 5}, {5, 5}, {-5, 5},
    {4, 6}, {-4, 6}, {6, 4}, {-6, 4}, {7, 2}, {-7, 2}, {2, 7}, {-2, 7}, {7, 5}, {-7, 5},
    {5, 7}, {-5, 7}, {8, 3}, {-8, 3}, {3, 8}, {-3, 8}, {6, 7}, {-6, 7},
};

enum {
    FAR_LAGS = sizeof far_lag / sizeof far_lag[0],
    AXIS_FROM = 5, /* lags along an axis that show stripes */
    AXIS_TO = 9
};

/*
 * Blotches are wider than a Gaussian of 2.5 px behind them, xx = 1 / (4 sd^2): what
 * hangs together more closely is what noise reduction leaves.
 */
static const double NARROWEST = 0.04;

/*
 * Blotches and stripes are taken off where they are surer than this many sd of
 * white noise; noise that hangs together is up to 4 times as unsure.
 */
static const double SURE_BLOTCH = 8.0;
static const double SURE_STRIPE = 8.0;

/* The first of `from`, from + step ... that leaves room for a lag below zero. */
static int
first_place(int from, int step, int lag)
{
    while (from + lag < 0)
        from += step;
    return from;
}

/* Four sums side by side: none waits for the one before. */
static double
dot(const double *a, const double *b, int from, int to, int step)
{
    double sum[4] = {0.0};
    int x = from;

    for (; x + 3 * step < to; x += 4 * step)
        for (int k = 0; k < 4; k++)
            sum[k] += a[x + k * step] * b[x + k * step];
    for (; x < to; x += step)
        sum[0] += a[x] * b[x];
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

void
qs_products_add(const struct qs_residuals *f, struct qs_lag lag,
                const struct qs_comb *comb, struct qs_products *out)
{
    int x0 = first_place(comb->x0, comb->step_x, lag.x);
    int y0 = first_place(comb->y0, comb->step_y, lag.y);
    int to_x = f->width - (lag.x > 0 ? lag.x : 0);
    int to_y = f->height - (lag.y > 0 ? lag.y : 0);

    for (int y = y0; y < to_y; y += comb->step_y) {
        ptrdiff_t at = (ptrdiff_t)y * f->width;
        ptrdiff_t there = at + (ptrdiff_t)lag.y * f->width + lag.x;

        for (int a = 0; a < f->channels; a++)
            for (int b = 0; b < f->channels; b++) {
                out->sum[a][b] +=
                    dot(f->e[a] + at, f->e[b] + there, x0, to_x, comb->step_x);
            }
        out->pairs += x0 < to_x ? (to_x - 1 - x0) / comb->step_x + 1 : 0;
    }
}

/* Covariance over all places at one far lag, made symmetric: -lag counts as well. */
static void
measure_far(const struct qs_residuals *f, struct qs_lag lag, double out[3][3])
{
    static const struct qs_comb all = {0, 0, 1, 1};
    struct qs_products made = {.pairs = 0.0};

    qs_products_add(f, lag, &all, &made);
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            out[a][b] = 0.5 * (made.sum[a][b] + made.sum[b][a]) / made.pairs;
}

/* Covariance of blotches at a lag, over that at lag 0. */
static double
bell_at(const double bell[3], struct qs_lag lag)
{
    return exp(
        -(bell[0] * lag.x * lag.x + bell[1] * lag.y * lag.y + bell[2] * lag.x * lag.y));
}

/*
 * T3: the bell that the far lags follow: ln of covariance against x^2, y^2 and xy,
 * each lag weighted by its covariance's square, as its logarithm's sd asks.
 */
static void
fit_bell(const double seen[FAR_LAGS], double mean, double bell[3])
{
    double rows[4][5] = {{0.0}};

    for (int l = 0; l < FAR_LAGS; l++) {
        struct qs_lag lag = far_lag[l];
        double term[5] = {1.0, (double)lag.x * lag.x, (double)lag.y * lag.y,
                          (double)lag.x * lag.y, 0.0};

        if (seen[l] < 0.1 * mean)
            continue;
        term[4] = log(seen[l] / mean);
        for (int i = 0; i < 4; i++)
            for (int k = 0; k < 5; k++)
                rows[i][k] += seen[l] * seen[l] * term[i] * term[k];
    }
    for (int i = 0; i < 4; i++)
        rows[i][i] *= 1.0 + 1e-9;
    qs_matrix_solve(&rows[0][0], 4);
    bell[0] = fmax(-rows[1][4], 0.0);
    bell[1] = fmax(-rows[2][4], 0.0);
    /* a bell and no saddle */
    bell[2] = fmin(fmax(-rows[3][4], -2.0 * sqrt(bell[0] * bell[1])),
                   2.0 * sqrt(bell[0] * bell[1]));
}

void
qs_matrix_add(double to[3][3], double k, double m[3][3])
{
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            to[a][b] += k * m[a][b];
}

/* The far lags of the mixture of colours that is blotchiest, over its variance. */
static void
blotchiest(double all[FAR_LAGS][3][3], double variance[3][3], int n,
           double seen[FAR_LAGS])
{
    double mean[3][3] = {{0.0}}, factor[3][3], white[3][3], mix[3] = {1.0, 1.0, 1.0};

    memset(seen, 0, FAR_LAGS * sizeof *seen);
    if (!qs_matrix_factor(variance, n, factor)) {
        n = 1; /* one channel says it all */
        if (!qs_matrix_factor(variance, 1, factor))
            return;
    }
    for (int l = 0; l < FAR_LAGS; l++)
        qs_matrix_add(mean, 1.0 / FAR_LAGS, all[l]);
    qs_matrix_whiten(factor, n, mean, white);
    qs_matrix_direction(white, n, mix);
    for (int l = 0; l < FAR_LAGS; l++) {
        qs_matrix_whiten(factor, n, all[l], white);
        for (int a = 0; a < n; a++)
            for (int b = 0; b < n; b++)
                seen[l] += mix[a] * white[a][b] * mix[b];
    }
}

static void
find_blotches(const struct qs_residuals *f, double variance[3][3],
              struct qs_smooth *smooth)
{
    double all[FAR_LAGS][3][3], seen[FAR_LAGS], mean = 0.0, gg = 0.0;
    double doubt = SURE_BLOTCH / sqrt((double)f->width * f->height * FAR_LAGS);

    for (int l = 0; l < FAR_LAGS; l++)
        measure_far(f, far_lag[l], all[l]);
    blotchiest(all, variance, f->channels, seen);
    for (int l = 0; l < FAR_LAGS; l++)
        mean += seen[l] / FAR_LAGS;
    if (mean < doubt || mean < 0.005) {
        smooth->slow += mean;
        return;
    }
    fit_bell(seen, mean, smooth->bell);
    if (0.5 * (smooth->bell[0] + smooth->bell[1]) > NARROWEST)
        return;
    for (int l = 0; l < FAR_LAGS; l++) {
        double g = bell_at(smooth->bell, far_lag[l]);

        gg += g * g;
        qs_matrix_add(smooth->blotch, g, all[l]);
    }
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            smooth->blotch[a][b] /= gg;
}

/* Mean over far lags along lines, of one parity or (2) both, with lines `apart`. */
static void
shared_by_lines(const struct qs_residuals *f, const struct qs_smooth *smooth, bool rows,
                int parity, int apart, double out[3][3])
{
    struct qs_comb comb = {0, 0, 1, 1};
    struct qs_products made = {.pairs = 0.0};
    double level = 0.0, count = 2.0 * (AXIS_TO - AXIS_FROM + 1);

    if (parity < 2 && rows) {
        comb.y0 = (parity ^ f->frame_y) & 1;
        comb.step_y = 2;
    } else if (parity < 2) {
        comb.x0 = (parity ^ f->frame_x) & 1;
        comb.step_x = 2;
    }
    for (int d = AXIS_FROM; d <= AXIS_TO; d++)
        for (int side = -1; side <= 1; side += 2) {
            struct qs_lag lag = {rows ? side * d : apart, rows ? apart : side * d};

            qs_products_add(f, lag, &comb, &made);
            level += bell_at(smooth->bell, lag) / count;
        }
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            out[a][b] = made.sum[a][b] / made.pairs - level * smooth->blotch[a][b];
}

/* Stripes, where there are any. */
static void
find_stripes(const struct qs_residuals *f, double variance[3][3],
             struct qs_smooth *smooth, bool rows,
             double out[2][2 * QS_CROSS_REACH + 1][3][3])
{
    double count = AXIS_TO - AXIS_FROM + 1, own[3][3], factor[3][3], white[3][3];
    int n = f->channels;

    shared_by_lines(f, smooth, rows, 2, 0, own);
    if (!qs_matrix_factor(variance, n, factor)) {
        n = 1; /* one channel says it all */
        if (!qs_matrix_factor(variance, n, factor))
            return;
    }
    qs_matrix_whiten(factor, n, own, white);
    if (qs_matrix_greatest(white, n) <
        SURE_STRIPE / sqrt((double)f->width * f->height * count)) {
        for (int c = 0; c < n; c++)
            smooth->slow += white[c][c];
        return;
    }
    for (int parity = 0; parity < 2; parity++)
        for (int k = 0; k <= 2 * QS_CROSS_REACH; k++)
            shared_by_lines(f, smooth, rows, parity, k - QS_CROSS_REACH,
                            out[parity][k]);
}

void
qs_smooth_find(const struct qs_residuals *f, double variance[3][3],
               struct qs_smooth *out)
{
    memset(out, 0, sizeof *out);
    find_blotches(f, variance, out);
    find_stripes(f, variance, out, true, out->row);
    find_stripes(f, variance, out, false, out->column);
}

/* T4: takes the smooth parts off every covariance. */
void
qs_smooth_take_off(struct qs_smooth *smooth, struct qs_cross *cross)
{
    for (int l = 0; l < QS_CROSS_LAGS; l++)
        for (int place = 0; place < QS_MOSAIC; place++) {
            struct qs_lag lag = qs_cross_lag[l];

            qs_matrix_add(cross->value[place][l], -bell_at(smooth->bell, lag),
                          smooth->blotch);
            qs_matrix_add(cross->value[place][l], -1.0,
                          smooth->row[place >> 1][lag.y + QS_CROSS_REACH]);
            qs_matrix_add(cross->value[place][l], -1.0,
                          smooth->column[place & 1][lag.x + QS_CROSS_REACH]);
        }
}
