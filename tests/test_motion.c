/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_motion.c - blur of a moving subject in delivered pixels
 */
#include "plan/motion.h"

#include <math.h>

#include "check_main.h"

/* A glass blower's pipe, 0.5 m/s across a field of 2 m. */
static const struct qs_movement pipe = {0.5, 2.0};

/* Rule of three: 0.5 m/s over 2 m is a quarter of the picture a second, 960 of 3840 px;
   a 1/50 s smears 19.2 px. */
START_TEST(blur_by_rule_of_three)
{
    double longest = 0.0;

    ck_assert_double_eq_tol(qs_blur_px(&pipe, 3840.0, 1.0 / 50.0), 19.2, 1e-12);
    ck_assert(qs_blur_longest_s(&pipe, 3840.0, 1.0, &longest));
    ck_assert_double_eq_tol(longest, 1.0 / 960.0, 1e-15);
}
END_TEST

/* At k = 2 blur is halved in delivered pixels: one stop of shutter (common practice, no
   source; follows from the rule of three). */
START_TEST(half_the_width_is_a_stop_of_shutter)
{
    double native = 0.0, small = 0.0;

    ck_assert(qs_blur_longest_s(&pipe, 8256.0, QS_BLUR_LIMIT_PX, &native));
    ck_assert(qs_blur_longest_s(&pipe, 4128.0, QS_BLUR_LIMIT_PX, &small));
    ck_assert_double_eq_tol(log2(small / native), 1.0, 1e-12);
}
END_TEST

/* The longest exposure for a limit has just that blur. */
START_TEST(there_and_back)
{
    for (double limit = 0.25; limit <= 8.0; limit *= 1.7) {
        struct qs_movement movement = {0.0317 * limit, 3.17 / limit};
        double longest = 0.0;

        ck_assert(qs_blur_longest_s(&movement, 4961.0, limit, &longest));
        ck_assert_double_eq_tol(qs_blur_px(&movement, 4961.0, longest), limit, 1e-12);
    }
}
END_TEST

START_TEST(what_holds_still_has_no_limit)
{
    struct qs_movement still = {0.0, 2.0};
    double longest = 3.17;

    ck_assert(!qs_blur_longest_s(&still, 3840.0, 1.0, &longest));
    ck_assert(longest == 3.17);
    ck_assert(qs_blur_px(&still, 3840.0, 30.0) == 0.0);
}
END_TEST

/* The transform of a line of even light is sin x / x (any text on Fourier optics): 2/pi
   at a half, 0.900316 at a quarter, 0 where a whole wave fits; the header says 10 % and
   36 % of it. */
START_TEST(contrast_of_a_smear)
{
    ck_assert_double_eq_tol(qs_blur_contrast(1.0, 0.25), 0.900316, 5e-7);
    ck_assert_double_eq_tol(qs_blur_contrast(1.0, 0.5), 0.636620, 5e-7);
    ck_assert_double_eq_tol(qs_blur_contrast(4.0, 0.25), 0.0, 1e-15);
    ck_assert(qs_blur_contrast(0.0, 0.5) == 1.0);
    ck_assert(qs_blur_contrast(3.17, 0.0) == 1.0);
}
END_TEST

QS_TEST_MAIN("motion", blur_by_rule_of_three, half_the_width_is_a_stop_of_shutter,
             there_and_back, what_holds_still_has_no_limit, contrast_of_a_smear)
