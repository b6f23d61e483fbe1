/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_smooth.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/lanes.h"
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

/*
 * Adds the nine products of one row of three channels with one of three others, in
 * lanes: lane k is of columns k modulo 8.
 */
QS_CLONES static void
multiply_rows(const double *const a[3], const double *const b[3], ptrdiff_t from_a,
              ptrdiff_t from_b, int length, double sum[3][3][8])
{
    qs_lanes lanes[3][3];

    memcpy(lanes, sum, sizeof lanes);
    for (int x = 0; x < length; x += 8) {
        qs_lanes left[3], right[3];

        for (int c = 0; c < 3; c++) {
            memcpy(&left[c], a[c] + from_a + x, sizeof left[c]);
            memcpy(&right[c], b[c] + from_b + x, sizeof right[c]);
        }
        for (int i = 0; i < 3; i++)
            for (int k = 0; k < 3; k++)
                lanes[i][k] += left[i] * right[k];
    }
    memcpy(sum, lanes, sizeof lanes);
}

/* The same of a single channel. */
QS_CLONES static void
multiply_row(const double *a, const double *b, int length, double sum[8])
{
    qs_lanes lanes;

    memcpy(&lanes, sum, sizeof lanes);
    for (int x = 0; x < length; x += 8)
        qs_lanes_add_product(&lanes, a + x, b + x);
    memcpy(sum, &lanes, sizeof lanes);
}

static void
multiply(const struct qs_residuals *f, const struct qs_residuals *g, int y,
         struct qs_lag lag, double sum[3][3][8])
{
    const int length = (f->width + 7) & ~7;
    const double *const a[3] = {f->e[0], f->e[1], f->e[2]};
    const double *const b[3] = {g->e[0], g->e[1], g->e[2]};
    ptrdiff_t at = y * f->stride, there = at + lag.y * f->stride + lag.x;

    if (f->channels == 3)
        multiply_rows(a, b, at, there, length, sum);
    else
        multiply_row(a[0] + at, b[0] + there, length, sum[0][0]);
}

/* Even and odd columns of 0 .. width - 1 that have a partner `lag` columns on. */
static void
count_columns(int width, int lag, int count[2])
{
    int from = lag < 0 ? -lag : 0, to = width - (lag > 0 ? lag : 0);

    count[0] = count[1] = 0;
    for (int x = from; x < to; x++)
        count[x & 1]++;
}

/* Rows y0, y0 + step ... that have a partner `lag` rows on. */
static int
count_rows(int height, int lag, const struct qs_comb *comb)
{
    int rows = 0;

    for (int y = comb->y0; y < height; y += comb->step_y)
        rows += y + lag >= 0 && y + lag < height;
    return rows;
}

/* Adds the lanes up, even and odd columns apart. */
static void
gather_lanes(double sum[3][3][8], int channels, struct qs_products *out)
{
    for (int i = 0; i < channels; i++)
        for (int k = 0; k < channels; k++)
            for (int odd = 0; odd < 2; odd++) {
                const double *lane = sum[i][k] + odd;

                out->sum[odd][i][k] = (lane[0] + lane[4]) + (lane[2] + lane[6]);
            }
}

/* Row by row through all lags: the rows that they reach stay near the processor. */
void
qs_products_make(const struct qs_residuals *f, const struct qs_residuals *g,
                 const struct qs_lag *lags, int count, const struct qs_comb *comb,
                 struct qs_products *out)
{
    double sum[QS_PRODUCT_LAGS][3][3][8];

    assert(count <= QS_PRODUCT_LAGS);
    memset(sum, 0, (size_t)count * sizeof sum[0]);
    for (int y = comb->y0; y < f->height; y += comb->step_y)
        for (int l = 0; l < count; l++)
            if (y + lags[l].y >= 0 && y + lags[l].y < f->height)
                multiply(f, g, y, lags[l], sum[l]);
    for (int l = 0; l < count; l++) {
        int rows = count_rows(f->height, lags[l].y, comb), columns[2];

        out[l] = (struct qs_products){.pairs = {0.0}};
        gather_lanes(sum[l], f->channels, &out[l]);
        count_columns(f->width, lags[l].x, columns);
        out[l].pairs[0] = (double)rows * columns[0];
        out[l].pairs[1] = (double)rows * columns[1];
    }
}

/* Covariance over all places at the far lags, made symmetric: -lag counts as well. */
static void
measure_far(const struct qs_residuals *f, double out[FAR_LAGS][3][3])
{
    static const struct qs_comb all = {0, 1};
    struct qs_products made[FAR_LAGS];

    qs_products_make(f, f, far_lag, FAR_LAGS, &all, made);
    for (int l = 0; l < FAR_LAGS; l++) {
        const struct qs_products *m = &made[l];

        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++)
                out[l][a][b] = 0.5 *
                               (m->sum[0][a][b] + m->sum[1][a][b] + m->sum[0][b][a] +
                                m->sum[1][b][a]) /
                               (m->pairs[0] + m->pairs[1]);
    }
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

    measure_far(f, all);
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

QS_CLONES static void
add_to_row(const double *from, int count, double *restrict to)
{
    for (int x = 0; x < count; x++)
        to[x] += from[x];
}

/*
 * Into `out` the sums, at every pixel, over the far lags along its line: products with
 * them are those of all the lags at once.
 */
static void
sum_far(const struct qs_residuals *f, bool rows, struct qs_residuals *out)
{
    for (int c = 0; c < f->channels; c++)
        for (int y = 0; y < f->height; y++) {
            double *to = out->e[c] + y * f->stride;

            memset(to, 0, (size_t)f->width * sizeof *to);
            for (int d = -AXIS_TO; d <= AXIS_TO; d++) {
                int there = rows ? y : y + d;

                if (abs(d) >= AXIS_FROM && there >= 0 && there < f->height)
                    add_to_row(f->e[c] + there * f->stride + (rows ? d : 0), f->width,
                               to);
            }
        }
}

/* Pairs of values of a line of this length that are a far lag apart, both ways. */
static double
far_pairs(int length)
{
    double pairs = 0.0;

    for (int d = AXIS_FROM; d <= AXIS_TO; d++)
        pairs += 2.0 * (length > d ? length - d : 0);
    return pairs;
}

/* Mean level of the blotches over the far lags of lines that are `apart`. */
static double
blotch_level(const struct qs_smooth *smooth, bool rows, int apart)
{
    double level = 0.0, count = 2.0 * (AXIS_TO - AXIS_FROM + 1);

    for (int d = AXIS_FROM; d <= AXIS_TO; d++)
        for (int side = -1; side <= 1; side += 2) {
            struct qs_lag lag = {rows ? side * d : apart, rows ? apart : side * d};

            level += bell_at(smooth->bell, lag) / count;
        }
    return level;
}

/* Lines of a patch that have a partner `apart` lines on, of one parity of the frame. */
static int
count_lines(int lines, int apart, int parity)
{
    int count = 0;

    for (int y = 0; y < lines; y++)
        count += y + apart >= 0 && y + apart < lines && (y & 1) == parity;
    return count;
}

/*
 * Mean over far lags along lines, for lines of either parity of the patch with lines
 * `apart`; `far` is what sum_far made of them.
 */
static void
shared_by_lines(const struct qs_residuals *f, const struct qs_residuals *far,
                const struct qs_smooth *smooth, bool rows, int apart,
                double out[2][3][3])
{
    const struct qs_lag lag = {rows ? 0 : apart, rows ? apart : 0};
    double level = blotch_level(smooth, rows, apart);
    double along = far_pairs(rows ? f->width : f->height);

    memset(out, 0, 2 * sizeof out[0]);
    for (int y = 0; y < 2; y++) {
        const struct qs_comb comb = {y, 2};
        struct qs_products made;

        qs_products_make(f, far, &lag, 1, &comb, &made);
        for (int x = 0; x < 2; x++)
            qs_matrix_add(out[rows ? y : x], 1.0, made.sum[x]);
    }
    for (int parity = 0; parity < 2; parity++) {
        double pairs = along * count_lines(rows ? f->height : f->width, apart, parity);

        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++)
                out[parity][a][b] =
                    out[parity][a][b] / pairs - level * smooth->blotch[a][b];
    }
}

/* Whether lines share more than chance gives them; else notes the little there is. */
static bool
lines_share(const struct qs_residuals *f, double own[2][3][3], double variance[3][3],
            bool rows, struct qs_smooth *smooth)
{
    double count = AXIS_TO - AXIS_FROM + 1, factor[3][3], white[3][3], all[3][3];
    int n = f->channels, lines = rows ? f->height : f->width;
    double even = (lines + 1) / 2 / (double)lines;

    memset(all, 0, sizeof all);
    qs_matrix_add(all, even, own[0]);
    qs_matrix_add(all, 1.0 - even, own[1]);
    if (!qs_matrix_factor(variance, n, factor)) {
        n = 1; /* one channel says it all */
        if (!qs_matrix_factor(variance, n, factor))
            return false;
    }
    qs_matrix_whiten(factor, n, all, white);
    if (qs_matrix_greatest(white, n) >=
        SURE_STRIPE / sqrt((double)f->width * f->height * count))
        return true;
    for (int c = 0; c < n; c++)
        smooth->slow += white[c][c];
    return false;
}

/* Stripes, where there are any. */
static void
find_stripes(const struct qs_residuals *f, double variance[3][3], bool rows,
             struct qs_residuals *far, struct qs_smooth *smooth,
             double out[2][2 * QS_CROSS_REACH + 1][3][3])
{
    const int first = (rows ? f->frame_y : f->frame_x) & 1; /* line's parity there */
    double made[2][3][3];

    sum_far(f, rows, far);
    shared_by_lines(f, far, smooth, rows, 0, made);
    if (!lines_share(f, made, variance, rows, smooth))
        return;
    for (int k = 0; k <= 2 * QS_CROSS_REACH; k++) {
        shared_by_lines(f, far, smooth, rows, k - QS_CROSS_REACH, made);
        for (int parity = 0; parity < 2; parity++)
            memcpy(out[parity ^ first][k], made[parity], sizeof made[parity]);
    }
}

void
qs_smooth_find(const struct qs_residuals *f, double variance[3][3],
               struct qs_residuals *room, struct qs_smooth *out)
{
    memset(out, 0, sizeof *out);
    find_blotches(f, variance, out);
    find_stripes(f, variance, true, room, out, out->row);
    find_stripes(f, variance, false, room, out, out->column);
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
