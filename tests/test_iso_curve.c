/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Between ISO values: monotone where the points are, exact on straight lines, never
 * beyond the points (properties that Fritsch and Carlson 1980 state of their method,
 * from memory).
 */
#include "plan/iso_curve.h"

#include <math.h>

#include "check_main.h"

static struct qs_iso_curve
curve_of(const double *y, int count)
{
    struct qs_iso_curve curve = {.count = count};

    for (int i = 0; i < count; i++) {
        curve.x[i] = 6.0 + i;
        curve.y[i] = y[i];
        curve.se[i] = 0.01;
    }
    qs_iso_curve_prepare(&curve);
    return curve;
}

START_TEST(test_straight)
{
    const double y[] = {5.0, 4.5, 4.0, 3.5, 3.0};
    struct qs_iso_curve curve = curve_of(y, 5);
    bool beyond;
    double x;

    for (double at = 6.0; at <= 10.0; at += 0.125)
        ck_assert_double_eq_tol(qs_iso_curve_at(&curve, at, 0.0),
                                5.0 - 0.5 * (at - 6.0), 1e-12);
    ck_assert(qs_iso_curve_last(&curve, 0.0, 3.8, &x, &beyond));
    ck_assert(!beyond);
    ck_assert_double_eq_tol(x, 8.4, 1e-9);
    ck_assert(qs_iso_curve_last(&curve, 1.0, 3.8, &x, &beyond));
    ck_assert_double_eq_tol(x, 8.42, 1e-9);
    ck_assert(qs_iso_curve_last(&curve, 0.0, 2.9, &x, &beyond) && beyond);
    ck_assert_double_eq(x, 10.0);
    ck_assert(!qs_iso_curve_last(&curve, 0.0, 5.1, &x, &beyond));
}
END_TEST

START_TEST(test_never_beyond)
{
    const double y[] = {5.0, 4.9, 4.2, 4.1, 2.0, 1.9};
    struct qs_iso_curve curve = curve_of(y, 6);
    double before = 5.0;

    for (double at = 6.0; at <= 11.0; at += 0.01) {
        double now = qs_iso_curve_at(&curve, at, 0.0);

        ck_assert_double_le(now, before + 1e-12);
        ck_assert_double_ge(now, 1.9 - 1e-12);
        before = now;
    }
}
END_TEST

/* A camera that gets cleaner at its second gain step: the highest ISO is beyond it. */
START_TEST(test_second_step)
{
    const double y[] = {5.0, 4.5, 3.8, 4.3, 3.7};
    struct qs_iso_curve curve = curve_of(y, 5);
    bool beyond;
    double x;

    ck_assert(qs_iso_curve_last(&curve, 0.0, 4.0, &x, &beyond));
    ck_assert(!beyond && x > 9.0 && x < 10.0);
    ck_assert_double_eq_tol(qs_iso_curve_at(&curve, x, 0.0), 4.0, 1e-9);
}
END_TEST

START_TEST(test_few)
{
    const double y[] = {5.0, 4.0};
    struct qs_iso_curve one = curve_of(y, 1), two = curve_of(y, 2);
    bool beyond;
    double x;

    ck_assert_double_eq(qs_iso_curve_at(&one, 6.0, 0.0), 5.0);
    ck_assert(qs_iso_curve_last(&one, 0.0, 4.5, &x, &beyond) && beyond);
    ck_assert(!qs_iso_curve_last(&one, 0.0, 5.5, &x, &beyond));
    ck_assert_double_eq_tol(qs_iso_curve_at(&two, 6.25, 0.0), 4.75, 1e-12);
}
END_TEST

QS_TEST_MAIN("ISO curve", test_straight, test_never_beyond, test_second_step, test_few)
