/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_shading.c - the second-order surface: fitted exactly, taken off, extended
 */
#include "flat/shading.h"

#include <float.h>
#include <math.h>

#include "base/memory.h"
#include "base/random.h"
#include "check_main.h"
#include "noise_fields.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

enum {
    MOST = 317 * 211
};

static float px[MOST];
static double residual[MOST];
static const int sizes[][2] = {{317, 211}, {64, 64}, {16, 16},
                               {8, 8},     {8, 91},  {57, 9}};

static struct qs_shading_basis
basis_of(int width, int height)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_shading_basis basis;

    ck_assert_int_eq(qs_shading_basis_init(&basis, width, height, &err), QS_OK);
    return basis;
}

/* A bright patch with a fall-off of some 5 %, in pixels from the top left one. */
static double
surface(double x, double y)
{
    return 0.317 + 1.3e-4 * x - 0.7e-4 * y - 1.1e-7 * x * x + 2.3e-7 * x * y +
           0.9e-7 * y * y;
}

static void
fill(int width, int height, double (*value)(double, double))
{
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            px[y * width + x] = (float)value(x, y);
}

static double
inner(const double *a, const double *b, int n)
{
    double sum = 0.0;

    for (int i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

START_TEST(orthonormal)
{
    for (size_t k = 0; k < COUNT(sizes); k++) {
        int n = sizes[k][0];
        struct qs_shading_basis basis = basis_of(n, sizes[k][1]);

        for (int i = 0; i < QS_SHADING_ORDERS; i++)
            for (int j = 0; j < QS_SHADING_ORDERS; j++)
                ck_assert_double_eq_tol(inner(basis.x + i * n, basis.x + j * n, n),
                                        (i == j ? 1.0 : 0.0), n * DBL_EPSILON);
        qs_shading_basis_clear(&basis);
    }
}
END_TEST

/*
 * Closed forms of the Gram polynomials on n points at t = i - (n - 1) / 2: t over the
 * root of n (n^2 - 1) / 12, and t^2 - (n^2 - 1) / 12 over the root of
 * n (n^2 - 1) (n^2 - 4) / 180.
 */
START_TEST(closed_forms)
{
    for (size_t k = 0; k < COUNT(sizes); k++) {
        int n = sizes[k][1];
        double n2 = (double)n * n;
        struct qs_shading_basis basis = basis_of(sizes[k][0], n);

        for (int i = 0; i < n; i++) {
            double t = i - (n - 1) / 2.0;

            ck_assert_double_eq_tol(basis.y[i], 1.0 / sqrt(n), 1e-14);
            ck_assert_double_eq_tol(basis.y[n + i], t / sqrt(n * (n2 - 1.0) / 12.0),
                                    1e-14);
            ck_assert_double_eq_tol(basis.y[2 * n + i],
                                    (t * t - (n2 - 1.0) / 12.0) /
                                        sqrt(n * (n2 - 1.0) * (n2 - 4.0) / 180.0),
                                    1e-13);
        }
        qs_shading_basis_clear(&basis);
    }
}
END_TEST

/* All that is left of a surface is the rounding of its pixels to float: at most half a
   unit, 3e-8 of values below 0.5. */
START_TEST(surfaces_vanish)
{
    for (size_t k = 0; k < COUNT(sizes); k++) {
        int width = sizes[k][0], height = sizes[k][1];
        struct qs_shading_basis basis = basis_of(width, height);
        struct qs_plane plane = {px, width, height, width};
        struct qs_surface fitted;
        double worst = 0.0, mean = 0.0, got;

        fill(width, height, surface);
        for (int i = 0; i < width * height; i++)
            mean += (double)px[i] / (width * height);
        got = qs_shading_remove(&basis, &plane, residual, &fitted);
        for (int i = 0; i < width * height; i++)
            worst = fmax(worst, fabs(residual[i]));
        ck_assert_double_lt(worst, 3e-8);
        ck_assert_double_eq_tol(got, mean, 1e-13);
        qs_shading_basis_clear(&basis);
    }
}
END_TEST

/* The surface goes on beyond the patch.  Rounding of the pixels, 9e-9 rms, grows
   with the square of the distance: to below 1e-6 one patch away. */
START_TEST(surfaces_go_on_outside)
{
    for (size_t k = 0; k < COUNT(sizes); k++) {
        int width = sizes[k][0], height = sizes[k][1];
        struct qs_shading_basis basis = basis_of(width, height);
        struct qs_plane plane = {px, width, height, width};
        struct qs_surface fitted;

        fill(width, height, surface);
        (void)qs_shading_remove(&basis, &plane, residual, &fitted);
        for (double y = -height; y <= 2 * height; y += height / 7.3)
            for (double x = -width; x <= 2 * width; x += width / 7.3)
                ck_assert_double_eq_tol(qs_surface_at(&basis, &fitted, x, y),
                                        surface(x, y), 1e-6);
        qs_shading_basis_clear(&basis);
    }
}
END_TEST

/* Third-order terms are noise to this fit: they must not vanish. */
static double
third_order(double x, double y)
{
    return 0.2 + 1e-6 * (x - 30.0) * (x - 30.0) * (x - 30.0) + 0.0 * y;
}

START_TEST(third_order_stays)
{
    struct qs_shading_basis basis = basis_of(64, 64);
    struct qs_plane plane = {px, 64, 64, 64};
    struct qs_surface fitted;

    fill(64, 64, third_order);
    (void)qs_shading_remove(&basis, &plane, residual, &fitted);
    ck_assert_double_gt(inner(residual, residual, 64 * 64) / (64 * 64), 1e-7);
    qs_shading_basis_clear(&basis);
}
END_TEST

/* Least squares: the residual is orthogonal to every term, and the plane is the
   surface plus the residual. */
START_TEST(least_squares)
{
    struct qs_shading_basis basis = basis_of(57, 91);
    struct qs_plane plane = {px, 57, 91, 57};
    struct qs_surface fitted;
    struct qs_random random;

    qs_random_seed(&random, 317);
    for (int i = 0; i < 57 * 91; i++)
        px[i] = (float)(0.5 + 0.01 * qs_random_normal(&random));
    (void)qs_shading_remove(&basis, &plane, residual, &fitted);
    for (int t = 0; t < QS_SHADING_TERMS; t++) {
        double sum = 0.0;

        for (int y = 0; y < 91; y++)
            for (int x = 0; x < 57; x++)
                sum += residual[y * 57 + x] * basis.x[qs_shading_term[t][0] * 57 + x] *
                       basis.y[qs_shading_term[t][1] * 91 + y];
        ck_assert_double_eq_tol(sum, 0.0, 1e-14);
    }
    for (int i = 0; i < 57 * 91; i++)
        ck_assert_double_eq_tol(residual[i] +
                                    qs_surface_at(&basis, &fitted, i % 57, i / 57),
                                (double)px[i], 1e-12);
    qs_shading_basis_clear(&basis);
}
END_TEST

/*
 * Six terms take six degrees of freedom: the mean square left of white noise is
 * sd^2 (N - 6) / N.  It is chi-square with N - 6 degrees of freedom, so the mean of T
 * patches has a relative standard error sqrt(2 / (T (N - 6))); 4.5 are allowed.
 */
START_TEST(six_degrees_of_freedom)
{
    static const int sides[] = {8, 16, 64};

    for (size_t k = 0; k < COUNT(sides); k++) {
        int n = sides[k], count = n * n, patches = field_seeds(k < 2 ? 4000 : 400);
        struct qs_shading_basis basis = basis_of(n, n);
        struct qs_plane plane = {px, n, n, n};
        struct qs_surface fitted;
        struct qs_random random;
        double sum = 0.0, expected = (count - 6.0) / count;

        qs_random_seed(&random, 20 + k);
        for (int t = 0; t < patches; t++) {
            for (int i = 0; i < count; i++)
                px[i] = (float)qs_random_normal(&random);
            (void)qs_shading_remove(&basis, &plane, residual, &fitted);
            sum += inner(residual, residual, count) / count / patches;
        }
        ck_assert_double_eq_tol(sum, expected,
                                4.5 * expected * sqrt(2.0 / (patches * (count - 6.0))));
        qs_shading_basis_clear(&basis);
    }
}
END_TEST

/* A plane with longer rows than the patch gives the same as a tight one. */
START_TEST(rows_may_be_longer)
{
    struct qs_shading_basis basis = basis_of(40, 30);
    struct qs_plane whole = {px, 91, 60, 91};
    struct qs_plane part = qs_plane_part(&whole, (struct qs_box){17, 13, 40, 30});
    struct qs_surface fitted;

    fill(91, 60, surface);
    (void)qs_shading_remove(&basis, &part, residual, &fitted);
    ck_assert_double_eq_tol(qs_surface_at(&basis, &fitted, -17.0, -13.0), 0.317, 1e-6);
    ck_assert_double_eq_tol(qs_surface_at(&basis, &fitted, 5.0, 7.0),
                            surface(22.0, 20.0), 1e-7);
    qs_shading_basis_clear(&basis);
}
END_TEST

START_TEST(memory_runs_out)
{
    struct qs_shading_basis basis;

    for (long n = 0; n < 2; n++) {
        struct qs_error err = {QS_OK, ""};

        qs_alloc_fail_at(n);
        ck_assert_int_eq(qs_shading_basis_init(&basis, 64, 64, &err), QS_ERR_MEMORY);
        ck_assert_ptr_null(basis.x);
        ck_assert_ptr_null(basis.y);
    }
    qs_alloc_fail_at(-1);
    qs_shading_basis_clear(&basis);
}
END_TEST

QS_TEST_MAIN("shading", orthonormal, closed_forms, surfaces_vanish,
             surfaces_go_on_outside, third_order_stays, least_squares,
             six_degrees_of_freedom, rows_may_be_longer, memory_runs_out)
