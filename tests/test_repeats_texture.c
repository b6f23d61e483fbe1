/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Fixed structure told from a sensor's fixed pattern, on simulated repeats whose truth
 * is known by construction (docs/method/repeats.md, R30; no published source).
 */
#include "check_main.h"

#include <math.h>
#include <stdlib.h>

#include "base/random.h"
#include "measure/repeats.h"
#include "repeat_plane.h"

enum {
    SIDE = 160,
    FRAMES = 4
};

/* Four frames of what stays, with random noise of sd 0.01 each. */
static void
solve(const double *fixed, uint64_t seed, struct qs_repeats *out)
{
    static float mean[SIDE * SIDE], contrast[SIDE * SIDE];
    struct qs_repeats_sums sums = {.contrasts = 0};
    struct qs_repeats_plane all;
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (int frame = 0; frame < FRAMES; frame++) {
        struct qs_repeats_plane one;
        double factor = qs_repeats_contrast(frame);

        for (int i = 0; i < SIDE * SIDE; i++) {
            double now = 0.3 + fixed[i] + 0.01 * qs_random_normal(&random);
            double off = frame == 0 ? now : now - (double)mean[i];

            contrast[i] = (float)(factor * off);
            mean[i] = (float)((frame == 0 ? 0.0 : (double)mean[i]) + off / (frame + 1));
        }
        if (frame == 0)
            continue;
        measure_repeat(contrast, SIDE, &one);
        qs_repeats_add(&sums, &one);
    }
    measure_repeat(mean, SIDE, &all);
    qs_repeats_solve(&all, &sums, out);
}

/* Noise of sd `sd`, each pixel the mean of (2 reach + 1)^2. */
static void
fill(double *fixed, int reach, double sd, uint64_t seed)
{
    static double white[SIDE * SIDE];
    struct qs_random random;
    int width = 2 * reach + 1;

    qs_random_seed(&random, seed);
    for (int i = 0; i < SIDE * SIDE; i++)
        white[i] = qs_random_normal(&random);
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            double sum = 0.0;

            for (int dy = -reach; dy <= reach; dy++)
                for (int dx = -reach; dx <= reach; dx++)
                    sum +=
                        white[(y + dy + SIDE) % SIDE * SIDE + (x + dx + SIDE) % SIDE];
            fixed[y * SIDE + x] = sd * sum / width;
        }
}

START_TEST(a_surface_is_told_from_a_sensor)
{
    static double fixed[SIDE * SIDE];
    struct qs_repeats repeats;

    for (uint64_t seed = 1; seed <= 10; seed++) {
        /* means of 5 x 5: pixels 2 and 3 apart share 0.6 x 0.4 of it and less */
        fill(fixed, 2, 0.006, seed);
        solve(fixed, 100 + seed, &repeats);
        ck_assert(repeats.textured);
        fill(fixed, 0, 0.006, seed);
        solve(fixed, 200 + seed, &repeats);
        ck_assert(!repeats.textured);
        /* of 3 x 3, softer than any demosaicing, nothing is shared 3 px apart */
        fill(fixed, 1, 0.006, seed);
        solve(fixed, 300 + seed, &repeats);
        ck_assert(!repeats.textured);
        /* too faint to matter */
        fill(fixed, 2, 0.0015, seed);
        solve(fixed, 400 + seed, &repeats);
        ck_assert(!repeats.textured);
    }
}
END_TEST

START_TEST(stripes_are_no_surface)
{
    static double fixed[SIDE * SIDE];
    struct qs_random random;
    struct qs_repeats repeats;

    qs_random_seed(&random, 17);
    for (int y = 0; y < SIDE; y++) {
        double row = 0.006 * qs_random_normal(&random);

        for (int x = 0; x < SIDE; x++)
            fixed[y * SIDE + x] = row;
    }
    solve(fixed, 500, &repeats);
    ck_assert(!repeats.textured);
}
END_TEST

QS_TEST_MAIN("repeats: texture", a_surface_is_told_from_a_sensor,
             stripes_are_no_surface)
