/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Whether repeats of one scene show the same: shifts and moving parts are found, and
 * still scenes are never refused.
 *
 * The truth is how the scenes of still_scene.h were made.  There is no published source
 * for what is refused; docs/method/repeats.md (R18 to R29) names the bars.
 */
#include "check_main.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/random.h"
#include "measure/stillness.h"
#include "noise_fields.h"
#include "still_scene.h"

static const struct kind PEBBLES = {
    .light = 0.3, .texture = 0.2, .read = 0.002, .shot = 1e-4, .fixed = 0.002};

static const struct move ALL = {.box = {-100, -100, WIDTH + 200, HEIGHT + 200},
                                .times = 1.0};

/*
 * A shift's sd is noise over slopes: sqrt(2) x 0.006 / (0.015 a pixel x sqrt(332800)),
 * 0.001 px.  What is left is that slopes are those of a straight line, and that windows
 * of 256 px keep still: 0.1 px, to which shifts are said, and half a pixel of long ones
 * (up to a third of a window).
 */
START_TEST(shifts_of_the_whole_frame_are_found)
{
    static const double shifts[][2] = {
        {0.3, 0.0}, {0.0, -0.3}, {-0.21, 0.21}, {1.0, 0.0},  {0.0, 1.0},   {-0.7, -0.7},
        {3.2, 0.0}, {-1.4, 3.2}, {0.0, -3.2},   {0.3, -2.0}, {-17.0, 8.5}, {40.3, 0.0}};
    int count = (int)(sizeof shifts / sizeof shifts[0]);

    for (int i = 0; i < count; i += field_brief() ? 3 : 1) {
        double tolerance = fabs(shifts[i][0]) > 4.0 ? 0.5 : 0.1;
        struct move move = ALL;
        struct qs_motion_found found[MOST];

        move.x = shifts[i][0];
        move.y = shifts[i][1];
        judge_moved(&PEBBLES, i % 2 == 0 ? 2 : 3, (uint64_t)i + 1, &move, found);
        if (i % 2 != 0)
            ck_assert_msg(found[1].kind == QS_MOTION_NONE,
                          "%d: the still frame is refused for the shifted one", i);
        ck_assert_msg(found[i % 2 + 1].kind == QS_MOTION_WHOLE, "%g, %g px: kind %d",
                      move.x, move.y, (int)found[i % 2 + 1].kind);
        ck_assert_double_eq_tol(found[i % 2 + 1].x, move.x, tolerance);
        ck_assert_double_eq_tol(found[i % 2 + 1].y, move.y, tolerance);
        ck_assert_int_eq(found[i % 2 + 1].box.width, WIDTH);
        ck_assert_int_eq(found[i % 2 + 1].box.height, HEIGHT);
    }
}
END_TEST

/* Drift and flicker go with a shift and do not hide it. */
START_TEST(a_shift_is_found_in_changing_light)
{
    struct kind kind = PEBBLES;
    struct qs_motion_found found[MOST];
    struct move move = ALL;

    kind.drift = 0.02;
    kind.flicker = 0.02;
    kind.row = 0.001;
    move.x = 0.3;
    move.y = -0.4;
    judge_moved(&kind, 2, 41, &move, found);
    ck_assert_int_eq(found[1].kind, QS_MOTION_WHOLE);
    ck_assert_double_eq_tol(found[1].x, 0.3, 0.1);
    ck_assert_double_eq_tol(found[1].y, -0.4, 0.1);
}
END_TEST

/* 0.04 px is below the bar of 0.1 px by 60 of its sd. */
START_TEST(a_shift_that_does_no_harm_is_taken)
{
    struct qs_motion_found found[MOST];
    struct move move = ALL;

    move.x = 0.04;
    judge_moved(&PEBBLES, 2, 51, &move, found);
    ck_assert_int_eq(found[1].kind, QS_MOTION_NONE);
}
END_TEST

static bool
overlap(const struct qs_box *a, const struct qs_box *b)
{
    return a->x < b->x + b->width && b->x < a->x + a->width &&
           a->y < b->y + b->height && b->y < a->y + a->height;
}

/* A part of the frame that moves or changes is found, where it is, and named as a part.
 */
START_TEST(a_part_that_moves_is_found)
{
    static const struct move moves[] = {
        {1.5, 0.0, {330, 200, 150, 140}, 1.0},   /* shifted */
        {0.0, -0.6, {100, 200, 200, 180}, 1.0},  /* by less than a pixel */
        {12.0, 20.0, {500, 100, 160, 160}, 1.0}, /* moved away */
        {0.0, 0.0, {400, 120, 80, 80}, 1.08},    /* its light has changed */
        {0.0, 0.0, {40, 70, 90, 90}, 0.9},       {0.0, 0.0, {300, 143, 130, 130}, 1.03},
        {0.0, 0.0, {300, 143, 130, 130}, 1.05},  {0.0, 0.0, {300, 143, 130, 130}, 1.08},
        {0.0, 0.0, {300, 143, 130, 130}, 1.12},  {0.0, 0.0, {15, 25, 130, 130}, 0.9},
    };
    int count = (int)(sizeof moves / sizeof moves[0]);

    for (int i = 0; i < count; i++) {
        struct qs_motion_found found[MOST];

        judge_moved(&PEBBLES, 3, (uint64_t)i + 61, &moves[i], found);
        ck_assert_msg(found[1].kind == QS_MOTION_NONE, "%d: still frame refused", i);
        ck_assert_msg(found[2].kind == QS_MOTION_PART ||
                          found[2].kind == QS_MOTION_CHANGE,
                      "%d: kind %d", i, (int)found[2].kind);
        ck_assert_msg(overlap(&found[2].box, &moves[i].box), "%d: at %d, %d", i,
                      found[2].box.x, found[2].box.y);
    }
}
END_TEST

/* Something on a flat ground that has gone: 35 px across at half its height, 20 times
 * the noise. */
START_TEST(a_thing_that_went_is_found)
{
    struct kind kind = {.light = 0.3, .read = 0.003};
    struct qs_motion_found found[MOST];
    struct qs_box there = {300 - 75, 200 - 75, 150, 150};

    fill_fixed(&kind, 1);
    draw(&kind, 1, &STAYS);
    shoot(&kind, 1, 71);
    add_spot(300.0, 200.0, 15.0, 0.2);
    shoot(&kind, 0, 71);
    judge(2, WIDTH, HEIGHT, found);
    ck_assert(found[1].kind == QS_MOTION_CHANGE || found[1].kind == QS_MOTION_PART);
    ck_assert(overlap(&found[1].box, &there));
}
END_TEST

/* Blobs of 25 px across and more are another scene's, not a camera's noise (R28). */
START_TEST(another_scene_is_refused)
{
    struct kind kind = PEBBLES;
    struct qs_motion_found found[MOST];

    kind.coarse = 5.0;
    fill_fixed(&kind, 81);
    for (int k = 0; k < 2; k++) {
        draw(&kind, 81 + (uint64_t)k, &STAYS);
        shoot(&kind, k, 81);
    }
    judge(2, WIDTH, HEIGHT, found);
    ck_assert_int_ne(found[1].kind, QS_MOTION_NONE);
}
END_TEST

static const struct kind still_kinds[] = {
    {.name = "flat, little noise", .light = 0.3, .read = 0.001},
    {.name = "flat, hardly any noise", .light = 0.3, .read = 1e-5},
    {.name = "flat, much noise", .light = 0.3, .read = 0.08},
    {.name = "dark, noise clipped at black", .light = 0.004, .read = 0.005},
    {.name = "bright, noise clipped at white", .light = 0.99, .read = 0.01},
    {.name = "flat, strong pattern", .light = 0.3, .read = 0.003, .fixed = 0.03},
    {.name = "flat, noise hangs together", .light = 0.2, .read = 0.02, .soft = true},
    {.name = "rows", .light = 0.3, .read = 0.01, .row = 0.01},
    {.name = "rows and columns",
     .light = 0.3,
     .read = 0.01,
     .row = 4e-3,
     .column = 3e-3},
    {.name = "lamp flickers", .light = 0.3, .shot = 1e-4, .flicker = 0.05},
    {.name = "light drifts", .light = 0.3, .shot = 1e-4, .drift = 0.03},
    {.name = "ramp", .light = 0.2, .ramp = 1.8, .shot = 3e-4, .read = 0.001},
    {.name = "hot pixels flash", .light = 0.05, .read = 0.003, .hot = 2e-4},
    {.name = "pebbles", .light = 0.3, .texture = 0.2, .read = 0.001, .shot = 1e-4},
    {.name = "pebbles, little noise", .light = 0.3, .texture = 0.2, .read = 2e-4},
    {.name = "pebbles, much noise", .light = 0.3, .texture = 0.2, .read = 0.08},
    {.name = "faint pebbles", .light = 0.3, .texture = 0.01, .shot = 1e-4},
    {.name = "bold pebbles, clipped", .light = 0.5, .texture = 0.6, .shot = 2e-4},
    {.name = "pebbles, soft noise",
     .light = 0.3,
     .texture = 0.1,
     .read = 0.02,
     .soft = true},
    {.name = "pebbles, drift, flicker, rows, columns",
     .light = 0.3,
     .texture = 0.1,
     .ramp = 0.8,
     .read = 0.004,
     .shot = 1e-4,
     .fixed = 0.004,
     .row = 0.002,
     .column = 0.001,
     .flicker = 0.02,
     .drift = 0.02},
};

/*
 * 60 scenes of 2, 3 and 4 frames, 120 pairs.  None may be refused: were one in 20
 * scenes, all would pass in 0.95^60, 5 % of the runs.
 */
START_TEST(still_scenes_are_never_refused)
{
    int count = (int)(sizeof still_kinds / sizeof still_kinds[0]);
    int refused = 0, scenes = 0;

    for (int frames = 2; frames <= MOST; frames++)
        for (int i = 0; i < count; i++) {
            const struct kind *kind = &still_kinds[i];
            struct qs_motion_found found[MOST];

            if (field_brief() && (i + frames) % 3 != 0)
                continue;
            scenes++;
            judge_moved(kind, frames, (uint64_t)(100 * frames + i), &STAYS, found);
            for (int k = 1; k < frames; k++)
                if (found[k].kind != QS_MOTION_NONE) {
                    refused++;
                    printf("refused: %s, frame %d of %d: kind %d, %.2f %.2f px\n",
                           kind->name, k, frames, (int)found[k].kind, found[k].x,
                           found[k].y);
                }
        }
    ck_assert_msg(refused == 0, "%d refusals in %d scenes", refused, scenes);
}
END_TEST

/* Frames of one value, of black, and so small that nothing can be asked of them. */
START_TEST(nothing_to_see_is_no_motion)
{
    static const int sides[] = {1, 15, 16, 31, 64, 100, 300};
    struct qs_motion_found found[MOST];
    struct qs_random random;

    memset(ends_px, 0, sizeof ends_px);
    for (int pass = 0; pass < 3; pass++) {
        qs_random_seed(&random, 91);
        for (int k = 0; k < 2; k++)
            for (int i = 0; i < PIXELS; i++)
                frames_px[k][i] =
                    (float)(0.25 * pass +
                            (pass == 2 ? 0.01 * qs_random_normal(&random) : 0.0));
        for (size_t i = 0; i < sizeof sides / sizeof sides[0]; i++) {
            judge(2, sides[i], sides[i], found);
            ck_assert_msg(found[1].kind == QS_MOTION_NONE, "pass %d, %d px: kind %d",
                          pass, sides[i], (int)found[1].kind);
        }
    }
}
END_TEST

/* Where every sample is clipped nothing is asked, whatever it holds. */
START_TEST(clipped_places_are_not_asked)
{
    struct qs_motion_found found[MOST];

    draw(&still_kinds[0], 1, &STAYS);
    fill_fixed(&still_kinds[0], 1);
    for (int k = 0; k < 2; k++)
        shoot(&still_kinds[0], k, 95);
    for (int y = 100; y < 250; y++)
        for (int x = 100; x < 300; x++) {
            frames_px[1][y * WIDTH + x] = 1.0f;
            ends_px[1][y * WIDTH + x] = 2;
        }
    judge(2, WIDTH, HEIGHT, found);
    ck_assert_int_eq(found[1].kind, QS_MOTION_NONE);
}
END_TEST

QS_TEST_MAIN("still", shifts_of_the_whole_frame_are_found,
             a_shift_is_found_in_changing_light, a_shift_that_does_no_harm_is_taken,
             a_part_that_moves_is_found, a_thing_that_went_is_found,
             another_scene_is_refused, still_scenes_are_never_refused,
             nothing_to_see_is_no_motion, clipped_places_are_not_asked)
