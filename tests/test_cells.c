/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Expected values: the definitions in flat/cells.h, evaluated here in double. */
#include "check_main.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/random.h"
#include "flat/cells.h"

enum {
    WIDTH = 531, /* neither a multiple of a cell nor of a chunk */
    HEIGHT = 39
};

static float pixels[QS_CHANNELS][WIDTH * HEIGHT];
static unsigned char ends[WIDTH * HEIGHT];

static void
fill_all(struct qs_cells *cells, bool with_ends)
{
    for (int row = 0; row < cells->rows; row++) {
        const float *planes[QS_CHANNELS];
        size_t start = (size_t)row * (size_t)cells->side_px * WIDTH;

        for (int c = 0; c < QS_CHANNELS; c++)
            planes[c] = pixels[c] + start;
        qs_cells_fill_row(cells, row, planes, with_ends ? ends + start : NULL, WIDTH);
    }
}

/* Mean and variance of one cell by the textbook, in double. */
static void
expect_cell(const struct qs_cells *cells, int channel, int column, int row,
            double *mean, double *variance)
{
    const int side = cells->side_px;
    double sum = 0.0, square = 0.0;

    for (int pass = 0; pass < 2; pass++) {
        for (int y = 0; y < side; y++) {
            for (int x = 0; x < side; x++) {
                double value =
                    pixels[channel][(row * side + y) * WIDTH + column * side + x];

                if (pass == 0)
                    sum += value;
                else
                    square += (value - *mean) * (value - *mean);
            }
        }
        *mean = sum / (side * side);
    }
    *variance = square / (side * side - 1);
}

START_TEST(test_sides)
{
    /* Width, height, side: the sizes named in the header's contract. */
    static const int table[][3] = {{4, 4, 4},         {4928, 3264, 4}, {6000, 4000, 8},
                                   {8256, 5504, 8},   {8192, 8192, 8}, {9504, 6336, 8},
                                   {11648, 8736, 16}, {17, 9, 4}};

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct qs_error err = {0};
        struct qs_cells cells;

        ck_assert_int_eq(qs_cells_init(&cells, table[i][0], table[i][1], QS_Y, &err),
                         QS_OK);
        ck_assert_int_eq(cells.side_px, table[i][2]);
        ck_assert_int_eq(cells.columns, table[i][0] / table[i][2]);
        ck_assert_int_eq(cells.rows, table[i][1] / table[i][2]);
        ck_assert_int_le(cells.columns * cells.rows, 1300000);
        ck_assert_ptr_null(cells.mean[QS_G]);
        ck_assert_ptr_nonnull(cells.mean[QS_Y]);
        qs_cells_clear(&cells);
        qs_cells_clear(&cells); /* an empty one is allowed */
    }
}
END_TEST

START_TEST(test_values)
{
    struct qs_error err = {0};
    struct qs_random random;
    struct qs_cells cells;

    qs_random_seed(&random, 317);
    for (int c = 0; c < QS_CHANNELS; c++) {
        for (int i = 0; i < WIDTH * HEIGHT; i++)
            pixels[c][i] =
                (float)(0.0317 * c + 0.21 + 0.013 * qs_random_normal(&random));
    }
    ck_assert_int_eq(qs_cells_init(&cells, WIDTH, HEIGHT, QS_R, &err), QS_OK);
    fill_all(&cells, false);
    for (int c = 0; c < QS_CHANNELS; c++) {
        for (int i = 0; i < cells.columns * cells.rows; i++) {
            double mean, variance;

            expect_cell(&cells, c, i % cells.columns, i / cells.columns, &mean,
                        &variance);
            /* A float holds 6e-8 of its value; sums of 16 lose a few times that. */
            ck_assert_double_eq_tol(cells.mean[c][i], mean, 1e-6 * mean);
            ck_assert_double_eq_tol(cells.variance[c][i], variance, 1e-4 * variance);
            ck_assert_int_eq(cells.clipped[i], 0);
        }
    }
    qs_cells_clear(&cells);
}
END_TEST

START_TEST(test_no_cancellation)
{
    /* 1 part in 4000 of noise: squares of the values would leave nothing of it. */
    struct qs_error err = {0};
    struct qs_cells cells;

    for (int i = 0; i < WIDTH * HEIGHT; i++)
        pixels[QS_Y][i] = (i + i / WIDTH) % 2 == 0 ? 0.731F : 0.731F + 0x1p-12F;
    ck_assert_int_eq(qs_cells_init(&cells, WIDTH, HEIGHT, QS_Y, &err), QS_OK);
    fill_all(&cells, false);
    for (int i = 0; i < cells.columns * cells.rows; i++) {
        /* 16 values half a step either side of their mean, over 15. */
        ck_assert_double_eq_tol(cells.variance[QS_Y][i], 16.0 / 15.0 * 0x1p-26, 1e-11);
    }
    qs_cells_clear(&cells);
}
END_TEST

START_TEST(test_constant_is_exact)
{
    struct qs_error err = {0};
    struct qs_cells cells;

    for (int i = 0; i < WIDTH * HEIGHT; i++)
        pixels[QS_Y][i] = 0.317F;
    ck_assert_int_eq(qs_cells_init(&cells, WIDTH, HEIGHT, QS_Y, &err), QS_OK);
    fill_all(&cells, false);
    for (int i = 0; i < cells.columns * cells.rows; i++) {
        ck_assert(cells.mean[QS_Y][i] == 0.317F);
        ck_assert(cells.variance[QS_Y][i] == 0.0F);
    }
    qs_cells_clear(&cells);
}
END_TEST

START_TEST(test_clipped)
{
    struct qs_error err = {0};
    struct qs_cells cells;

    memset(ends, 0, sizeof ends);
    for (int y = 0; y < 4; y++) {
        for (int x = 0; x < 4; x++) {
            ends[y * WIDTH + 8 + x] = 2;                /* all of the third cell */
            ends[(4 + y) * WIDTH + x] = y == 0 ? 7 : 0; /* a quarter of one below */
        }
    }
    ck_assert_int_eq(qs_cells_init(&cells, WIDTH, HEIGHT, QS_R, &err), QS_OK);
    fill_all(&cells, true);
    ck_assert_int_eq(cells.clipped[0], 0);
    ck_assert_int_eq(cells.clipped[2], 255);
    ck_assert_int_eq(cells.clipped[cells.columns], 64); /* 255 / 4, rounded */
    qs_cells_clear(&cells);
}
END_TEST

START_TEST(test_refusals)
{
    struct qs_error err = {0};
    struct qs_cells cells;

    ck_assert_int_eq(qs_cells_init(&cells, 3, 400, QS_R, &err), QS_ERR_TOO_FEW);
    ck_assert_int_gt((int)strlen(err.text), 20);
    qs_cells_clear(&cells);
    for (long n = 0;; n++) {
        enum qs_status status;

        qs_alloc_fail_at(n);
        qs_error_clear(&err);
        status = qs_cells_init(&cells, WIDTH, HEIGHT, QS_R, &err);
        qs_alloc_fail_at(-1);
        qs_cells_clear(&cells);
        if (status == QS_OK)
            break;
        ck_assert_int_eq(status, QS_ERR_MEMORY);
        ck_assert_int_lt(n, 20);
    }
}
END_TEST

QS_TEST_MAIN("cells", test_sides, test_values, test_no_cancellation,
             test_constant_is_exact, test_clipped, test_refusals)
