/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What r, g and b have in common.  Each is a share of one field plus a field of its
 * own: the correlation is that share of the variance, by construction.  128 windows of
 * 64 cells and 15 x 64 differences inside them, none overlapping, have standard errors
 * of 0.012 and 0.003; the largest of three correlations lies about one error higher.
 */
#include "check_main.h"

#include "find_frames.h"
#include "flat/find_colours.h"

enum {
    SIDE_PX = 384 /* 96 cells: 144 windows of 8 cells side by side */
};

/* Fills r, g and b; `common` is the variance's share that one field gives all three. */
static struct find_frame
make_frame(double common, const double strength[3], unsigned seed)
{
    struct find_frame f = find_frame_new(SIDE_PX, SIDE_PX, QS_R);
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (int i = 0; i < SIDE_PX * SIDE_PX; i++) {
        double shared = sqrt(common) * qs_random_normal(&random), y = 0.0;

        for (int c = 0; c < 3; c++) {
            double own = sqrt(1.0 - common) * qs_random_normal(&random);
            double value = 0.217 + strength[c] * (shared + own);

            f.plane[c][i] = (float)value;
            y += find_weight[c] * f.plane[c][i];
        }
        f.plane[QS_Y][i] = (float)y;
    }
    return f;
}

static struct qs_colours
measure(const struct find_frame *f)
{
    struct qs_window_basis basis;
    struct qs_windows windows;
    struct qs_cells cells;
    struct qs_colours colours;
    struct qs_error err = {0};
    size_t list[256], count;

    ck_assert_int_eq(qs_cells_init(&cells, f->width, f->height, f->first, &err), QS_OK);
    find_fill(&cells, f, NULL);
    qs_window_basis_init(&basis, 8);
    ck_assert_int_eq(qs_windows_init(&windows, &cells, 8, &basis, &err), QS_OK);
    count = (size_t)windows.columns * (size_t)windows.rows;
    ck_assert_uint_eq(count, 144);
    for (size_t i = 0; i < count; i++)
        list[i] = i;
    qs_colours_measure(&colours, &windows, &cells, &basis, list, count);
    qs_windows_clear(&windows);
    qs_cells_clear(&cells);
    return colours;
}

START_TEST(test_share_in_common)
{
    /* The share, and whether the noise is each colour's own: a tenth of detail inside
       the cells is the most. */
    static const struct {
        double common;
        bool own;
    } table[] = {
        {0.0, true}, {0.05, true}, {0.17, false}, {0.31, false}, {0.83, false}};
    static const double strength[][3] = {{0.013, 0.013, 0.013}, {0.031, 0.007, 0.004}};

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        for (size_t k = 0; k < 2; k++) {
            struct find_frame f =
                make_frame(table[i].common, strength[k], 7 + (unsigned)i);
            struct qs_colours colours = measure(&f);

            ck_assert_double_eq_tol(colours.within, table[i].common, 0.02);
            ck_assert_double_eq_tol(colours.between, table[i].common, 0.05);
            ck_assert_int_eq(qs_colours_are_own(&colours), table[i].own);
            find_frame_free(&f);
        }
    }
}
END_TEST

START_TEST(test_the_same_in_all)
{
    /* A grey picture saved as RGB: nothing tells the channels apart. */
    static const double strength[3] = {0.013, 0.013, 0.013};
    struct find_frame f = make_frame(1.0, strength, 3);
    struct qs_colours colours = measure(&f);

    ck_assert_double_eq_tol(colours.between, 1.0, 1e-6);
    ck_assert(!qs_colours_are_own(&colours));
    find_frame_free(&f);
}
END_TEST

START_TEST(test_marks_of_gradients)
{
    /* Alike inside the cells and hardly between them, as gradients make noise; detail
       is as much alike between them, or more. */
    static const struct qs_colours noise = {0.22, 0.71}, coloured = {0.19, 0.54};
    static const struct qs_colours detail = {0.5, 0.5}, knit = {0.27, 0.42};

    ck_assert(qs_colours_are_own(&noise));
    ck_assert(qs_colours_are_own(&coloured));
    ck_assert(!qs_colours_are_own(&detail));
    ck_assert(!qs_colours_are_own(&knit));
}
END_TEST

QS_TEST_MAIN("find_colours", test_share_in_common, test_the_same_in_all,
             test_marks_of_gradients)
