/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_contrast.c - the eye's contrast sensitivity against published figures
 *
 * Every figure is printed to so many digits, some of them cut rather than rounded;
 * tolerances are half of the last digit, or a whole one where it is said, or what that
 * becomes after division by the peak.
 */
#include "fall/contrast.h"

#include <math.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

/*
 * 75 f^0.8 exp(-0.2 f), the luminance curve of Movshon and Kiorpes 1988 as Johnson and
 * Fairchild 2003 use it (public texts), worked out outside the project to 3 decimals.
 */
static const double luminance[][2] = {
    {0.5, 38.977}, {1.0, 61.405},  {2.0, 87.532}, {4.0, 102.158},
    {8.0, 79.921}, {16.0, 28.094}, {30.0, 2.825},
};

START_TEST(light_and_dark_as_published)
{
    struct qs_contrast eye;

    qs_contrast_fill(QS_EYE_JOHNSON_FAIRCHILD, NULL, &eye);
    ck_assert_double_eq_tol(eye.peak, 102.158, 5.1e-4);
    ck_assert_double_eq_tol(eye.peak_cpd, 0.8 / 0.2, 1e-6); /* where its slope is 0 */
    for (size_t i = 0; i < COUNT(luminance); i++)
        ck_assert_double_eq_tol(
            qs_contrast_at(&eye, QS_OPPONENT_LIGHTNESS, luminance[i][0]),
            luminance[i][1] / 102.158, 1.1e-3 / 102.158);
}
END_TEST

/*
 * The two sums of two exponentials of Johnson and Fairchild 2003 (public texts; the
 * unrounded first rate of yellow-blue from memory), over their values at 0, worked out
 * outside the project.  Half of the last digit that yellow-blue's second rate, 0.1039,
 * is printed with moves that curve by up to 1.5e-4; its column keeps digits beyond the
 * printed ones, and lies within a third of that.
 */
static const struct colour_row {
    double cpd, red_green, yellow_blue;
} colour[] = {
    {1.0, 0.99810, 0.91585}, {2.0, 0.99026, 0.76291},  {4.0, 0.94396, 0.45412},
    {8.0, 0.66733, 0.17794}, {16.0, 0.10691, 0.08623}, {30.0, 0.00134, 0.000061},
};

START_TEST(colour_as_published)
{
    for (int which = 0; which < (int)QS_EYES; which++) {
        struct qs_contrast eye;

        qs_contrast_fill((enum qs_eye)which, NULL, &eye);
        for (size_t i = 0; i < COUNT(colour); i++) {
            ck_assert_double_eq_tol(
                qs_contrast_at(&eye, QS_OPPONENT_RED_GREEN, colour[i].cpd),
                colour[i].red_green, 5.1e-6);
            ck_assert_double_eq_tol(
                qs_contrast_at(&eye, QS_OPPONENT_YELLOW_BLUE, colour[i].cpd),
                colour[i].yellow_blue, 5e-5);
        }
    }
}
END_TEST

/* With its first rate printed as 0, yellow-blue would never fall below 7.0328 /
   47.7238 = 14.7 %. */
START_TEST(fine_yellow_blue_is_not_seen)
{
    struct qs_contrast eye;

    qs_contrast_fill(QS_EYE_BARTEN, NULL, &eye);
    ck_assert_double_lt(qs_contrast_at(&eye, QS_OPPONENT_YELLOW_BLUE, 40.0), 1e-6);
}
END_TEST

/*
 * Check values that colour-science (colour/contrast/barten1999.py) prints beside
 * its own functions, read there: optics at 4 cpd for a spread of 0.01 degree, the
 * spread of a pupil of 2.1 mm, its retinal light at 100 cd/m2, and sensitivity at 4 cpd
 * for 20 cd/m2 and 60 degrees.
 */
START_TEST(barten_as_another_library_has_it)
{
    const struct qs_eye_scene bright = {100.0, 60.0}, dim = {20.0, 60.0};
    struct qs_barten eye, sharp;

    qs_barten_fill(&bright, 2.1, &eye);
    ck_assert_double_eq_tol(eye.retinal_td, 330.4115803, 5e-8);
    ck_assert_double_eq_tol(eye.blur_deg, 0.0087911, 1e-7); /* cut */
    sharp = eye;
    eye.blur_deg = 0.01;
    sharp.blur_deg = 0.0;
    ck_assert_double_eq_tol(qs_barten_at(&eye, 4.0) / qs_barten_at(&sharp, 4.0),
                            0.9689107, 1e-7); /* cut */
    qs_barten_fill(&dim, 2.1, &eye);
    ck_assert_double_eq_tol(qs_barten_at(&eye, 4.0), 360.8691122, 5.1e-8);
}
END_TEST

/*
 * The pupil by the base-10 logarithm, which is Barten's (from memory): 2.7931 mm at 100
 * cd/m2 and 60 degrees, 4.076 mm at 10 degrees (worked out outside the project).  By
 * the natural logarithm, as some copies have it, the first would be 2.0778.
 */
START_TEST(pupil_by_the_right_logarithm)
{
    const struct qs_eye_scene wide = {100.0, 60.0};
    struct qs_contrast eye;

    ck_assert_double_eq_tol(qs_barten_pupil_mm(&wide), 2.7931, 5.1e-5);
    qs_contrast_fill(QS_EYE_BARTEN, NULL, &eye);
    ck_assert_double_eq_tol(eye.barten.pupil_mm, 4.076, 5.1e-4);
    ck_assert_double_eq_tol(eye.barten.retinal_td, 1089.66, 5.1e-3);
}
END_TEST

/* Barten 1999 with that pupil, 10 degrees, 100 cd/m2: worked out outside the project
   from the published equations, to 2 decimals. */
static const double barten[][2] = {
    {0.5, 227.87}, {1.0, 413.94},  {2.0, 621.63}, {4.0, 668.52},
    {8.0, 466.12}, {16.0, 179.22}, {32.0, 20.13},
};

START_TEST(barten_as_published)
{
    struct qs_contrast eye;

    qs_contrast_fill(QS_EYE_BARTEN, NULL, &eye);
    for (size_t i = 0; i < COUNT(barten); i++) {
        double cpd = barten[i][0];

        ck_assert_double_eq_tol(qs_barten_at(&eye.barten, cpd), barten[i][1], 5.1e-3);
        ck_assert_double_eq_tol(qs_contrast_at(&eye, QS_OPPONENT_LIGHTNESS, cpd) *
                                    eye.peak,
                                barten[i][1], 5.1e-3);
    }
    ck_assert_double_ge(eye.peak, 668.52); /* the table's largest is at most the peak */
}
END_TEST

/* What the header promises: from `low` to `high` each step rises, or each falls. */
static void
check_steps(const struct qs_contrast *eye, enum qs_opponent opponent, double low,
            double high, bool rises)
{
    const int steps = 100;
    double before = qs_contrast_at(eye, opponent, low);

    for (int i = 1; i <= steps; i++) {
        double cpd = low + (high - low) * i / steps;
        double at = qs_contrast_at(eye, opponent, cpd);

        ck_assert_msg(rises ? at > before : at < before, "%s at %g",
                      qs_eye_row(eye->eye)->key, cpd);
        ck_assert(at >= 0.0 && at <= 1.0);
        before = at;
    }
}

START_TEST(every_eye_keeps_the_contract)
{
    for (int which = 0; which < (int)QS_EYES; which++) {
        const struct qs_eye_row *row = qs_eye_row((enum qs_eye)which);
        struct qs_contrast eye;

        ck_assert_int_eq(qs_eye_find(row->key), which);
        ck_assert(row->label[0] != '\0' && row->source[0] != '\0');
        qs_contrast_fill((enum qs_eye)which, NULL, &eye);
        ck_assert_double_eq(qs_contrast_at(&eye, QS_OPPONENT_LIGHTNESS, eye.peak_cpd),
                            1.0);
        ck_assert_double_eq(qs_contrast_at(&eye, QS_OPPONENT_LIGHTNESS, 0.0), 0.0);
        check_steps(&eye, QS_OPPONENT_LIGHTNESS, 0.0, eye.peak_cpd, true);
        check_steps(&eye, QS_OPPONENT_LIGHTNESS, eye.peak_cpd, 60.0, false);
        for (int k = QS_OPPONENT_RED_GREEN; k < (int)QS_OPPONENTS; k++) {
            ck_assert_double_eq(qs_contrast_at(&eye, (enum qs_opponent)k, 0.0), 1.0);
            check_steps(&eye, (enum qs_opponent)k, 0.0, 60.0, false);
        }
    }
    ck_assert_int_eq(qs_eye_find("owl"), -1);
}
END_TEST

/* In less light fine patterns go first, as every text on the eye has it; an eye that
   heeds no scene stays. */
START_TEST(less_light_less_detail)
{
    const struct qs_eye_scene dusk = {1.0, 10.0};

    for (int which = 0; which < (int)QS_EYES; which++) {
        struct qs_contrast usual, dim;
        double day, night;

        qs_contrast_fill((enum qs_eye)which, &qs_eye_usual, &usual);
        qs_contrast_fill((enum qs_eye)which, &dusk, &dim);
        day = qs_contrast_at(&usual, QS_OPPONENT_LIGHTNESS, 20.0);
        night = qs_contrast_at(&dim, QS_OPPONENT_LIGHTNESS, 20.0);
        if (qs_eye_row((enum qs_eye)which)->heeds_scene) {
            ck_assert_double_lt(night, 0.9 * day);
            ck_assert_double_lt(dim.peak_cpd, usual.peak_cpd);
            ck_assert_double_lt(dim.peak, usual.peak);
        } else {
            ck_assert_double_eq(night, day);
        }
    }
}
END_TEST

QS_TEST_MAIN("contrast", light_and_dark_as_published, colour_as_published,
             fine_yellow_blue_is_not_seen, barten_as_another_library_has_it,
             pupil_by_the_right_logarithm, barten_as_published,
             every_eye_keeps_the_contract, less_light_less_detail)
