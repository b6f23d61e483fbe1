/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Random and fixed noise apart, on simulated repeats whose truth is known by
 * construction; the equations are those of EMVA 1288 Release 4.0 (18, 32) and the
 * n-frame form of ISO 15739 (partly from memory).
 *
 * Tolerances: a variance of N independent pixels and c contrasts has a relative sd of
 * sqrt(2 / (N c)); tests allow five of those, on sd half as much.
 */
#include "check_main.h"

#include <math.h>
#include <stdlib.h>

#include "base/random.h"
#include "measure/repeats.h"
#include "repeat_plane.h"

enum {
    SIDE = 240,
    MOST = 8
};

/* Sd of each kind of noise. */
struct truth {
    double fixed;
    double fixed_row;
    double random;
    double random_row;
};

/* Frames of light 0.4 with slight shading, which has to come off. */
static void
make_frames(const struct truth *truth, int frames, uint64_t seed,
            float px[MOST][SIDE * SIDE])
{
    static double fixed[SIDE * SIDE];
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (int y = 0; y < SIDE; y++) {
        double row = truth->fixed_row * qs_random_normal(&random);

        for (int x = 0; x < SIDE; x++)
            fixed[y * SIDE + x] = 0.4 + 1e-4 * x + 1e-6 * y * y + row +
                                  truth->fixed * qs_random_normal(&random);
    }
    for (int k = 0; k < frames; k++)
        for (int y = 0; y < SIDE; y++) {
            double row = truth->random_row * qs_random_normal(&random);

            for (int x = 0; x < SIDE; x++)
                px[k][y * SIDE + x] =
                    (float)(fixed[y * SIDE + x] + row +
                            truth->random * qs_random_normal(&random));
        }
}

static void
solve(float px[MOST][SIDE * SIDE], int frames, struct qs_repeats *out)
{
    static float mean[SIDE * SIDE], contrast[SIDE * SIDE];
    struct qs_repeats_sums sums = {.contrasts = 0};
    struct qs_repeats_plane one, all;

    for (int i = 0; i < SIDE * SIDE; i++)
        mean[i] = px[0][i];
    for (int k = 1; k < frames; k++) {
        for (int i = 0; i < SIDE * SIDE; i++) {
            double off = (double)px[k][i] - (double)mean[i];

            contrast[i] = (float)(qs_repeats_contrast(k) * off);
            mean[i] = (float)((double)mean[i] + off / (k + 1));
        }
        measure_repeat(contrast, SIDE, &one);
        qs_repeats_add(&sums, &one);
    }
    measure_repeat(mean, SIDE, &all);
    qs_repeats_solve(&all, &sums, out);
}

static float frames_px[MOST][SIDE * SIDE];

static void
run(struct truth truth, int frames, uint64_t seed, struct qs_repeats *out)
{
    make_frames(&truth, frames, seed, frames_px);
    solve(frames_px, frames, out);
    ck_assert_int_eq(out->frames, frames);
}

START_TEST(random_and_fixed_come_apart)
{
    static const int counts[] = {2, 4, 8};
    const struct truth truth = {.fixed = 0.005, .random = 0.011};

    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        double n = counts[i], pixels = (double)SIDE * SIDE;
        double of_random = 0.5 * 5.0 * sqrt(2.0 / pixels / (n - 1.0));
        /* the mean's variance is fixed^2 + random^2 / n, of which a part is taken */
        double mean_square = 0.005 * 0.005 + 0.011 * 0.011 / n;
        double of_fixed = 0.5 * 5.0 *
                          hypot(mean_square * sqrt(2.0 / pixels),
                                0.011 * 0.011 / n * sqrt(2.0 / pixels / (n - 1.0))) /
                          (0.005 * 0.005);
        struct qs_repeats repeats;

        run(truth, counts[i], 31 + i, &repeats);
        ck_assert_double_eq_tol(repeats.random.sd / 0.011, 1.0, of_random);
        ck_assert_double_eq_tol(repeats.fixed.sd / 0.005, 1.0, of_fixed);
        ck_assert_double_eq_tol(repeats.total.sd,
                                hypot(repeats.random.sd, repeats.fixed.sd), 1e-12);
        ck_assert(repeats.random.sd_low < repeats.random.sd &&
                  repeats.random.sd < repeats.random.sd_high);
    }
}
END_TEST

/* With no fixed noise the estimate is below zero about half the time: 0 is said then.
 */
START_TEST(no_fixed_noise_is_none)
{
    int lost = 0;

    for (uint64_t seed = 0; seed < 12; seed++) {
        struct qs_repeats repeats;

        run((struct truth){.random = 0.01}, 3, 900 + seed, &repeats);
        lost += repeats.fixed_lost;
        ck_assert(repeats.fixed_lost == (repeats.fixed.sd <= 0.0));
        /* 5 sd of the mean's variance: 0.01^2 / 3 x 5 x sqrt(2 (1 + 1/2) / N) */
        ck_assert_double_lt(repeats.fixed.sd,
                            0.01 * sqrt(5.0 / 3.0 * sqrt(3.0) / SIDE));
        ck_assert_double_le(repeats.fixed.sd_low, 0.0);
    }
    ck_assert(lost >= 1 && lost <= 11); /* 2 in 4096 otherwise */
}
END_TEST

/* Rows are known as 240 values: 5 x sqrt(2 / 240) of the variance, per contrast. */
START_TEST(rows_are_split_off_both_parts)
{
    const struct truth truth = {
        .fixed = 0.004, .fixed_row = 0.003, .random = 0.009, .random_row = 0.004};
    struct qs_repeats repeats;

    run(truth, 8, 77, &repeats);
    ck_assert_double_eq_tol(repeats.random.row_sd / 0.004, 1.0,
                            0.5 * 5.0 * sqrt(2.0 / SIDE / 7.0));
    ck_assert_double_eq_tol(repeats.fixed.row_sd / 0.003, 1.0,
                            0.5 * 5.0 * 1.3 * sqrt(2.0 / SIDE));
    ck_assert_double_eq_tol(repeats.random.pixel_sd / 0.009, 1.0,
                            0.5 * 5.0 * sqrt(2.0 / 7.0) / SIDE);
    ck_assert_double_lt(repeats.random.column_sd, 0.0005);
}
END_TEST

/*
 * n-frame algebra (ISO 15739, from memory): with F^2 fixed and T^2 total variance, n
 * frames' mean has F^2 + (T^2 - F^2) / n.  For F = 4, T = 9, n = 8 in 1/1000: random
 * sqrt(65) = 8.0623.
 */
START_TEST(n_frame_algebra)
{
    const double fixed = 0.004, total = 0.009, n = 8.0;
    const double random = sqrt(total * total - fixed * fixed);
    struct qs_repeats_sums sums = {.contrasts = 0};
    struct qs_repeats_plane contrast = {.noise = {.sd = random, .freedom = 1e6}};
    struct qs_repeats_plane mean = {
        .noise = {.sd = sqrt(fixed * fixed + random * random / n), .freedom = 1e6},
        .pixels = 1e6};
    struct qs_repeats repeats;

    for (int k = 1; k < 8; k++)
        qs_repeats_add(&sums, &contrast);
    qs_repeats_solve(&mean, &sums, &repeats);
    ck_assert_double_eq_tol(repeats.random.sd, 0.0080622577, 1e-9);
    ck_assert_double_eq_tol(repeats.fixed.sd, fixed, 1e-12);
    ck_assert_double_eq_tol(repeats.total.sd, total, 1e-12);
    ck_assert_double_eq_tol(qs_repeats_averaged(&repeats, 4),
                            sqrt(16.0 + 65.0 / 4.0) / 1000.0, 1e-12);
}
END_TEST

/* EMVA 1288 R4 eq. 18 for a pair: half the mean square of the difference, less half the
   square of its mean; by hand on the same pixels (two frames without shading). */
START_TEST(a_pair_is_emvas)
{
    struct qs_repeats repeats;
    double sum = 0.0, square = 0.0, n = (double)SIDE * SIDE;

    make_frames(&(struct truth){.fixed = 0.006, .random = 0.01}, 2, 4, frames_px);
    for (int i = 0; i < SIDE * SIDE; i++) {
        double d = (double)frames_px[1][i] - (double)frames_px[0][i];

        sum += d / n;
        square += d * d / n;
    }
    solve(frames_px, 2, &repeats);
    /* six degrees of freedom went with the surface: 6 / 57600, and their chance */
    ck_assert_double_eq_tol(repeats.random.sd / sqrt(0.5 * (square - sum * sum)), 1.0,
                            3e-4);
}
END_TEST

/* Helmert: sqrt(k / (k + 1)) makes a contrast's variance that of one frame. */
START_TEST(contrasts_have_unit_variance)
{
    for (int k = 1; k <= 63; k++) {
        double f = qs_repeats_contrast(k);

        ck_assert_double_eq_tol(f * f * (1.0 + 1.0 / k), 1.0, 1e-14);
    }
}
END_TEST

QS_TEST_MAIN("repeats", random_and_fixed_come_apart, no_fixed_noise_is_none,
             rows_are_split_off_both_parts, n_frame_algebra, a_pair_is_emvas,
             contrasts_have_unit_variance)
