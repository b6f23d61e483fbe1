/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Random noise over tone, from simulated repeats of scenes of known light.
 *
 * Truth: each frame is light + noise of variance GAIN m + FLOOR, m being the light, so
 * that a class of mean m has sd sqrt(GAIN m + FLOOR), whatever mixture of tones it
 * holds.  The variance of a variance from p pairs of samples is 2 v^2 / p (textbook
 * statistics; with n frames n - 1 of the n differences are independent); five of its
 * roots are allowed, half as much on sd.
 */
#include "check_main.h"

#include <math.h>
#include <stdio.h>

#include "base/random.h"
#include "measure/tone_bins.h"

enum {
    WIDTH = 640,
    HEIGHT = 400,
    PIXELS = WIDTH * HEIGHT,
    MOST = 8,
    GROUP_ROWS = 16
};

static const double GAIN = 0.0021;
static const double FLOOR = 1.3e-5;

/* How the frames differ from the plain case. */
struct series {
    int frames;
    double drift; /* share of the light from frame to frame, */
    double haze;  /*   and light added to all of it */
    double row;   /* sd of noise that rows share, new in every frame */
    double white; /* where samples are clipped; 0 = nowhere */
};

static double light[PIXELS];
static float frames_px[MOST][PIXELS];
static float chooser[PIXELS];
static unsigned char ends_px[MOST][PIXELS];

static double
sd_of(double tone)
{
    return sqrt(GAIN * fmax(tone, 0.0) + FLOOR);
}

static void
shoot(const struct series *series, int k, uint64_t seed)
{
    struct qs_random random;

    qs_random_seed(&random, 100 * seed + (uint64_t)k);
    for (int y = 0; y < HEIGHT; y++) {
        double row = series->row * qs_random_normal(&random);

        for (int x = 0; x < WIDTH; x++) {
            int i = y * WIDTH + x;
            double here = light[i] * (1.0 + k * series->drift) + k * series->haze;
            double value = here + row + sd_of(here) * qs_random_normal(&random);
            int clipped = series->white > 0.0 && value >= series->white;

            frames_px[k][i] = (float)(clipped ? series->white : value);
            ends_px[k][i] = clipped ? 1 : 0;
        }
    }
}

/* What tone_bins.h asks for: the mean of all frames; of two, of the pixels around. */
static void
fill_chooser(int frames)
{
    for (int i = 0; i < PIXELS; i++) {
        double sum = 0.0;

        for (int k = 0; k < frames; k++)
            sum += (double)frames_px[k][i];
        chooser[i] = (float)(sum / frames);
    }
    if (frames > 2)
        return;
    for (int y = 0; y < HEIGHT; y += QS_TONE_BLOCK_PX)
        for (int x = 0; x < WIDTH; x += QS_TONE_BLOCK_PX) {
            float sum = 0.0f, own[QS_TONE_BLOCK_PX * QS_TONE_BLOCK_PX];
            int count = 0;

            for (int i = 0; i < QS_TONE_BLOCK_PX * QS_TONE_BLOCK_PX; i++) {
                own[i] = chooser[(y + i / QS_TONE_BLOCK_PX) * WIDTH + x +
                                 i % QS_TONE_BLOCK_PX];
                sum += own[i];
                count++;
            }
            for (int i = 0; i < count; i++)
                chooser[(y + i / QS_TONE_BLOCK_PX) * WIDTH + x + i % QS_TONE_BLOCK_PX] =
                    (sum - own[i]) / (float)(count - 1);
        }
}

static int
measure(const struct series *series, uint64_t seed,
        struct qs_tone_class classes[QS_TONE_CLASSES])
{
    struct qs_tone_bins *bins;
    struct qs_error err;
    int count;

    for (int k = 0; k < series->frames; k++)
        shoot(series, k, seed);
    fill_chooser(series->frames);
    ck_assert(qs_tone_bins_new(series->frames, &bins, &err) == QS_OK);
    for (int y = 0; y < HEIGHT; y++) {
        const float *rows[MOST];
        const unsigned char *ends[MOST];
        struct qs_tone_row row = {.rows = rows,
                                  .ends = ends,
                                  .mask = 1,
                                  .chooser = chooser + y * WIDTH,
                                  .width = WIDTH,
                                  .group = y / GROUP_ROWS};

        for (int k = 0; k < series->frames; k++) {
            rows[k] = frames_px[k] + y * WIDTH;
            ends[k] = ends_px[k] + y * WIDTH;
        }
        qs_tone_bins_add(bins, &row);
    }
    count = qs_tone_bins_classes(bins, classes);
    qs_tone_bins_free(bins);
    return count;
}

/* Spots of 4 px of random light, from 0.004 to 0.7 of white, even in stops. */
static void
draw_texture(uint64_t seed)
{
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (int y = 0; y < HEIGHT; y += 4)
        for (int x = 0; x < WIDTH; x += 4) {
            double tone = 0.004 * exp2(7.45 * qs_random_even(&random));

            for (int i = 0; i < 16; i++)
                light[(y + i / 4) * WIDTH + x + i % 4] = tone;
        }
}

static void
draw_flat(double tone)
{
    for (int i = 0; i < PIXELS; i++)
        light[i] = tone;
}

static void
draw_ramp(void)
{
    for (int i = 0; i < PIXELS; i++)
        light[i] = 0.02 + 0.6 * (i % WIDTH) / WIDTH;
}

/* Five standard errors of sd, as a share of it, and what the drift makes of it. */
static double
doubt_of(const struct series *series, double pixels)
{
    double pairs = pixels * (series->frames == 2 ? 1.0 : series->frames / 1.5);

    return 5.0 * sqrt(2.0 / pairs) / 2.0 + 0.001;
}

static void
check_law(const struct series *series, const struct qs_tone_class *classes, int count)
{
    double pixels = 0.0;

    for (int i = 0; i < count; i++) {
        const struct qs_tone_class *one = &classes[i];
        double truth = sd_of(one->mean), doubt = doubt_of(series, one->pixels);

        pixels += one->pixels;
        ck_assert_msg(fabs(one->sd / truth - 1.0) < doubt,
                      "%d frames: sd %.6f at %.5f, should be %.6f", series->frames,
                      one->sd, one->mean, truth);
        ck_assert_double_le(one->sd_low, one->sd);
        ck_assert_double_ge(one->sd_high, one->sd);
        ck_assert_double_ge(one->pixels, 1000.0);
        if (i > 0)
            ck_assert_double_gt(one->mean, classes[i - 1].mean);
    }
    ck_assert_double_eq_tol(pixels, PIXELS, 0.5);
}

/* 12 classes and more is what the project promises of a scene with tones. */
START_TEST(noise_follows_the_light_of_any_scene)
{
    static const struct series list[] = {{.frames = 2},
                                         {.frames = 3},
                                         {.frames = 4},
                                         {.frames = 8},
                                         {.frames = 2, .drift = 0.02, .haze = 0.001},
                                         {.frames = 4, .drift = -0.01, .haze = 0.002}};

    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++)
        for (int scene = 0; scene < 2; scene++) {
            struct qs_tone_class classes[QS_TONE_CLASSES];
            int count;

            if (scene == 0)
                draw_texture(17 + i);
            else
                draw_ramp();
            count = measure(&list[i], 3 + i, classes);
            ck_assert_int_ge(count, 12);
            check_law(&list[i], classes, count);
        }
}
END_TEST

/*
 * A scene of a single tone has a single class, with the mean of all frames and the sd
 * of all differences; classes cut by noise would have means that differ.
 */
START_TEST(a_flat_scene_has_one_tone)
{
    for (int frames = 2; frames <= MOST; frames += 2) {
        struct series series = {.frames = frames};
        struct qs_tone_class classes[QS_TONE_CLASSES];

        draw_flat(0.217);
        ck_assert_int_eq(measure(&series, 31 + (uint64_t)frames, classes), 1);
        check_law(&series, classes, 1);
        ck_assert_double_eq_tol(classes[0].mean, 0.217,
                                5.0 * sd_of(0.217) / sqrt((double)PIXELS * frames));
    }
}
END_TEST

/* Two flat tones, darker and brighter half: the ends are theirs, and at most a class or
 * two hold what the noise of the choice spreads between them. */
START_TEST(two_tones_are_few_classes)
{
    for (int frames = 2; frames <= 4; frames += 2) {
        struct series series = {.frames = frames};
        struct qs_tone_class classes[QS_TONE_CLASSES];
        int count;

        for (int i = 0; i < PIXELS; i++)
            light[i] = i % WIDTH < WIDTH / 2 ? 0.11 : 0.47;
        count = measure(&series, 41, classes);
        ck_assert_int_ge(count, 2);
        ck_assert_int_le(count, 4);
        check_law(&series, classes, count);
        ck_assert_double_eq_tol(classes[0].mean, 0.11, 0.001);
        ck_assert_double_eq_tol(classes[count - 1].mean, 0.47, 0.002);
    }
}
END_TEST

/*
 * 95 % intervals: of 16 classes of 12 scenes, some 190, 95 % hold the truth; fewer than
 * 86 % would be 5 standard errors off.  With noise that rows share, too, of which
 * each class sees all rows.
 */
START_TEST(intervals_hold_the_truth)
{
    int held = 0, all = 0;

    for (uint64_t seed = 0; seed < 12; seed++) {
        struct series series = {.frames = 4, .row = seed % 2 == 0 ? 0.0 : 0.006};
        struct qs_tone_class classes[QS_TONE_CLASSES];
        int count;

        draw_texture(51 + seed);
        count = measure(&series, 61 + seed, classes);
        for (int i = 0; i < count; i++) {
            double truth = hypot(sd_of(classes[i].mean), series.row);

            all++;
            held += classes[i].sd_low <= truth && truth <= classes[i].sd_high;
        }
    }
    ck_assert_int_ge(all, 12 * 12);
    ck_assert_msg(held >= 0.86 * all, "%d of %d", held, all);
}
END_TEST

/* Clipped samples are told where they are: none in the dark, about half at the end. */
START_TEST(clipped_shares_are_told)
{
    struct series series = {.frames = 3, .white = 0.45};
    struct qs_tone_class classes[QS_TONE_CLASSES];
    int count;

    draw_ramp();
    count = measure(&series, 71, classes);
    ck_assert_int_ge(count, 8);
    ck_assert_double_eq(classes[0].clipped, 0.0);
    ck_assert_double_gt(classes[count - 1].clipped, 0.5);
}
END_TEST

START_TEST(nothing_seen_is_no_class)
{
    struct qs_tone_class classes[QS_TONE_CLASSES];
    struct qs_tone_bins *bins;
    struct qs_error err;

    ck_assert(qs_tone_bins_new(5, &bins, &err) == QS_OK);
    ck_assert_int_eq(qs_tone_bins_classes(bins, classes), 0);
    qs_tone_bins_free(bins);
    qs_tone_bins_free(NULL);
}
END_TEST

/* Frames that are alike to the last bit have no noise, and no interval but 0. */
START_TEST(no_noise_is_none)
{
    struct qs_tone_class classes[QS_TONE_CLASSES];
    struct qs_tone_bins *bins;
    struct qs_error err;
    const float *rows[3] = {frames_px[0], frames_px[0], frames_px[0]};
    const unsigned char *ends[3] = {ends_px[0], ends_px[0], ends_px[0]};
    struct qs_tone_row row = {rows, ends, 1, frames_px[0], PIXELS, 0};
    struct series series = {.frames = 1};

    draw_ramp();
    shoot(&series, 0, 81);
    ck_assert(qs_tone_bins_new(3, &bins, &err) == QS_OK);
    qs_tone_bins_add(bins, &row);
    ck_assert_int_ge(qs_tone_bins_classes(bins, classes), 12);
    ck_assert_double_eq(classes[0].sd, 0.0);
    ck_assert_double_eq(classes[0].sd_high, 0.0);
    qs_tone_bins_free(bins);
}
END_TEST

QS_TEST_MAIN("tones", noise_follows_the_light_of_any_scene, a_flat_scene_has_one_tone,
             two_tones_are_few_classes, intervals_hold_the_truth,
             clipped_shares_are_told, nothing_seen_is_no_class, no_noise_is_none)
