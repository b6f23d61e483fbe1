/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_curve.h"

#include <assert.h>
#include <math.h>

/*
 * Distances are logarithms of variance.  Points are means of a few windows,
 * good to some per cent, so ON is the reach of a point that belongs; by FAR it
 * counts for nothing.  A point below the curve counts against it, up to WORST:
 * noise has no lower neighbour, texture has.
 */
static const double ON = 0.08;
static const double FAR = 0.25;
static const double WORST = -2.0;
static const double COST_OF_TERM = 0.7; /* points a further term must win */
static const double COST_OF_FALL = 5.0; /* points a falling curve must win */

enum {
    TERMS = 3
};

/* The points in the coordinates of one shape, and the best curve so far. */
struct search {
    enum qs_curve_shape shape;
    int count;
    double x[QS_CURVE_POINTS];
    double y[QS_CURVE_POINTS];
    double weight[QS_CURVE_POINTS];
    double best[TERMS];
    int best_terms;
    double best_score;
};

static double
parabola(const double k[TERMS], double x)
{
    return k[0] + x * (k[1] + x * k[2]);
}

double
qs_curve_at(const struct qs_curve *curve, double mean)
{
    double inside = mean < curve->low    ? curve->low
                    : mean > curve->high ? curve->high
                                         : mean;

    if (curve->shape == QS_CURVE_LOG)
        return exp(parabola(curve->k, log(inside)));
    return parabola(curve->k, inside);
}

/* log(y / value), or its like between logarithms; exact to 0.002 within FAR. */
static double
distance(const struct search *search, int i, double value)
{
    if (search->shape == QS_CURVE_LOG)
        return search->y[i] - value;
    return 2.0 * (search->y[i] - value) / (search->y[i] + value);
}

static double
worth(double distance_above)
{
    if (distance_above > FAR)
        return 0.0;
    if (distance_above > ON)
        return (FAR - distance_above) / (FAR - ON);
    if (distance_above >= -ON)
        return 1.0;
    return fmax(1.0 + 9.0 * (distance_above + ON), WORST);
}

static bool
is_possible(const struct search *search, const double k[TERMS])
{
    for (int i = 0; i < search->count && search->shape == QS_CURVE_LINEAR; i++) {
        if (!(parabola(k, search->x[i]) > 0.0))
            return false;
    }
    return true;
}

/*
 * Whether the curve falls by more than a third from one tone to a brighter one.
 * A sensor's variance never does; only a strong tone curve makes it so, and
 * texture in the shadows looks like it.
 */
static bool
falls(const struct search *search, const double k[TERMS])
{
    double highest = parabola(k, search->x[0]);

    for (int i = 1; i < search->count; i++) {
        double value = parabola(k, search->x[i]);

        if (search->shape == QS_CURVE_LOG ? value < highest - log(1.5)
                                          : value < highest / 1.5)
            return true;
        highest = fmax(highest, value);
    }
    return false;
}

/* Solves the symmetric system a k = b of `terms` unknowns; false if singular. */
static bool
solve(double a[TERMS][TERMS], double b[TERMS], int terms, double k[TERMS])
{
    for (int i = 0; i < terms; i++) {
        if (!(a[i][i] > 0.0))
            return false;
        for (int j = i + 1; j < terms; j++) {
            double f = a[j][i] / a[i][i], before = a[j][j];

            for (int c = i; c < terms; c++)
                a[j][c] -= f * a[i][c];
            if (a[j][j] < 1e-10 * before)
                return false;
            b[j] -= f * b[i];
        }
    }
    for (int i = terms - 1; i >= 0; i--) {
        k[i] = b[i];
        for (int c = i + 1; c < terms; c++)
            k[i] -= a[i][c] * k[c];
        k[i] /= a[i][i];
    }
    return true;
}

/*
 * Least squares through the points with use[i] > 0, relative errors alike.
 * Returns false where the points cannot carry that many terms.
 */
static bool
fit(const struct search *search, const double *use, int terms, double k[TERMS])
{
    double a[TERMS][TERMS] = {{0}}, b[TERMS] = {0};

    k[0] = k[1] = k[2] = 0.0;
    for (int i = 0; i < search->count; i++) {
        const double x = search->x[i], y = search->y[i], power[TERMS] = {1.0, x, x * x};
        double w = search->shape == QS_CURVE_LOG ? use[i] : use[i] / (y * y);

        for (int r = 0; r < terms && use[i] > 0.0; r++) {
            b[r] += w * power[r] * y;
            for (int c = 0; c < terms; c++)
                a[r][c] += w * power[r] * power[c];
        }
    }
    return solve(a, b, terms, k) && is_possible(search, k);
}

static void
try_curve(struct search *search, const double k[TERMS], int terms)
{
    double score = -COST_OF_TERM * terms;

    for (int i = 0; i < search->count; i++)
        score +=
            search->weight[i] * worth(distance(search, i, parabola(k, search->x[i])));
    if (score <= search->best_score)
        return;
    if (falls(search, k))
        score -= COST_OF_FALL;
    if (score <= search->best_score)
        return;
    for (int t = 0; t < TERMS; t++)
        search->best[t] = k[t];
    search->best_terms = terms;
    search->best_score = score;
}

/* Tries the curve through the points i <= j <= l; equal ones count once. */
static void
try_points(struct search *search, int i, int j, int l)
{
    double use[QS_CURVE_POINTS] = {0}, k[TERMS];
    int terms = 1 + (j > i) + (l > j);

    use[i] = use[j] = use[l] = 1.0;
    if (fit(search, use, terms, k))
        try_curve(search, k, terms);
}

static void
try_all(struct search *search)
{
    for (int i = 0; i < search->count; i++) {
        try_points(search, i, i, i);
        for (int j = i + 1; j < search->count; j++) {
            try_points(search, i, j, j);
            for (int l = j + 1; l < search->count; l++)
                try_points(search, i, j, l);
        }
    }
}

/* Draws the winner again through all the points that lie near it. */
static void
settle(struct search *search)
{
    for (int round = 0; round < 3; round++) {
        double use[QS_CURVE_POINTS], k[TERMS];

        for (int i = 0; i < search->count; i++) {
            double above = distance(search, i, parabola(search->best, search->x[i]));

            use[i] = fabs(above) < 0.6 * FAR ? search->weight[i] : 0.0;
        }
        if (!fit(search, use, search->best_terms, k))
            return;
        for (int t = 0; t < TERMS; t++)
            search->best[t] = k[t];
    }
}

static void
search_shape(struct search *search, enum qs_curve_shape shape,
             const struct qs_curve_point *points, int count)
{
    *search = (struct search){.shape = shape, .count = count, .best_score = -HUGE_VAL};
    for (int i = 0; i < count; i++) {
        bool is_log = shape == QS_CURVE_LOG;

        search->x[i] = is_log ? log(points[i].mean) : points[i].mean;
        search->y[i] = is_log ? log(points[i].variance) : points[i].variance;
        search->weight[i] = points[i].weight;
    }
    try_all(search);
    settle(search);
}

void
qs_curve_draw(struct qs_curve *curve, const struct qs_curve_point *points, int count)
{
    struct search linear, logs;
    const struct search *best = &linear;

    assert(count >= 1 && count <= QS_CURVE_POINTS);
    search_shape(&linear, QS_CURVE_LINEAR, points, count);
    if (points[0].mean > 0.0) {
        search_shape(&logs, QS_CURVE_LOG, points, count);
        if (logs.best_score > linear.best_score)
            best = &logs;
    }
    curve->shape = best->shape;
    for (int t = 0; t < TERMS; t++)
        curve->k[t] = best->best[t];
    curve->low = points[0].mean;
    curve->high = points[count - 1].mean;
}
