/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The least-squares solver inside a damped Gauss-Newton iteration, against the
 * certified values of NIST's Statistical Reference Datasets for nonlinear regression:
 * parameters to 6 digits and their standard deviations to 4, from both starting points.
 *
 * Source: NIST StRD, nonlinear least squares (public domain), read from the folder of
 * shared data; without it the test is skipped.
 */
#include "model/least_squares.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "check_main.h"

#define FOLDER QS_SHARED_DATA "/nist-strd/"

static const double PI = 3.14159265358979323846;

enum {
    MOST = QS_LEAST_SQUARES_MOST,
    POINTS = 400
};

static double
misra1a(const double *b, double x)
{
    return b[0] * (1 - exp(-b[1] * x));
}

static double
misra1b(const double *b, double x)
{
    return b[0] * (1 - pow(1 + b[1] * x / 2, -2));
}

static double
misra1c(const double *b, double x)
{
    return b[0] * (1 - pow(1 + 2 * b[1] * x, -0.5));
}

static double
misra1d(const double *b, double x)
{
    return b[0] * b[1] * x / (1 + b[1] * x);
}

static double
chwirut(const double *b, double x)
{
    return exp(-b[0] * x) / (b[1] + b[2] * x);
}

static double
dan_wood(const double *b, double x)
{
    return b[0] * pow(x, b[1]);
}

static double
gauss(const double *b, double x)
{
    double p = (x - b[3]) / b[4], q = (x - b[6]) / b[7];

    return b[0] * exp(-b[1] * x) + b[2] * exp(-p * p) + b[5] * exp(-q * q);
}

static double
lanczos(const double *b, double x)
{
    return b[0] * exp(-b[1] * x) + b[2] * exp(-b[3] * x) + b[4] * exp(-b[5] * x);
}

static double
kirby2(const double *b, double x)
{
    return (b[0] + b[1] * x + b[2] * x * x) / (1 + b[3] * x + b[4] * x * x);
}

static double
rat42(const double *b, double x)
{
    return b[0] / (1 + exp(b[1] - b[2] * x));
}

static double
rat43(const double *b, double x)
{
    return b[0] / pow(1 + exp(b[1] - b[2] * x), 1 / b[3]);
}

static double
cubics(const double *b, double x)
{
    return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) /
           (1 + x * (b[4] + x * (b[5] + x * b[6])));
}

static double
roszman1(const double *b, double x)
{
    return b[0] - b[1] * x - atan(b[2] / (x - b[3])) / PI;
}

static double
eckerle4(const double *b, double x)
{
    double p = (x - b[2]) / b[1];

    return b[0] / b[1] * exp(-0.5 * p * p);
}

static const struct problem {
    const char *file;
    int unknowns;
    double (*at)(const double *b, double x);
} problems[] = {
    {"Misra1a", 2, misra1a},  {"Misra1b", 2, misra1b},   {"Misra1c", 2, misra1c},
    {"Misra1d", 2, misra1d},  {"Chwirut1", 3, chwirut},  {"Chwirut2", 3, chwirut},
    {"DanWood", 2, dan_wood}, {"Gauss1", 8, gauss},      {"Gauss2", 8, gauss},
    {"Gauss3", 8, gauss},     {"Lanczos3", 6, lanczos},  {"Kirby2", 5, kirby2},
    {"Rat42", 3, rat42},      {"Rat43", 4, rat43},       {"Thurber", 7, cubics},
    {"Hahn1", 7, cubics},     {"Roszman1", 4, roszman1}, {"Eckerle4", 3, eckerle4},
    {"BoxBOD", 2, misra1a},
};

struct data {
    int count;
    double x[POINTS], y[POINTS];
    double start[2][MOST], certified[MOST], deviation[MOST];
};

static struct data data;

static void
read_data(const struct problem *problem)
{
    char path[512], line[256];
    FILE *file;
    bool in_data = false;

    (void)snprintf(path, sizeof path, FOLDER "%s.dat", problem->file);
    file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    data.count = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        int b;
        double v[4];
        char y[2], x[2];

        if (sscanf(line, " b%d = %lf %lf %lf %lf", &b, &v[0], &v[1], &v[2], &v[3]) ==
            5) {
            data.start[0][b - 1] = v[0];
            data.start[1][b - 1] = v[1];
            data.certified[b - 1] = v[2];
            data.deviation[b - 1] = v[3];
        } else if (in_data && sscanf(line, "%lf %lf", &v[0], &v[1]) == 2) {
            ck_assert_int_lt(data.count, POINTS);
            data.y[data.count] = v[0];
            data.x[data.count++] = v[1];
        } else if (sscanf(line, "Data: %1[y] %1[x]", y, x) == 2) {
            in_data = true;
        }
    }
    (void)fclose(file);
    ck_assert_int_gt(data.count, 5);
}

static double
sum_of_squares(const struct problem *problem, const double *b)
{
    double sum = 0.0;

    for (int i = 0; i < data.count; i++) {
        double off = data.y[i] - problem->at(b, data.x[i]);

        sum += off * off;
    }
    return isfinite(sum) ? sum : DBL_MAX;
}

/* Derivative by the difference of both sides. */
static double
slope(const struct problem *problem, const double *b, int k, double x)
{
    double other[MOST], step = 6e-6 * fmax(fabs(b[k]), 1e-30);
    double high, low;

    memcpy(other, b, sizeof other);
    other[k] = b[k] + step;
    high = problem->at(other, x);
    other[k] = b[k] - step;
    low = problem->at(other, x);
    return (high - low) / (2.0 * step);
}

/* One step, damped by `lambda` times each column's own size. */
static bool
solve_step(const struct problem *problem, const double *b, double lambda,
           struct qs_least_squares *out)
{
    static double a[(POINTS + MOST) * MOST], r[POINTS + MOST];
    const int n = problem->unknowns;
    double size[MOST] = {0.0};
    int rows = data.count;

    for (int i = 0; i < data.count; i++) {
        for (int k = 0; k < n; k++) {
            a[i * n + k] = slope(problem, b, k, data.x[i]);
            size[k] += a[i * n + k] * a[i * n + k];
        }
        r[i] = data.y[i] - problem->at(b, data.x[i]);
    }
    for (int k = 0; lambda > 0.0 && k < n; k++, rows++) {
        for (int m = 0; m < n; m++)
            a[rows * n + m] = m == k ? sqrt(lambda * size[k]) : 0.0;
        r[rows] = 0.0;
    }
    return qs_least_squares_solve(a, r, rows, n, out);
}

static void
iterate(const struct problem *problem, double *b)
{
    double lambda = 1e-2, square = sum_of_squares(problem, b);

    for (int round = 0; round < 5000 && lambda < 1e20; round++) {
        struct qs_least_squares step;
        double next[MOST], now;

        if (!solve_step(problem, b, lambda, &step)) {
            lambda *= 10.0;
            continue;
        }
        for (int k = 0; k < problem->unknowns; k++)
            next[k] = b[k] + step.x[k];
        now = sum_of_squares(problem, next);
        if (now <= square) {
            memcpy(b, next, sizeof next);
            square = now;
            lambda = fmax(lambda * 0.2, 1e-18);
        } else {
            lambda *= 4.0;
        }
    }
}

static void
check(const struct problem *problem, int start)
{
    double b[MOST];
    struct qs_least_squares final;
    double variance;

    memcpy(b, data.start[start], sizeof b);
    iterate(problem, b);
    ck_assert_msg(solve_step(problem, b, 0.0, &final), "%s", problem->file);
    variance = final.square / (data.count - problem->unknowns);
    for (int k = 0; k < problem->unknowns; k++) {
        double se = sqrt(variance * final.covariance[k][k]);

        ck_assert_msg(fabs(b[k] / data.certified[k] - 1.0) < 1e-6,
                      "%s, start %d: b%d is %.10g, certified %.10g", problem->file,
                      start + 1, k + 1, b[k], data.certified[k]);
        ck_assert_msg(fabs(se / data.deviation[k] - 1.0) < 1e-4,
                      "%s, start %d: sd of b%d is %.10g, certified %.10g",
                      problem->file, start + 1, k + 1, se, data.deviation[k]);
    }
}

START_TEST(test_certified)
{
    for (size_t p = 0; p < sizeof problems / sizeof problems[0]; p++) {
        read_data(&problems[p]);
        check(&problems[p], 0);
        check(&problems[p], 1);
    }
}
END_TEST

/* Columns that say the same are told, not solved. */
START_TEST(test_dependent)
{
    double a[] = {1, 2, 2, 4, 3, 6}, b[] = {1, 2, 3};
    struct qs_least_squares out;

    ck_assert(!qs_least_squares_solve(a, b, 3, 2, &out));
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {test_dependent, test_certified};

    if (access(FOLDER "Misra1a.dat", R_OK) != 0)
        return QS_TEST_SKIPPED;
    return qs_run_tests("model on certified data", tests,
                        sizeof tests / sizeof tests[0]);
}
