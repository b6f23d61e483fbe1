/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_surround.c - the even part around a patch: taken while it goes on, left
 * where it ends
 */
#include "flat/surround.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "check_main.h"
#include "noise_fields.h"

enum {
    FRAME_PX = 300,
    SEEDS = 40
};

static const struct qs_box frame_box = {0, 0, FRAME_PX, FRAME_PX};
static const struct qs_box patch_box = {101, 92, 103, 95};
static const double SD = 0.01;

static const struct field_kind kinds[] = {
    {.name = "white"},
    {.name = "blurred", .blur_px = 1.0},
    {.name = "bilinear red", .mosaic = FIELD_BILINEAR, .channel = QS_R},
    {.name = "stripes", .row_sd = 0.3},
};

#define KINDS (int)(sizeof kinds / sizeof kinds[0])

static struct qs_box
reach_of(float *px, struct qs_box box, struct qs_box limit)
{
    struct qs_plane plane = {px, FRAME_PX, FRAME_PX, FRAME_PX};
    struct qs_error err = {QS_OK, ""};
    struct qs_box reach = {0, 0, 0, 0};

    ck_assert_int_eq(qs_surround(&plane, box, limit, &reach, &err), QS_OK);
    ck_assert(qs_box_within(box, reach));
    ck_assert(qs_box_within(reach, limit));
    return reach;
}

static struct qs_box
widened(struct qs_box box, int by)
{
    return (struct qs_box){box.x - by, box.y - by, box.width + 2 * by,
                           box.height + 2 * by};
}

/*
 * Into an even field the patch should grow as far as it may: 24 px, a quarter
 * of its side.  What is allowed is not a property with a published value: a strip
 * block is refused at 5 sd of the patch's own blocks, so that with some 500 blocks a
 * field, and the surface's own uncertainty outside the patch, a stop now and then is
 * sound, and stripes, shared by a whole strip, stop it more often; one side in five is
 * allowed.
 */
START_TEST(grows_in_an_even_field)
{
    struct qs_box limit = widened(patch_box, 24);

    for (int k = 0; k < KINDS; k++) {
        int full = 0, seeds = field_seeds(SEEDS);

        for (int seed = 0; seed < seeds; seed++) {
            float *px = field_new(&kinds[k], FRAME_PX, 0.2, SD, 600 + (uint64_t)seed);
            struct qs_box reach = reach_of(px, patch_box, limit);

            full += (reach.x == limit.x) + (reach.y == limit.y) +
                    (reach.x + reach.width == limit.x + limit.width) +
                    (reach.y + reach.height == limit.y + limit.height);
            free(px);
        }
        ck_assert_msg(full >= 4 * seeds * 8 / 10, "%s: %d of %d sides", kinds[k].name,
                      full, 4 * seeds);
    }
}
END_TEST

/* Shading goes on too: fall-off of the same curve outside is not an edge. */
START_TEST(grows_along_a_fall_off)
{
    struct qs_box limit = widened(patch_box, 24);
    int full = 0, seeds = field_seeds(SEEDS);

    for (int seed = 0; seed < seeds; seed++) {
        float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 700 + (uint64_t)seed);
        struct qs_box reach;

        for (int y = 0; y < FRAME_PX; y++)
            for (int x = 0; x < FRAME_PX; x++)
                px[y * FRAME_PX + x] *= (float)(1.0 - 2e-6 * (x * x + y * x));
        reach = reach_of(px, patch_box, limit);
        full += (reach.x == limit.x) + (reach.y == limit.y) +
                (reach.x + reach.width == limit.x + limit.width) +
                (reach.y + reach.height == limit.y + limit.height);
        free(px);
    }
    ck_assert_int_ge(full, 4 * seeds * 8 / 10);
}
END_TEST

/* Adds `step` to the pixels `at` or more away from the patch on one side (0 left,
   1 right, 2 above, 3 below). */
static void
add_edge(float *px, int side, int at, double step)
{
    struct qs_box inner = widened(patch_box, at);

    for (int y = 0; y < FRAME_PX; y++)
        for (int x = 0; x < FRAME_PX; x++) {
            int outside = side == 0   ? x < inner.x
                          : side == 1 ? x >= inner.x + inner.width
                          : side == 2 ? y < inner.y
                                      : y >= inner.y + inner.height;

            if (outside)
                px[y * FRAME_PX + x] += (float)step;
        }
}

/* Pixels of `reach` beyond the patch on that side. */
static int
margin(struct qs_box reach, int side)
{
    switch (side) {
    case 0:
        return patch_box.x - reach.x;
    case 1:
        return reach.x + reach.width - patch_box.x - patch_box.width;
    case 2:
        return patch_box.y - reach.y;
    default:
        return reach.y + reach.height - patch_box.y - patch_box.height;
    }
}

/*
 * An edge 13 px away, of 4 sd (3 pixels of 4 in a block still even: the block's mean is
 * off by 1 sd or more, its own sd being sd / sqrt(32)): never crossed by a strip,
 * and the other sides go on.
 */
START_TEST(stops_at_an_edge)
{
    int seeds = field_seeds(SEEDS / 2);

    for (int side = 0; side < 4; side++)
        for (int seed = 0; seed < seeds; seed++) {
            float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 800 + (uint64_t)seed);
            struct qs_box reach;

            add_edge(px, side, 13, seed % 2 == 0 ? 4.0 * SD : -4.0 * SD);
            reach = reach_of(px, patch_box, frame_box);
            ck_assert_msg(margin(reach, side) <= 13, "side %d, seed %d: %d px", side,
                          seed, margin(reach, side));
            for (int other = 0; other < 4; other++)
                ck_assert_int_ge(margin(reach, other), 4);
            free(px);
        }
}
END_TEST

/* A tile: edges close by on all sides leave just the patch. */
START_TEST(a_tile_stays_a_tile)
{
    float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 900);
    struct qs_box reach;

    for (int side = 0; side < 4; side++)
        add_edge(px, side, 2, 0.1);
    reach = reach_of(px, patch_box, frame_box);
    for (int side = 0; side < 4; side++)
        ck_assert_int_eq(margin(reach, side), 0);
    free(px);
}
END_TEST

/*
 * Each pixel that a strip would take is looked at, also where the strip's length is no
 * multiple of the blocks': a bright spot at the far end of the strip beside a patch
 * whose sides are 7 px longer than whole blocks.
 */
START_TEST(sees_the_end_of_a_strip)
{
    struct qs_box box = {101, 92, 103, 95};
    float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 950);

    for (int y = 92 + 88; y < 92 + 95; y++) /* the last 7 rows, right of the patch */
        for (int x = 204; x < 208; x++)
            px[y * FRAME_PX + x] += 0.5f;
    for (int y = 187; y < 191; y++) /* the last 7 columns, below it */
        for (int x = 101 + 96; x < 101 + 103; x++)
            px[y * FRAME_PX + x] += 0.5f;
    ck_assert_int_eq(margin(reach_of(px, box, frame_box), 1), 0);
    ck_assert_int_eq(margin(reach_of(px, box, frame_box), 3), 0);
    free(px);
}
END_TEST

/*
 * One odd block among many: 7.5 sd of a block off, which the strip's 26 blocks
 * together hide (root mean square (25 + 7.5^2) / 26, below twice), is seen by itself.
 * Its own noise brings it below 5 sd once in 160: one miss in ten is allowed.
 */
START_TEST(sees_one_odd_block)
{
    struct qs_box box = {40, 60, 208, 103};
    int crossed = 0;

    for (int seed = 0; seed < 10; seed++) {
        float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 970 + (uint64_t)seed);
        struct qs_box reach;

        for (int y = 163; y < 167; y++)
            for (int x = 40 + 88; x < 40 + 96; x++)
                px[y * FRAME_PX + x] += (float)(7.5 * SD / sqrt(32.0));
        /* no room beside the patch: the strip's blocks stay where they are */
        reach = reach_of(px, box, (struct qs_box){40, 60, 208, 111});
        crossed += reach.height > box.height;
        free(px);
    }
    ck_assert_int_le(crossed, 1);
}
END_TEST

START_TEST(stays_in_its_limit)
{
    float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 1000);
    struct qs_box tight = reach_of(px, patch_box, patch_box);
    struct qs_box nearly = reach_of(px, patch_box, widened(patch_box, 3));
    struct qs_box step = reach_of(px, patch_box, widened(patch_box, 7));

    for (int side = 0; side < 4; side++) {
        ck_assert_int_eq(margin(tight, side), 0);
        ck_assert_int_eq(margin(nearly, side), 0);
        ck_assert_int_eq(margin(step, side), QS_SURROUND_STEP_PX);
    }
    (void)reach_of(px, frame_box, frame_box);
    free(px);
}
END_TEST

START_TEST(smallest_patch)
{
    float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 1100);

    (void)reach_of(px, (struct qs_box){0, 0, 8, 8}, frame_box);
    (void)reach_of(px, (struct qs_box){FRAME_PX - 8, FRAME_PX - 9, 8, 9}, frame_box);
    free(px);
}
END_TEST

START_TEST(memory_runs_out)
{
    float *px = field_new(&kinds[0], FRAME_PX, 0.2, SD, 1200);
    struct qs_plane plane = {px, FRAME_PX, FRAME_PX, FRAME_PX};

    for (long n = 0; n < 3; n++) {
        struct qs_error err = {QS_OK, ""};
        struct qs_box reach;

        qs_alloc_fail_at(n);
        ck_assert_int_eq(qs_surround(&plane, patch_box, frame_box, &reach, &err),
                         QS_ERR_MEMORY);
        ck_assert_int_eq(reach.width, patch_box.width);
    }
    qs_alloc_fail_at(-1);
    free(px);
}
END_TEST

QS_TEST_MAIN("surround", grows_in_an_even_field, grows_along_a_fall_off,
             stops_at_an_edge, a_tile_stays_a_tile, sees_the_end_of_a_strip,
             sees_one_odd_block, stays_in_its_limit, smallest_patch, memory_runs_out)
