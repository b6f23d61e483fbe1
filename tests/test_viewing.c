/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_viewing.c - pixels per degree, per inch by distance, and of sheets
 *
 * Angles are geometry; figures marked "computed" were worked out outside this program.
 */
#include "plan/viewing.h"

#include <math.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

/*
 * Pixels per degree = 2 d tan(0.5 deg) / pitch (a public text on viewing conditions;
 * computed, half of the last digit): prints, IEEE 1858's cases, and screens by pitch.
 */
START_TEST(pixels_per_degree)
{
    static const double prints[][3] = {{300, 0.3, 61.844},
                                       {300, 0.4, 82.459},
                                       {300, 0.5, 103.073},
                                       {240, 0.5, 82.459},
                                       {96, 0.5, 32.983}};
    /* pitches are printed to 5 digits, so 4e-5 of the value besides */
    static const double screens[][3] = {{0.254, 0.6, 41.229},
                                        {0.13836, 0.6, 75.687},
                                        {0.15566, 0.6, 67.277},
                                        {0.23349, 0.6, 44.852},
                                        {0.27673, 0.6, 37.843}};

    for (size_t i = 0; i < COUNT(prints); i++)
        ck_assert_double_eq_tol(qs_pixels_per_degree(prints[i][0], prints[i][1]),
                                prints[i][2], 5e-4 + 1e-9);
    for (size_t i = 0; i < COUNT(screens); i++)
        ck_assert_double_eq_tol(
            qs_pixels_per_degree(qs_ppi_of_pitch(screens[i][0]), screens[i][1]),
            screens[i][2], 5e-4 + 4e-5 * screens[i][2]);
}
END_TEST

/* 1080 rows at 3 picture heights are 56.550 to the degree (computed). */
START_TEST(screen_by_its_size)
{
    double ppi = qs_ppi_of_screen(531.3, 1920);

    ck_assert_double_eq_tol(ppi, 25.4 * 1920.0 / 531.3, 1e-9);
    ppi = qs_ppi_of_screen(1000.0, 1080);
    ck_assert_double_eq_tol(qs_pixels_per_degree(ppi, 3.0), 56.550, 5e-4);
}
END_TEST

/* A pixel of one arc-minute is seen from 3437.66 pitches (computed). */
START_TEST(one_arc_minute)
{
    for (double ppi = 10.0; ppi < 700.0; ppi *= 1.317) {
        double distance = qs_distance_for_viewing_m(ppi, QS_VIEWING_ARCMIN);

        ck_assert_double_eq_tol(distance * 1000.0 / 25.4 * ppi, 3437.66, 5e-3);
        ck_assert_double_eq_tol(qs_pixels_per_degree(ppi, distance), 60.0, 1e-9);
        ck_assert_double_eq_tol(qs_ppi_for_viewing(distance, QS_VIEWING_ARCMIN), ppi,
                                1e-9 * ppi);
        ck_assert_double_eq_tol(qs_ppi_for_viewing(distance, 2.0), ppi / 2.0,
                                1e-9 * ppi);
    }
}
END_TEST

/* The trade's table, about 8700 over centimetres, printed to the whole number or so: 30
   cm 290, 50 cm 175, 1 m 87, 5 m 18 (common practice, no source). */
START_TEST(ppi_by_distance)
{
    static const double table[][3] = {
        {0.3, 290, 1.5}, {0.5, 175, 0.5}, {1.0, 87, 0.5}, {5.0, 18, 0.6}};

    for (size_t i = 0; i < COUNT(table); i++)
        ck_assert_double_eq_tol(qs_ppi_for_viewing(table[i][0], 1.0), table[i][1],
                                table[i][2]);
}
END_TEST

/* ISO 216 sheets at 300 ppi, rounded (mm / 25.4 x 300, computed; A1 also read in a
   public text), a sheet with bleed, and two at 200 and 300 as briefs name them. */
START_TEST(sheets_in_pixels)
{
    static const struct {
        struct qs_paper sheet;
        int width_px, height_px;
    } table[] = {
        {{148, 210, 0, 300}, 1748, 2480}, {{210, 297, 0, 300}, 2480, 3508},
        {{297, 420, 0, 300}, 3508, 4961}, {{420, 594, 0, 300}, 4961, 7016},
        {{594, 841, 0, 300}, 7016, 9933}, {{841, 1189, 0, 300}, 9933, 14043},
        {{297, 210, 3, 300}, 3579, 2551}, {{594, 420, 0, 200}, 4677, 3307},
        {{25.4, 25.4, 0, 0.6}, 1, 1},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        int width = 0, height = 0;

        ck_assert(qs_paper_pixels(&table[i].sheet, &width, &height));
        ck_assert_int_eq(width, table[i].width_px);
        ck_assert_int_eq(height, table[i].height_px);
    }
}
END_TEST

START_TEST(sheets_that_are_none)
{
    static const struct qs_paper table[] = {
        {210, 297, 0, 0.01}, {210, 297, 0, 1e9}, {1e30, 297, 0, 300}};

    for (size_t i = 0; i < COUNT(table); i++) {
        struct qs_paper_fit fit = {.reduction = 3.17};
        int width = 317, height = 317;

        ck_assert(!qs_paper_pixels(&table[i], &width, &height));
        ck_assert(width == 317 && height == 317);
        ck_assert(!qs_paper_fit_of(&table[i], 8256, 5504, &fit));
        ck_assert(fit.reduction == 3.17);
    }
}
END_TEST

/* A 45 MP frame, 8256 x 5504, on A3 at 300 ppi, by hand: the sheet is 1.4142 as wide as
   high, so 7784 of 8256 columns are kept, and 5504 rows become 3508. */
START_TEST(a_frame_on_a_sheet)
{
    struct qs_paper a3 = {420, 297, 0, 300};
    struct qs_paper_fit fit;

    ck_assert(qs_paper_fit_of(&a3, 8256, 5504, &fit));
    ck_assert_int_eq(fit.crop.height, 5504);
    ck_assert_int_eq(fit.crop.width, 7784);
    ck_assert_int_eq(fit.crop.x, 236);
    ck_assert_int_eq(fit.width_px, 4961);
    ck_assert_int_eq(fit.height_px, 3508);
    ck_assert_double_eq_tol(fit.reduction, 5504.0 / 3508.0, 1e-3);
}
END_TEST

/* Upright or lying, the sheet is turned the frame's way; bleed makes the reduction
   smaller, for the same frame has to reach further. */
START_TEST(turned_and_with_bleed)
{
    struct qs_paper upright = {210, 297, 0, 300}, lying = {297, 210, 0, 300};
    struct qs_paper bleed = {297, 210, 3, 300}, large = {841, 1189, 0, 300};
    struct qs_paper_fit a, b, c;

    ck_assert(qs_paper_fit_of(&upright, 8256, 5504, &a));
    ck_assert(qs_paper_fit_of(&lying, 8256, 5504, &b));
    ck_assert_mem_eq(&a.crop, &b.crop, sizeof a.crop);
    ck_assert_int_eq(a.width_px, 3508);
    ck_assert_double_eq(a.reduction, b.reduction);

    ck_assert(qs_paper_fit_of(&lying, 5504, 8256, &c));
    ck_assert_int_eq(c.height_px, 3508);
    ck_assert_double_eq(c.reduction, a.reduction);

    ck_assert(qs_paper_fit_of(&bleed, 8256, 5504, &c));
    ck_assert_double_lt(c.reduction, a.reduction);
    ck_assert_double_eq_tol(c.reduction, 5504.0 / 2551.0, 1e-3);

    ck_assert(qs_paper_fit_of(&large, 8256, 5504, &c));
    ck_assert_double_lt(c.reduction, 1.0);
}
END_TEST

QS_TEST_MAIN("viewing", pixels_per_degree, screen_by_its_size, one_arc_minute,
             ppi_by_distance, sheets_in_pixels, sheets_that_are_none,
             a_frame_on_a_sheet, turned_and_with_bleed)
