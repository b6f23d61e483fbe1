/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Steps of lossy compression under strong noise.  Pictures are made here from the
 * definitions of ITU-T T.81 (JPEG): the cosine transform of its A.3.3 and the
 * luminance steps of its table K.1 (from memory), scaled to quality 95 as is common
 * practice.
 */
#include "check_main.h"

#include <math.h>
#include <stdio.h>

#include "base/random.h"
#include "measure/traces_dct.h"

enum {
    SIDE = 128,
    PATCH = 104
};

static const double pi = 3.14159265358979323846;

/* Table K.1 times 0.1, rounded, never under 1: quality 95. */
static const int steps_95[8][8] = {
    {2, 1, 1, 2, 2, 4, 5, 6},     {1, 1, 1, 2, 3, 6, 6, 6},
    {1, 1, 2, 2, 4, 6, 7, 6},     {1, 2, 2, 3, 5, 9, 8, 6},
    {2, 2, 4, 6, 7, 11, 10, 8},   {2, 4, 6, 6, 8, 10, 11, 9},
    {5, 6, 8, 9, 10, 12, 12, 10}, {7, 9, 10, 10, 11, 10, 10, 10}};

static double
light_of(double code)
{
    double v = code / 255.0;

    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static double
scale(int k)
{
    return k == 0 ? sqrt(0.125) : 0.5;
}

/* One block there and back through its steps. */
static void
lose(double *luma, int x0, int y0)
{
    double wave[8][8];

    for (int v = 0; v < 8; v++)
        for (int u = 0; u < 8; u++) {
            double sum = 0.0;

            for (int y = 0; y < 8; y++)
                for (int x = 0; x < 8; x++)
                    sum += luma[(y0 + y) * SIDE + x0 + x] *
                           cos((2 * x + 1) * u * pi / 16) *
                           cos((2 * y + 1) * v * pi / 16);
            sum *= scale(u) * scale(v);
            wave[v][u] = steps_95[v][u] * floor(sum / steps_95[v][u] + 0.5);
        }
    for (int y = 0; y < 8; y++)
        for (int x = 0; x < 8; x++) {
            double sum = 0.0;

            for (int v = 0; v < 8; v++)
                for (int u = 0; u < 8; u++)
                    sum += scale(u) * scale(v) * wave[v][u] *
                           cos((2 * x + 1) * u * pi / 16) *
                           cos((2 * y + 1) * v * pi / 16);
            luma[(y0 + y) * SIDE + x0 + x] = sum;
        }
}

/* Noise of 9 codes around code 120 in blocks whose grid starts at (3, 5). */
static void
make(float *light, bool compressed, uint64_t seed)
{
    static double luma[SIDE * SIDE];
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (int i = 0; i < SIDE * SIDE; i++)
        luma[i] = 120.0 + 9.0 * qs_random_normal(&random);
    for (int y = 5; compressed && y + 8 <= SIDE; y += 8)
        for (int x = 3; x + 8 <= SIDE; x += 8)
            lose(luma, x, y);
    for (int i = 0; i < SIDE * SIDE; i++)
        light[i] = (float)light_of(floor(fmin(fmax(luma[i], 0.0), 255.0) + 0.5));
}

static void
look(float *light, int x0, int y0, struct qs_dct_steps *out)
{
    struct qs_plane plane = {light + y0 * SIDE + x0, PATCH, PATCH, SIDE};
    struct qs_error err;

    /* the frame lies 16 px further: the same grid */
    ck_assert(qs_dct_steps_look(&plane, 1, x0 + 16, y0 + 16, out, &err) == QS_OK);
    ck_assert(out->known);
}

START_TEST(steps_under_strong_noise_are_seen)
{
    static float light[SIDE * SIDE];
    struct qs_dct_steps a, b;
    const struct qs_dct_steps *both[] = {&a, &b};
    struct qs_dct_answer answer;

    make(light, true, 11);
    look(light, 5, 4, &a);
    make(light, true, 12);
    look(light, 18, 11, &b);
    qs_dct_steps_judge(both, 2, &answer);
    ck_assert(answer.seen);
    ck_assert_int_eq(answer.x, 3);
    ck_assert_int_eq(answer.y, 5);
}
END_TEST

/* 8-bit noise that never was compressed: 40 pictures, none seen; the limit is one in
   millions for each. */
START_TEST(plain_eight_bit_noise_is_not)
{
    static float light[SIDE * SIDE];
    double most = 0.0;

    for (int i = 0; i < 40; i++) {
        struct qs_dct_steps own;
        const struct qs_dct_steps *one[] = {&own};
        struct qs_dct_answer answer;

        make(light, false, (uint64_t)(100 + i));
        look(light, i % 24, 24 - i % 24, &own);
        qs_dct_steps_judge(one, 1, &answer);
        ck_assert(!answer.seen);
        most = fmax(most, answer.sure);
    }
    printf("best grid of 40 plain pictures: %.1f sd\n", most);
}
END_TEST

START_TEST(small_patches_say_nothing)
{
    static float light[39 * 39];
    struct qs_plane plane = {light, 39, 39, 39};
    struct qs_dct_steps out;
    const struct qs_dct_steps *one[] = {&out};
    struct qs_dct_answer answer;
    struct qs_error err;

    ck_assert(qs_dct_steps_look(&plane, 1, 0, 0, &out, &err) == QS_OK);
    ck_assert(!out.known);
    qs_dct_steps_judge(one, 1, &answer);
    ck_assert(!answer.seen);
}
END_TEST

QS_TEST_MAIN("steps of compression", steps_under_strong_noise_are_seen,
             plain_eight_bit_noise_is_not, small_patches_say_nothing)
