/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_nature.h"

#include <math.h>

enum {
    WINDOWS_MAX = 1000 /* measured at most; evenly chosen from the list */
};

/* What noise of a Gaussian kernel shows at a log(between / within); P13, P14. */
struct expected {
    double ratio;
    double spread;
    double neighbour; /* more than white noise shows in the same windows */
};

/*
 * Simulated, 10^6 pixels each, kernels of sd 0 to 4 px, cells of 4, 8 and 16 px:
 * the three agree to 0.02.
 */
static const struct expected expected[] = {
    {-3.9, 0.14, 0.01},  {-3.2, 0.21, 0.02}, {-2.55, 0.29, 0.03}, {-2.0, 0.40, 0.04},
    {-1.65, 0.48, 0.05}, {-1.2, 0.54, 0.09}, {-0.45, 0.65, 0.15}, {0.2, 0.76, 0.26},
    {0.85, 0.84, 0.41},  {1.5, 0.89, 0.61},  {2.0, 0.90, 0.80}};

/*
 * Neighbours too much alike are a mark of detail, but fine noise over coarse noise
 * shows it too.  Where the windows are this share of the frame they count so much
 * and no more.
 */
static const double SHARE_PLAIN = 0.4;
static const double MIXED_MAX = 2.0;

/*
 * Most detail has a log(between / within) above this.  Noise so coarse is believed
 * only where it is all over the frame.
 */
static const double COARSE_RATIO = -0.6;
static const double COARSE_SHARE = 0.25;
static const double COARSE_WINDOWS = 12.0; /* independent ones */
static const double SOFT_WINDOWS = 4.0;    /* where it is not coarse, nor white */

/*
 * The noise of one colour of a mosaic has few independent samples a cell, which
 * spreads the variances inside cells up to this.
 */
static const double SPREAD_MOSAIC = 0.67;

/* Most oddness where r, g and b have noise of their own; see limit_at. */
static const double LIMIT_OWN = 6.0;

struct pool {
    double m3, m4;
    double gv2, cross;
    double next;
    double count, pairs;
};

static struct expected
expected_at(double ratio)
{
    const size_t last = sizeof expected / sizeof expected[0] - 1;
    struct expected e;
    size_t i = 0;
    double t;

    if (ratio <= expected[0].ratio)
        return expected[0];
    if (ratio >= expected[last].ratio)
        return expected[last];
    while (ratio > expected[i + 1].ratio)
        i++;
    t = (ratio - expected[i].ratio) / (expected[i + 1].ratio - expected[i].ratio);
    e.ratio = ratio;
    e.spread = expected[i].spread + t * (expected[i + 1].spread - expected[i].spread);
    e.neighbour =
        expected[i].neighbour + t * (expected[i + 1].neighbour - expected[i].neighbour);
    return e;
}

static double
mean_square(const double *values, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += values[i] * values[i];
    return sum / count;
}

/* Takes the means of rows and of columns off: stripes are noise of their own. */
static void
centre(double *residual, int n)
{
    double rows[QS_WINDOW_MAX] = {0}, columns[QS_WINDOW_MAX] = {0};

    for (int i = 0; i < n * n; i++) {
        rows[i / n] += residual[i] / n;
        columns[i % n] += residual[i] / n;
    }
    for (int i = 0; i < n * n; i++)
        residual[i] -= rows[i / n] + columns[i % n];
}

/* Figures of the residuals as they are. */
static void
add_plain(struct pool *pool, const double *residual, const float *variance,
          size_t stride, int n, double within)
{
    const double unit = 1.0 / sqrt(mean_square(residual, n * n));

    for (int i = 0; i < n * n; i++) {
        double r = residual[i] * unit;
        double g = variance[(size_t)(i / n) * stride + (size_t)(i % n)] / within - 1.0;

        pool->m3 += r * r * r;
        pool->gv2 += g * g;
        pool->cross += r * g;
    }
    pool->count += n * n;
}

/* Figures of the residuals after rows and columns have lost their means. */
static void
add_centred(struct pool *pool, const double *residual, int n)
{
    const double unit = 1.0 / sqrt(mean_square(residual, n * n));

    for (int i = 0; i < n * n; i++) {
        double r = residual[i] * unit;

        pool->m4 += r * r * r * r;
        if (i % n + 1 < n && i / n + 1 < n)
            pool->next += r * (residual[i + 1] + residual[i + n]) * unit;
    }
    pool->pairs += 2.0 * (n - 1) * (n - 1);
}

void
qs_nature_measure(struct qs_nature *nature, const struct qs_windows *windows,
                  const struct qs_cells *cells, const struct qs_window_basis *basis,
                  const size_t *list, size_t count, double overlap)
{
    const int n = windows->side;
    const size_t used = count < WINDOWS_MAX ? count : WINDOWS_MAX;
    double residual[QS_WINDOW_MAX * QS_WINDOW_MAX];
    struct pool pool = {0};
    double sharing = overlap * (double)used / (double)count;
    for (size_t i = 0; i < used; i++) {
        size_t index = list[i * count / used];
        size_t first = qs_window_first(windows, cells, index);

        qs_window_residual(cells, QS_Y, first, basis, residual);
        add_plain(&pool, residual, cells->variance[QS_Y] + first,
                  (size_t)cells->columns, n, windows->fit[index].within);
        centre(residual, n);
        add_centred(&pool, residual, n);
    }
    if (pool.count <= 0.0) {
        *nature = (struct qs_nature){0};
        return;
    }
    nature->skew = pool.m3 / pool.count;
    nature->kurtosis = pool.m4 / pool.count - 3.0;
    nature->spread = sqrt(pool.gv2 / pool.count);
    nature->cross = pool.gv2 > 0.0 ? pool.cross / sqrt(pool.count * pool.gv2) : 0.0;
    nature->neighbour = pool.next / pool.pairs;
    nature->cells = pool.count / fmax(sharing, 1.0);
}

/* What noise shows as unevenness when its neighbours correlate so much more; P15. */
static double
uneven_at(double shift)
{
    static const double table[][2] = {{0.0, 1.03},  {0.15, 1.1},  {0.25, 1.2},
                                      {0.36, 1.35}, {0.42, 1.45}, {0.5, 1.65},
                                      {0.61, 1.95}, {0.71, 2.4},  {0.78, 3.3}};
    const size_t last = sizeof table / sizeof table[0] - 1;
    size_t i = 0;

    if (shift <= table[0][0])
        return table[0][1];
    if (shift >= table[last][0])
        return table[last][1];
    while (shift > table[i + 1][0])
        i++;
    return table[i][1] + (table[i + 1][1] - table[i][1]) * (shift - table[i][0]) /
                             (table[i + 1][0] - table[i][0]);
}

static double
squared_excess(double excess, double unit, double error)
{
    return excess > 0.0 ? excess * excess / (unit * unit + error * error) : 0.0;
}

/* Whether the windows show at most twice what white noise would between cells. */
static bool
is_white(double ratio, double pixels)
{
    return ratio < 0.7 - log(pixels);
}

/* How far the figures are from those of noise, as a sum of squares; P16. */
static double
oddness(const struct qs_nature *nature, double ratio, double pixels, int window_side)
{
    const double error = 1.0 / sqrt(fmax(nature->cells, 1.0));
    struct expected e = expected_at(ratio);
    double spread =
        fmax(nature->own ? SPREAD_MOSAIC : e.spread, sqrt(2.0 / (pixels - 1.0)));
    double shift = nature->neighbour + 1.27 / window_side;
    double mixed = squared_excess(shift - e.neighbour, 0.08, error);
    double ringing = squared_excess(-0.1 - shift, 0.03, error);
    bool may_mix = nature->share >= SHARE_PLAIN && ratio < COARSE_RATIO;

    double shape = squared_excess(log(fmax(nature->spread, 1e-9) / spread),
                                  is_white(ratio, pixels) ? 0.1 : 0.15, error) +
                   squared_excess(fabs(nature->skew), 0.15, 2.4 * error) +
                   squared_excess(fabs(nature->cross), 0.1, error);

    return (nature->cut ? 0.0 : shape) +
           squared_excess(log(nature->uneven / uneven_at(shift)), 0.15, 2.0 * error) +
           squared_excess(fabs(nature->kurtosis), 0.5, 4.9 * error) +
           (may_mix ? fmin(mixed, MIXED_MAX) : mixed) + ringing;
}

/*
 * Most oddness allowed.  Close to white noise, texture in the cell means can hold
 * but a few per cent of the variance, whatever it looks like; far from it, only the
 * oddness tells noise from texture.
 */
static double
limit_at(const struct qs_nature *nature, double ratio, double pixels)
{
    if (is_white(ratio, pixels))
        return 7.0;
    if (nature->own)
        return LIMIT_OWN;
    if (ratio < COARSE_RATIO)
        return 2.6;
    return nature->share < COARSE_SHARE ? 1.2 : 3.0;
}

bool
qs_nature_is_noise(const struct qs_nature *nature, double ratio, int side_px,
                   int window_side)
{
    const double pixels = (double)side_px * side_px;
    const double windows = nature->cells / ((double)window_side * window_side);

    if (windows < (ratio > COARSE_RATIO ? COARSE_WINDOWS : SOFT_WINDOWS) &&
        !is_white(ratio, pixels))
        return false;
    return oddness(nature, ratio, pixels, window_side) <
           limit_at(nature, ratio, pixels);
}
