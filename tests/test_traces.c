/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What was done to a file, on frames whose past is known: tools/bench-traces makes
 * them.  Few frames of each kind here; the bench counts many.
 *
 * False alarms are judged by 36 frames (216 patches) without a spoiler, and each
 * spoiler by 3 of the 11 sensors, in turns: were 10 % of all frames missed, these 63
 * would all be seen in one run of 760; were it 1 %, in half of them.
 */
#include "check_main.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "base/random.h"
#include "measure/traces_blocks.h"
#include "measure/traces_clip.h"
#include "measure/traces_cross.h"
#include "measure/traces_drift.h"
#include "measure/traces_levels.h"
#include "measure/traces_rows.h"
#include "frame/warnings.h"
#include "trace_sim.h"

static bool
is_brief(void)
{
    return getenv("QS_TEST_BRIEF") != NULL;
}

struct counts {
    int frames;
    int seen;  /* the warning that was expected */
    int other; /* frames with one that nobody ordered */
};

static bool
is_ordered(const struct ts_deed *deed, int code)
{
    return code == deed->expected || code == deed->also || deed->also == -2;
}

static void
count_frame(const struct ts_deed *deed, const struct ts_base *base,
            struct counts *counts)
{
    const struct ts_setting setting = {
        .patches = is_brief() ? 4 : 6,
        .side_px = 136,
        .noise = 1.0,
        .seed = (uint64_t)(77 + 31 * (base - ts_bases) + 1013 * (deed - ts_deeds))};
    struct qs_frame frame;
    bool wrong = false;

    ck_assert(ts_judge(base, deed, &setting, &frame));
    for (int w = 0; w < frame.warning_count; w++)
        if (!is_ordered(deed, (int)frame.warnings[w].code)) {
            wrong = true;
            printf("%s, %s: %s\n", deed->name, base->name, frame.warnings[w].text);
        }
    counts->frames++;
    counts->seen += deed->expected >= 0 &&
                    qs_is_warned(&frame, (enum qs_warning_code)deed->expected);
    counts->other += wrong;
    qs_frame_clear(&frame);
}

/* So many sensors in turns: the next deed goes on where this one ends. */
static struct counts
count_deed(int d, int sensors)
{
    const struct ts_deed *deed = &ts_deeds[d];
    struct counts counts = {0, 0, 0};
    int next = d * sensors;

    while (counts.frames < sensors) {
        const struct ts_base *base = &ts_bases[next++ % ts_base_count];

        if (!deed->colour || base->demosaic != TS_GREY)
            count_frame(deed, base, &counts);
    }
    return counts;
}

START_TEST(no_false_alarm)
{
    int frames = 0, alarms = 0;

    for (int d = 0; d < ts_deed_count; d++) {
        struct counts counts;
        int sensors = d == 0 ? ts_base_count : 5;

        if (ts_deeds[d].expected >= 0)
            continue;
        counts = count_deed(d, is_brief() ? 1 : sensors);
        frames += counts.frames;
        alarms += counts.other;
    }
    ck_assert_int_eq(alarms, 0);
    ck_assert_int_ge(frames, is_brief() ? 6 : 36);
}
END_TEST

START_TEST(every_spoiler_is_seen)
{
    for (int d = 0; d < ts_deed_count; d++) {
        struct counts counts;

        if (ts_deeds[d].expected < 0)
            continue;
        counts = count_deed(d, is_brief() ? 1 : 3);
        ck_assert_msg(counts.seen == counts.frames, "%s: %d of %d seen",
                      ts_deeds[d].name, counts.seen, counts.frames);
    }
}
END_TEST

/*
 * Bilinear red is the triangle (1 2 1) / 2 along both axes over a grid of pitch 2: its
 * covariance at 2 px is (1/4) / (6/4) = 1/6 of its variance, and no mixture of colours
 * is smoother.  Without a mosaic there is none.  A mean of two products over 90 000
 * pixels has an sd of 0.0024, twice as much for noise that hangs together; the greatest
 * of three mixtures lies above 0 by about as much: four times that.
 */
START_TEST(the_smoothest_mixture_is_that_of_theory)
{
    const struct ts_setting setting = {
        .patches = 1, .side_px = 300, .noise = 1.0, .seed = 71};

    for (int b = 1; b < (is_brief() ? 4 : ts_base_count); b++) {
        double expected = ts_bases[b].demosaic == TS_BILINEAR ? 1.0 / 6.0 : 0.0;
        struct qs_frame frame;

        if (ts_bases[b].demosaic != TS_BILINEAR && ts_bases[b].demosaic != TS_PLAIN)
            continue;
        ck_assert(ts_judge(&ts_bases[b], &ts_deeds[0], &setting, &frame));
        ck_assert_double_eq_tol(frame.patches[0].traces.sites.smoothest, expected,
                                0.02);
        qs_frame_clear(&frame);
    }
}
END_TEST

/* Each allocation fails once: the frame is refused, and sanitizers see no leak. */
START_TEST(short_memory_is_said)
{
    const struct ts_setting setting = {
        .patches = 1, .side_px = 40, .noise = 1.0, .seed = 3};
    bool made = false;
    long fail = 0;

    for (; !made && fail < 1000; fail++) {
        struct qs_frame frame;

        qs_alloc_fail_at(fail);
        made = ts_judge(&ts_bases[4], &ts_deeds[6], &setting, &frame);
        qs_alloc_fail_at(-1);
        if (made)
            qs_frame_clear(&frame);
    }
    ck_assert(made);
    ck_assert_int_gt(fail, 15);
}
END_TEST

/*
 * A mosaic that was never demosaiced: the share between its places' means follows from
 * the light behind the filters.  Means 0.2, 0.3, 0.3, 0.1: variance 0.006875 between
 * them.
 */
START_TEST(a_raw_mosaic_is_told)
{
    enum {
        SIDE = 96
    };
    static const double light[2][2][2] = {{{0.2, 0.3}, {0.3, 0.1}},
                                          {{0.2, 0.2}, {0.2, 0.2}}};
    static float px[SIDE * SIDE];
    struct qs_plane plane = {px, SIDE, SIDE, SIDE};

    for (int pass = 0; pass < 2; pass++) {
        double between = pass == 0 ? 0.006875 : 0.0;
        struct qs_random random;
        struct qs_cross cross;
        struct qs_error err;

        qs_random_seed(&random, 8);
        for (int i = 0; i < SIDE * SIDE; i++)
            px[i] = (float)(light[pass][i / SIDE % 2][i % SIDE % 2] +
                            0.05 * qs_random_normal(&random));
        ck_assert(qs_cross_measure(&plane, 1, 0, 0, &cross, &err) == QS_OK);
        /* the noise's variance is known to sqrt(2 / 9216): five of them */
        ck_assert_double_eq_tol(cross.places, between / (between + 0.0025),
                                5.0 * sqrt(2.0 / (SIDE * SIDE)));
    }
}
END_TEST

/*
 * Values computed by numerical integration, elsewhere and not by this program: noise of
 * variance 0.002 m + 0.0001 cut to [0, 1], given to six decimals.
 */
START_TEST(clipped_noise_has_the_mean_and_sd_of_theory)
{
    static const double rows[][4] = {{0.01, 0.010954, 0.011074, 0.009296},
                                     {0.05, 0.014142, 0.050001, 0.014139},
                                     {0.95, 0.044721, 0.947039, 0.039745}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double mean, sd;

        qs_clipped_normal(rows[i][0], sqrt(0.002 * rows[i][0] + 1e-4), 0.0, 1.0, &mean,
                          &sd);
        ck_assert_double_eq_tol(mean, rows[i][2], 1e-6);
        ck_assert_double_eq_tol(sd, rows[i][3], 1e-6);
    }
}
END_TEST

/*
 * Half of the samples clipped: the half normal distribution, mean 1 / sqrt(2 pi) and
 * variance 1/2 - 1 / (2 pi) (textbook).
 */
START_TEST(half_clipped_noise_is_half_normal)
{
    const double pi = 3.14159265358979323846;
    struct qs_clip_effect effect = qs_clip_effect(0.5);

    ck_assert_double_eq_tol(effect.mean_shift, 1.0 / sqrt(2.0 * pi), 1e-8);
    ck_assert_double_eq_tol(effect.sd_kept, sqrt(0.5 - 0.5 / pi), 1e-8);
}
END_TEST

/* A ramp of normal noise, cut at a value below the top: a pile; uncut: none. */
START_TEST(a_pile_of_highlights_is_seen)
{
    enum {
        SIDE = 96
    };
    static float px[SIDE * SIDE];
    struct qs_plane plane = {px, SIDE, SIDE, SIDE};
    struct qs_random random;
    struct qs_pile pile;

    qs_random_seed(&random, 411);
    for (int i = 0; i < SIDE * SIDE; i++)
        px[i] = (float)(floor((0.7 + 0.02 * qs_random_normal(&random)) * 65535.0) /
                        65535.0);
    qs_pile_look(&plane, &pile);
    ck_assert(!pile.seen);
    for (int i = 0; i < SIDE * SIDE; i++)
        px[i] = fminf(px[i], 0.7317f);
    qs_pile_look(&plane, &pile);
    ck_assert(pile.seen);
    ck_assert_double_eq_tol(pile.value, 0.7317, 1e-6);
    /* beyond 1.585 sd lie 5.65 % of a normal distribution; 3 sd of a count of 9216 */
    ck_assert_double_eq_tol(pile.share, 0.0565, 3.0 * sqrt(0.0565 * 0.9435 / 9216.0));
}
END_TEST

/*
 * The step comes back whatever the bits: lattices of 8, 10 and 12 bits, through
 * the curve.  The pairs counted have a relative sd below 1 / sqrt(20); the cube root of
 * it, and shape of the noise, within 15 %.
 */
START_TEST(the_lattice_has_the_step_it_was_made_with)
{
    enum {
        SIDE = 200
    };
    static float px[3][SIDE * SIDE];
    struct qs_plane planes[3];
    struct qs_random random;

    for (int bits = 8; bits <= 10; bits++) {
        double top = exp2(bits) - 1.0;
        struct qs_lattice lattice;
        struct qs_error err = {0};

        qs_random_seed(&random, (uint64_t)(17 + bits));
        for (int c = 0; c < 3; c++) {
            planes[c] = (struct qs_plane){px[c], SIDE, SIDE, SIDE};
            for (int i = 0; i < SIDE * SIDE; i++) {
                double code = 0.47 + 0.07 * c + 0.009 * qs_random_normal(&random);

                code = floor(code * top + 0.5) / top;
                px[c][i] = (float)pow((code + 0.055) / 1.055, 2.4);
            }
        }
        ck_assert(qs_lattice_look(planes, 3, &lattice, &err) == QS_OK);
        ck_assert(lattice.known);
        ck_assert_msg(fabs(lattice.step * top - 1.0) < 0.15, "%d bits: step 1 / %g",
                      bits, 1.0 / lattice.step);
        ck_assert(bits == 8 ? lattice.step > qs_lattice_coarse
                            : lattice.step < 0.98 * (1.0 / 255.0));
    }
}
END_TEST

static void
note_levels(struct qs_codes *codes, int step, double top, double gamma)
{
    for (double level = 20.0; level < top; level += step) {
        uint16_t code = (uint16_t)floor(65535.0 * pow(level / top, gamma) + 0.5);

        qs_codes_add(codes, &code, 1);
    }
}

/* Codes of 8 bits padded both ways, and bent by a curve; of 10, 12, 15 bits not. */
START_TEST(codes_of_eight_bits_are_told)
{
    static float light[65536];
    const float *const lights[3] = {light, light, light};
    static const struct {
        double top, gamma;
        bool eight;
    } rows[] = {{255.0, 1.0, true},    {255.0, 2.2, true},   {255.0, 0.7, true},
                {1023.0, 1.0, false},  {4095.0, 1.0, false}, {16383.0, 1.0, false},
                {32767.0, 1.0, false}, {65535.0, 1.0, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct qs_codes codes;
        struct qs_error err = {0};

        for (int code = 0; code < 65536; code++)
            light[code] = (float)pow(code / 65535.0, 2.2 / rows[i].gamma);
        ck_assert(qs_codes_init(&codes, 1, &err) == QS_OK);
        note_levels(&codes, 1, rows[i].top, rows[i].gamma);
        ck_assert_msg(qs_codes_are_eight_bit(&codes, lights) == rows[i].eight,
                      "%g levels, gamma %g", rows[i].top, rows[i].gamma);
        qs_codes_clear(&codes);
    }
}
END_TEST

/* Waves of 0.7 % of period 41.3 rows in noise of 6 %, and none without them. */
START_TEST(flicker_has_its_period)
{
    enum {
        WIDTH = 640,
        HEIGHT = 900
    };
    static float px[WIDTH * HEIGHT];
    const double pi = 3.14159265358979323846;

    for (int pass = 0; pass < 2; pass++) {
        struct qs_plane plane = {px, WIDTH, HEIGHT, WIDTH};
        struct qs_row_waves waves;
        struct qs_row_wave wave;
        struct qs_random random;
        struct qs_error err = {0};

        qs_random_seed(&random, 5);
        for (int y = 0; y < HEIGHT; y++)
            for (int x = 0; x < WIDTH; x++) {
                double light = x < WIDTH / 3 && y > 301 ? 0.4 : 0.1;

                light *= 1.0 + (pass == 0 ? 0.007 : 0.0) * sin(2.0 * pi * y / 41.3);
                px[y * WIDTH + x] =
                    (float)(light * (1.0 + 0.06 * qs_random_normal(&random)));
            }
        ck_assert(qs_row_waves_init(&waves, WIDTH, HEIGHT, &err) == QS_OK);
        qs_row_waves_add(&waves, &plane, 0);
        waves.rows = plane.height;
        ck_assert(qs_row_waves_judge(&waves, &wave, &err) == QS_OK);
        ck_assert_int_eq(wave.seen, pass == 0);
        if (wave.seen) {
            /* frequencies are 1 / 900 apart: half a step is 0.95 rows here */
            ck_assert_double_eq_tol(wave.period_px, 41.3, 1.0);
            ck_assert_double_eq_tol(wave.amplitude, 0.007, 0.002);
        }
        qs_row_waves_clear(&waves);
    }
}
END_TEST

static struct qs_drift
drift_of(double factor, double red, bool has_exposure, double promised)
{
    struct qs_drift_pair pairs[5];
    struct qs_drift drift;

    for (int i = 0; i < 5; i++)
        for (int c = 0; c < 4; c++) {
            pairs[i].before[c] = 0.03 * (i + 1) + 0.01 * c;
            pairs[i].after[c] = pairs[i].before[c] * factor * (c == 0 ? red : 1.0);
        }
    qs_drift_judge(pairs, 5, false, has_exposure, promised, &drift);
    return drift;
}

START_TEST(drift_is_what_exposure_does_not_explain)
{
    struct qs_drift drift = drift_of(1.0, 1.0, true, 2.0);

    ck_assert(drift.known && !drift.exposure && !drift.colour);
    drift = drift_of(4.0, 1.0, true, 2.0); /* two stops, as promised */
    ck_assert(!drift.exposure);
    drift = drift_of(1.31, 1.0, false, 0.0);
    ck_assert(drift.exposure && !drift.colour);
    ck_assert_double_eq_tol(drift.stops, log2(1.31), 1e-12);
    drift = drift_of(1.0, 1.043, false, 0.0);
    ck_assert(drift.colour && !drift.exposure);
    ck_assert_double_eq_tol(drift.red_stops, log2(1.043), 1e-12);
}
END_TEST

QS_TEST_MAIN("traces", no_false_alarm, every_spoiler_is_seen,
             the_smoothest_mixture_is_that_of_theory, short_memory_is_said,
             a_raw_mosaic_is_told, clipped_noise_has_the_mean_and_sd_of_theory,
             half_clipped_noise_is_half_normal, a_pile_of_highlights_is_seen,
             the_lattice_has_the_step_it_was_made_with, codes_of_eight_bits_are_told,
             flicker_has_its_period, drift_is_what_exposure_does_not_explain)
