/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * still_scene.h - repeats of scenes that keep still or move, for tests
 *
 * A scene is soft spots ("pebbles") whose light is a formula of the place, so that a
 * shift by a fraction of a pixel is exact.  Noise, patterns, lamps and drift are put
 * onto it frame by frame.  All is kept in static arrays: one scene at a time.
 */
#ifndef QS_TESTS_STILL_SCENE_H
#define QS_TESTS_STILL_SCENE_H

#include <check.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/plane.h"
#include "base/random.h"
#include "measure/stillness.h"

enum {
    WIDTH = 800, /* three windows of 256 px */
    HEIGHT = 416,
    PIXELS = WIDTH * HEIGHT,
    MOST = 4,
    SPOTS = 4000,
    REACH = 160,     /* px that a spot reaches at most */
    FLICKER_PX = 130 /* wave of a lamp's bands, by a rolling shutter */
};

/* What a scene is like, in shares of white or, where said, of its light. */
struct kind {
    const char *name;
    double light;
    double texture; /* share of the light that spots add or take, about */
    double coarse;  /* times larger, and in their square fewer, spots; 0 = 1 */
    double ramp;    /* share of the light between the left and the right rim */
    double read;    /* sd of one pixel's noise */
    double shot;    /* variance for each unit of light */
    double fixed;   /* sd of what stays */
    double row;     /* sd, new in every frame */
    double column;  /* the same */
    double flicker; /* share of the light, another phase in every frame */
    double drift;   /* share of the light from frame to frame */
    double hot;     /* share of pixels that flash white */
    bool soft;      /* noise spread over 3 x 3 px, as demosaicing does */
};

/* Spots in this box are moved by so much, and their light is so many times brighter. */
struct move {
    double x;
    double y;
    struct qs_box box;
    double times;
};

static const struct move STAYS = {.times = 1.0};

static double detail[PIXELS];
static double fixed_part[PIXELS];
static double noise[PIXELS];
static float frames_px[MOST][PIXELS];
static unsigned char ends_px[MOST][PIXELS];

static inline bool
is_in(const struct qs_box *box, double x, double y)
{
    return x >= box->x && x < box->x + box->width && y >= box->y &&
           y < box->y + box->height;
}

static inline void
add_spot(double x, double y, double sd_px, double height)
{
    double across[2 * REACH + 1];
    int reach = (int)ceil(5.0 * sd_px);
    int left = (int)floor(x) - reach, top = (int)floor(y) - reach;

    ck_assert_int_le(reach, REACH);
    for (int i = 0; i <= 2 * reach; i++) {
        double u = (left + i - x) / sd_px;

        across[i] = exp(-0.5 * u * u);
    }
    for (int j = top < 0 ? 0 : top; j <= top + 2 * reach && j < HEIGHT; j++) {
        double v = (j - y) / sd_px, row = height * exp(-0.5 * v * v);

        for (int i = left < 0 ? 0 : left; i <= left + 2 * reach && i < WIDTH; i++)
            detail[j * WIDTH + i] += row * across[i - left];
    }
}

/* The light of the scene, 1 on average, into `detail`. */
static inline void
draw(const struct kind *kind, uint64_t seed, const struct move *move)
{
    double size = kind->coarse > 0.0 ? kind->coarse : 1.0;
    int spots = kind->texture > 0.0 ? (int)(SPOTS / (size * size)) : 0;
    struct qs_random random;

    for (int i = 0; i < PIXELS; i++)
        detail[i] = 1.0;
    qs_random_seed(&random, seed);
    for (int i = 0; i < spots; i++) {
        double x = (WIDTH + 80) * qs_random_even(&random) - 40.0;
        double y = (HEIGHT + 80) * qs_random_even(&random) - 40.0;
        double sd_px = size * (1.5 + 4.0 * qs_random_even(&random));
        double height = kind->texture * qs_random_normal(&random);
        bool moved = is_in(&move->box, x, y);

        add_spot(x + (moved ? move->x : 0.0), y + (moved ? move->y : 0.0), sd_px,
                 height);
    }
    for (int i = 0; i < PIXELS; i++)
        if (is_in(&move->box, i % WIDTH, i / WIDTH))
            detail[i] *= move->times;
}

/* Independent noise of sd 1, or 3 x 3 px of it together, with 3/4 of its sd. */
static inline void
fill_noise(struct qs_random *random, bool soft)
{
    static double white[PIXELS];

    for (int i = 0; i < PIXELS; i++)
        noise[i] = white[i] = qs_random_normal(random);
    for (int y = 1; soft && y < HEIGHT - 1; y++)
        for (int x = 1; x < WIDTH - 1; x++) {
            const double *at = white + (ptrdiff_t)y * WIDTH + x;

            noise[y * WIDTH + x] =
                at[0] / 2.0 + (at[-1] + at[1] + at[-WIDTH] + at[WIDTH]) / 4.0 +
                (at[-WIDTH - 1] + at[-WIDTH + 1] + at[WIDTH - 1] + at[WIDTH + 1]) / 8.0;
        }
}

static inline void
fill_fixed(const struct kind *kind, uint64_t seed)
{
    struct qs_random random;

    qs_random_seed(&random, seed + 7777);
    for (int i = 0; i < PIXELS; i++)
        fixed_part[i] =
            kind->fixed > 0.0 ? kind->fixed * qs_random_normal(&random) : 0.0;
}

static inline double
expose(const struct kind *kind, double light, int pixel, struct qs_random *random)
{
    double sd = sqrt(kind->read * kind->read + kind->shot * fmax(light, 0.0));
    double value = light + fixed_part[pixel] + sd * noise[pixel];

    if (kind->hot > 0.0 && qs_random_even(random) < kind->hot)
        value = 1.0;
    return value;
}

/* Frame `k` of the scene that `detail` and `fixed_part` hold, in steps of 16 bits. */
static inline void
shoot(const struct kind *kind, int k, uint64_t seed)
{
    static double column[WIDTH];
    struct qs_random random;
    double phase;

    qs_random_seed(&random, 1000 * seed + (uint64_t)k);
    fill_noise(&random, kind->soft);
    phase = 6.283185307 * qs_random_even(&random);
    for (int x = 0; x < WIDTH; x++)
        column[x] = kind->column * qs_random_normal(&random);
    for (int y = 0; y < HEIGHT; y++) {
        double row = kind->row * qs_random_normal(&random);
        double lamp = kind->light * (1.0 + k * kind->drift) *
                      (1.0 + kind->flicker * sin(6.283185307 * y / FLICKER_PX + phase));

        for (int x = 0; x < WIDTH; x++) {
            int i = y * WIDTH + x;
            double light =
                lamp * detail[i] * (1.0 + kind->ramp * (x - WIDTH / 2) / WIDTH);
            double value = row + column[x] + expose(kind, light, i, &random);

            value = fmin(fmax(value, 0.0), 1.0);
            ends_px[k][i] = value <= 0.0 || value >= 1.0;
            frames_px[k][i] = (float)(round(65535.0 * value) / 65535.0);
        }
    }
}

/* What each frame but the first shows against the first. */
static inline void
judge(int frames, int width, int height, struct qs_motion_found found[MOST])
{
    const float *rows[MOST];
    const unsigned char *ends[MOST];
    struct qs_stillness *still;
    struct qs_error err;

    ck_assert(qs_stillness_new(frames, width, height, &still, &err) == QS_OK);
    for (int y = 0; y + QS_STILL_ROWS <= height; y += QS_STILL_ROWS) {
        for (int k = 0; k < frames; k++) {
            rows[k] = frames_px[k] + (ptrdiff_t)y * width;
            ends[k] = ends_px[k] + (ptrdiff_t)y * width;
        }
        qs_stillness_add(still, y, rows, ends);
    }
    for (int k = 1; k < frames; k++)
        ck_assert(qs_stillness_judge(still, k, &found[k], &err) == QS_OK);
    qs_stillness_free(still);
}

/* Frames of one scene, the last of them with `move`. */
static inline void
judge_moved(const struct kind *kind, int frames, uint64_t seed, const struct move *move,
            struct qs_motion_found found[MOST])
{
    fill_fixed(kind, seed);
    draw(kind, seed, &STAYS);
    for (int k = 0; k < frames - 1; k++)
        shoot(kind, k, seed);
    if (move != &STAYS)
        draw(kind, seed, move);
    shoot(kind, frames - 1, seed);
    judge(frames, WIDTH, HEIGHT, found);
}

#endif
