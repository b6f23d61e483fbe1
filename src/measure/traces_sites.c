/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_sites.h"

#include <math.h>
#include <string.h>

#include "measure/traces_matrix.h"

/* Lags up to 2.3 px: where sharpening and smoothing show their sign. */
static bool
is_near(struct qs_lag lag)
{
    int d2 = lag.x * lag.x + lag.y * lag.y;

    return d2 > 0 && d2 <= 5;
}

/* Lags of 3 px and more: beyond what modest filters reach. */
static bool
is_outer(struct qs_lag lag)
{
    return lag.x * lag.x + lag.y * lag.y >= 9;
}

enum {
    NEAR_LAGS = 10, /* of qs_cross_lag that is_near holds for */
    OUTER_LAGS = 12 /* that is_outer holds for */
};

/* By chance, for `samples` independent products; the outer lags' mean is unsure too. */
static double
near_sd(double samples)
{
    double terms = NEAR_LAGS + (double)NEAR_LAGS * NEAR_LAGS / OUTER_LAGS;

    return 2.0 * sqrt(terms / samples);
}

/* T9: without a mosaic every mixture of colours is independent from pixel to pixel. */
static void
look_plain(const struct qs_cross *cross, double factor[3][3], int n,
           struct qs_site_misfit *out)
{
    double white[QS_CROSS_LAGS][3][3], outer[3][3] = {{0.0}}, sum = 0.0, near = 0.0;
    double terms = (double)n * n * (QS_CROSS_LAGS - 1);

    for (int l = 1; l < QS_CROSS_LAGS; l++) {
        double m[3][3];

        memcpy(m, cross->mean[l], sizeof m);
        qs_matrix_whiten(factor, n, m, white[l]);
        for (int a = 0; a < n && is_outer(qs_cross_lag[l]); a++)
            for (int b = 0; b < n; b++)
                outer[a][b] += white[l][a][b] / OUTER_LAGS;
    }
    for (int l = 1; l < QS_CROSS_LAGS; l++)
        for (int a = 0; a < n; a++)
            for (int b = 0; b < n; b++) {
                double off = white[l][a][b] - outer[a][b];

                sum += off * off;
                near += a == b && is_near(qs_cross_lag[l]) ? 2.0 * off / n : 0.0;
            }
    out->excess = (sum - terms / cross->pixels) / n;
    out->unsure = sqrt(2.0 * terms) / cross->pixels / n;
    out->near = near;
    out->near_sd = near_sd(n * cross->pixels);
}

/*
 * T5: what repeats every 2 pixels in the variances and the nearest covariances.
 */
static void
look_mosaic(const struct qs_cross *cross, double factor[3][3], int n,
            struct qs_sites *out)
{
    static const int lags[] = {0, 1, 6, 7, 8}; /* 0, across, down, both diagonals */
    double sum = 0.0, terms = 0.0;

    for (size_t k = 0; k < sizeof lags / sizeof lags[0]; k++)
        for (int place = 0; place < QS_MOSAIC; place++) {
            double m[3][3], w[3][3];

            for (int a = 0; a < 3; a++)
                for (int b = 0; b < 3; b++)
                    m[a][b] =
                        cross->value[place][lags[k]][a][b] - cross->mean[lags[k]][a][b];
            qs_matrix_whiten(factor, n, m, w);
            for (int a = 0; a < n; a++)
                for (int b = 0; b < n; b++)
                    sum += w[a][b] * w[a][b] / QS_MOSAIC;
        }
    /* 3 of 4 places are free; each has a quarter of the pixels; at lag 0 the square
       of a variance counts double, and a pair of channels twice */
    terms = (QS_MOSAIC - 1) * (double)n * n * (sizeof lags / sizeof lags[0] + 1);
    out->mosaic = (sum - terms / cross->pixels) / n;
    out->mosaic_sd = 2.0 * sqrt(2.0 * terms) / cross->pixels / n;
}

/* T10: the greatest correlation at 2 px along the axes of any mixture of colours. */
static double
look_smoothest(const struct qs_cross *cross, double factor[3][3], int n)
{
    double m[3][3] = {{0.0}}, w[3][3];

    for (int l = 1; l < QS_CROSS_LAGS; l++) {
        struct qs_lag lag = qs_cross_lag[l];

        if (lag.x * lag.x + lag.y * lag.y != 4)
            continue;
        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++)
                m[a][b] += 0.25 * (cross->mean[l][a][b] + cross->mean[l][b][a]);
    }
    qs_matrix_whiten(factor, n, m, w);
    return qs_matrix_greatest(w, n);
}

/* ---- sampling back into the mosaic ---- */

enum {
    PARAMETERS = 6, /* two free entries in each row of the inverse matrix */
    MISSES = QS_MOSAIC * (QS_CROSS_LAGS - 1),
    ROUNDS = 40
};

/*
 * The inverse of a colour matrix keeps grey as it is, and each camera colour is mostly
 * the output colour of its name: off the diagonal lies what matrices from cameras
 * to common output spaces need (own survey of the kind, wide; from memory).
 */
static const double entry_low[PARAMETERS] = {-0.25, -0.25, -0.25, -0.25, -0.25, -0.25};
static const double entry_high[PARAMETERS] = {0.5, 0.3, 0.4, 0.35, 0.3, 0.5};

struct fit {
    const struct qs_cross *cross;
    int red;             /* place of the frame's mosaic where red is */
    double root[MISSES]; /* of the pairs behind each miss */
};

/* Colour of the photosite at a place: 0 red, 1 green, 2 blue. */
static int
site_colour(int place, int red)
{
    int off = place ^ red;

    return (off & 1) + (off >> 1);
}

static void
fill_rows(const double t[PARAMETERS], double row[3][3])
{
    for (int c = 0; c < 3; c++) {
        double first = t[2 * c], second = t[2 * c + 1];

        row[c][c] = 1.0 - first - second;
        row[c][c == 0 ? 1 : 0] = first;
        row[c][c == 2 ? 1 : 2] = second;
    }
}

static double
between(const double m[9], const double a[3], const double b[3])
{
    double sum = 0.0;

    for (int i = 0; i < 3; i++)
        sum += a[i] * (m[3 * i] * b[0] + m[3 * i + 1] * b[1] + m[3 * i + 2] * b[2]);
    return sum;
}

/* T6, T7: the correlations of the re-made mosaic, in units of their sd by chance. */
static void
misses(const struct fit *fit, const double t[PARAMETERS], double out[MISSES])
{
    double row[3][3], unit[QS_MOSAIC];

    fill_rows(t, row);
    for (int p = 0; p < QS_MOSAIC; p++) {
        const double *w = row[site_colour(p, fit->red)];

        unit[p] = 1.0 / sqrt(fmax(between(fit->cross->value[p][0][0], w, w), 1e-30));
    }
    for (int p = 0; p < QS_MOSAIC; p++)
        for (int l = 1; l < QS_CROSS_LAGS; l++) {
            struct qs_lag lag = qs_cross_lag[l];
            int q = p ^ ((lag.x & 1) | (lag.y & 1) << 1);
            int at = p * (QS_CROSS_LAGS - 1) + l - 1;

            out[at] = between(fit->cross->value[p][l][0], row[site_colour(p, fit->red)],
                              row[site_colour(q, fit->red)]) *
                      (unit[p] * unit[q]) * fit->root[at];
        }
}

static double
sum_of_squares(const double *values, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += values[i] * values[i];
    return sum;
}

/* Slopes of all misses by one-sided differences. */
static void
slopes(const struct fit *fit, const double t[PARAMETERS], const double at[MISSES],
       double out[PARAMETERS][MISSES])
{
    for (int k = 0; k < PARAMETERS; k++) {
        double moved[PARAMETERS];

        memcpy(moved, t, sizeof moved);
        moved[k] += 1e-6;
        misses(fit, moved, out[k]);
        for (int i = 0; i < MISSES; i++)
            out[k][i] = (out[k][i] - at[i]) * 1e6;
    }
}

/* One damped step of least squares, kept within the limits of the entries. */
static void
step(double slope[PARAMETERS][MISSES], const double at[MISSES],
     const double t[PARAMETERS], double damping, double out[PARAMETERS])
{
    double a[PARAMETERS][PARAMETERS + 1];

    for (int j = 0; j < PARAMETERS; j++) {
        for (int k = 0; k < PARAMETERS; k++) {
            a[j][k] = 0.0;
            for (int i = 0; i < MISSES; i++)
                a[j][k] += slope[j][i] * slope[k][i];
        }
        a[j][j] *= 1.0 + damping;
        a[j][j] += 1e-9;
        a[j][PARAMETERS] = 0.0;
        for (int i = 0; i < MISSES; i++)
            a[j][PARAMETERS] -= slope[j][i] * at[i];
    }
    qs_matrix_solve(&a[0][0], PARAMETERS);
    for (int k = 0; k < PARAMETERS; k++)
        out[k] = fmin(fmax(t[k] + a[k][PARAMETERS], entry_low[k]), entry_high[k]);
}

/* T8: the matrix that leaves least; t is where to start and where it ended. */
static double
least_misses(const struct fit *fit, double t[PARAMETERS], double at[MISSES])
{
    double damping = 1e-2, sum;

    misses(fit, t, at);
    sum = sum_of_squares(at, MISSES);
    for (int round = 0; round < ROUNDS && damping < 1e6; round++) {
        double slope[PARAMETERS][MISSES], moved[PARAMETERS], there[MISSES], now;

        slopes(fit, t, at, slope);
        step(slope, at, t, damping, moved);
        misses(fit, moved, there);
        now = sum_of_squares(there, MISSES);
        if (!(now < sum)) {
            damping *= 8.0;
            continue;
        }
        damping *= 0.2;
        memcpy(t, moved, sizeof moved);
        memcpy(at, there, sizeof there);
        if (sum - now < 1e-6 * sum)
            return now;
        sum = now;
    }
    return sum;
}

/*
 * The sum of the squares and of the near ones, less what all share at the outer lags,
 * where blotches too faint to be found show, and stripes.
 */
static void
sum_up(const struct qs_cross *cross, double at[MISSES], struct qs_site_misfit *out)
{
    double outer = 0.0, sum = 0.0;

    out->near = 0.0;
    for (int i = 0; i < MISSES; i++) {
        int p = i / (QS_CROSS_LAGS - 1), l = i % (QS_CROSS_LAGS - 1) + 1;

        at[i] /= sqrt(cross->pairs[p][l]);
        if (is_outer(qs_cross_lag[l]))
            outer += at[i] / (OUTER_LAGS * QS_MOSAIC);
    }
    for (int i = 0; i < MISSES; i++) {
        int p = i / (QS_CROSS_LAGS - 1), l = i % (QS_CROSS_LAGS - 1) + 1;

        sum += (at[i] - outer) * (at[i] - outer) * cross->pairs[p][l];
        if (is_near(qs_cross_lag[l]))
            out->near += 2.0 / QS_MOSAIC * (at[i] - outer);
    }
    out->excess = (sum - (MISSES - PARAMETERS)) / cross->pixels;
}

static void
look_as_mosaic(const struct qs_cross *cross, int red, struct qs_site_misfit *out)
{
    static const double starts[][PARAMETERS] = {{0.02, 0.02, 0.02, 0.02, 0.02, 0.02},
                                                {0.25, 0.05, 0.10, 0.15, 0.02, 0.25}};
    struct fit fit = {.cross = cross, .red = red};
    double best = INFINITY;

    for (int i = 0; i < MISSES; i++)
        fit.root[i] =
            sqrt(cross->pairs[i / (QS_CROSS_LAGS - 1)][i % (QS_CROSS_LAGS - 1) + 1]);
    for (size_t k = 0; k < sizeof starts / sizeof starts[0]; k++) {
        double t[PARAMETERS], at[MISSES], sum;

        memcpy(t, starts[k], sizeof t);
        sum = least_misses(&fit, t, at);
        if (!(sum < best))
            continue;
        best = sum;
        sum_up(cross, at, out);
    }
    out->unsure = sqrt(2.0 * (MISSES - PARAMETERS)) / cross->pixels;
    out->near_sd = near_sd(cross->pixels);
}

/* A grey picture stored as r, g, b says one thing only. */
static int
factor_variance(const struct qs_cross *cross, double factor[3][3])
{
    double m[3][3];

    memcpy(m, cross->mean[0], sizeof m);
    if (cross->channels == 3 && qs_matrix_factor(m, 3, factor))
        return 3;
    /* green stands for all */
    if (cross->channels == 3)
        m[0][0] = m[1][1];
    return qs_matrix_factor(m, 1, factor) ? 1 : 0;
}

/* Puts the covariances of green where those of the only channel are looked for. */
static void
green_first(struct qs_cross *cross)
{
    for (int l = 0; l < QS_CROSS_LAGS; l++) {
        cross->mean[l][0][0] = cross->mean[l][1][1];
        for (int p = 0; p < QS_MOSAIC; p++)
            cross->value[p][l][0][0] = cross->value[p][l][1][1];
    }
}

void
qs_sites_look(const struct qs_cross *cross, struct qs_sites *out)
{
    struct qs_cross grey;
    double factor[3][3];

    *out = (struct qs_sites){.pixels = cross->pixels,
                             .blotch = cross->blotch,
                             .blotch_second = cross->blotch_second,
                             .blotch_least = cross->blotch_least,
                             .slow = cross->slow,
                             .places = cross->places,
                             .thirds = cross->thirds};
    out->colours = factor_variance(cross, factor);
    out->known = out->colours > 0;
    if (!out->known)
        return;
    if (out->colours < cross->channels) {
        grey = *cross;
        green_first(&grey);
        cross = &grey;
    }
    look_mosaic(cross, factor, out->colours, out);
    look_plain(cross, factor, out->colours, &out->as_plain);
    out->smoothest = look_smoothest(cross, factor, out->colours);
    for (int red = 0; out->colours == 3 && red < QS_MOSAIC; red++)
        look_as_mosaic(cross, red, &out->as_mosaic[red]);
}
