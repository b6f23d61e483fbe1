/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The simulator says what its noise is; here it is measured back.
 *
 * Tolerances are 4.5 standard errors, so that one check in 150 000 would fail by
 * chance; seeds are fixed, so that none does on a good day and fails on a bad one.
 */
#include <math.h>
#include <stdint.h>

#include "base/memory.h"
#include "base/pool.h"
#include "check_main.h"
#include "frame_make.h"
#include "glassroom_flat.h"
#include "truth.h"

#define SIGMAS 4.5

static struct gr_picture
made(const struct gr_recipe *recipe, int threads)
{
    struct gr_picture picture;
    struct qs_pool *pool;

    ck_assert_int_eq(gr_recipe_check(recipe, NULL), QS_OK);
    ck_assert_int_eq(qs_pool_new(threads, &pool, NULL), QS_OK);
    ck_assert_int_eq(gr_frame_make(recipe, pool, &picture, NULL), QS_OK);
    qs_pool_free(pool);
    return picture;
}

static double
value(const struct gr_picture *p, int x, int y, int c)
{
    return (double)gr_picture_row(p, y)[x * p->channels + c];
}

static double
mean_of(const struct gr_picture *p, int c)
{
    double sum = 0.0;

    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++)
            sum += value(p, x, y, c);
    return sum / ((double)p->width * p->height);
}

/* Mean product of deviations of two frames, or of one frame and itself moved by (dx,
 * dy). */
static double
covariance(const struct gr_picture *a, const struct gr_picture *b, int c, int dx,
           int dy)
{
    double mean_a = mean_of(a, c), mean_b = mean_of(b, c), sum = 0.0;

    for (int y = 0; y < a->height - dy; y++)
        for (int x = 0; x < a->width - dx; x++)
            sum +=
                (value(a, x, y, c) - mean_a) * (value(b, x + dx, y + dy, c) - mean_b);
    return sum / ((double)(a->width - dx) * (a->height - dy));
}

/* ---- the noise model ---- */

struct line {
    double sw, swx, swy, swxx, swxy;
};

/* Weighted by the inverse variance of a sample variance, 2 var^2 / n. */
static void
line_add(struct line *line, double x, double y, double true_variance, double n)
{
    double w = n / (2.0 * true_variance * true_variance);

    line->sw += w;
    line->swx += w * x;
    line->swy += w * y;
    line->swxx += w * x * x;
    line->swxy += w * x * y;
}

START_TEST(test_photon_transfer_comes_back)
{
    struct gr_recipe r = plain_flat(256);
    struct gr_expected e;
    struct line line = {0};
    double n = 256.0 * 256.0, det, slope, level;

    r.sensor.gain_dn_per_e = 1.37;
    r.sensor.read_e = 3.17;
    e = gr_expect(&r.sensor);
    for (int i = 0; i < 10; i++) {
        struct gr_picture p;
        double mean = 0.18 * exp2(-7.7 + i), variance;

        r.tone_stops = -7.7 + i;
        r.seed = 31 + (uint64_t)i;
        p = made(&r, 0);
        /* G13, from the model and not from the program */
        variance = e.gain * mean + e.read * e.read;
        ck_assert_double_eq_tol(mean_of(&p, 0), mean, SIGMAS * sqrt(variance / n));
        line_add(&line, mean_of(&p, 0), covariance(&p, &p, 0, 0, 0), variance, n);
        qs_free(p.px);
    }
    det = line.sw * line.swxx - line.swx * line.swx;
    slope = (line.sw * line.swxy - line.swx * line.swy) / det;
    level = (line.swxx * line.swy - line.swx * line.swxy) / det;
    /* gain: 1.37 / (16383 - 512); read: 3.17 e and 1/12 DN^2 of rounding */
    ck_assert_double_eq_tol(slope, 1.37 / 15871.0, SIGMAS * sqrt(line.sw / det));
    ck_assert_double_eq_tol(level,
                            (3.17 * 3.17 + 1.0 / (12.0 * 1.37 * 1.37)) *
                                (1.37 / 15871.0) * (1.37 / 15871.0),
                            SIGMAS * sqrt(line.swxx / det));
}
END_TEST

START_TEST(test_camera_follows_its_equations)
{
    struct gr_sensor low = gr_sensor_at_iso(100.0), high = gr_sensor_at_iso(6400.0);

    /* G1 to G3 by hand */
    ck_assert_double_eq_tol(gr_sensor_white_e(&low), 52000.0, 1e-6);
    ck_assert_double_eq_tol(gr_sensor_white_e(&high), 812.5, 1e-9);
    ck_assert_double_eq_tol(low.read_e, 5.728001396648, 1e-9);
    ck_assert_double_eq_tol(high.read_e, 1.602306230, 1e-8);
    ck_assert_double_eq_tol(high.row_e, 0.08 * 1.602306230, 1e-8);
}
END_TEST

START_TEST(test_fixed_pattern_is_the_cameras_own)
{
    struct gr_recipe r = plain_flat(256);
    struct gr_picture a, b, other;
    double n = 256.0 * 256.0, white_e, pattern, total, se;

    r.sensor.prnu = 0.023;
    r.sensor.offset_e = 7.3;
    white_e = gr_sensor_white_e(&r.sensor);
    a = made(&r, 0);
    r.seed = 2;
    b = made(&r, 0);
    r.seed = 3;
    r.sensor.serial = 99;
    other = made(&r, 0);
    /* two frames share (p m)^2 + offset^2 and nothing else */
    pattern = 0.023 * 0.18 * 0.023 * 0.18 + 7.3 * 7.3 / (white_e * white_e);
    total = pattern + 0.18 / white_e + pow(gr_expect(&r.sensor).read, 2.0);
    se = sqrt((total * total + pattern * pattern) / n);
    ck_assert_double_eq_tol(covariance(&a, &b, 0, 0, 0), pattern, SIGMAS * se);
    ck_assert_double_eq_tol(covariance(&b, &other, 0, 0, 0), 0.0,
                            SIGMAS * total / sqrt(n));
    qs_free(a.px);
    qs_free(b.px);
    qs_free(other.px);
}
END_TEST

/* Means of the rows (along = 0) or of the columns (1), about the mean of all. */
static void
profile_of(const struct gr_picture *p, int along, double *out, int count)
{
    double mean = mean_of(p, 0);

    for (int i = 0; i < count; i++) {
        out[i] = 0.0;
        for (int j = 0; j < count; j++)
            out[i] += (along ? value(p, i, j, 0) : value(p, j, i, 0)) - mean;
        out[i] /= count;
    }
}

static double
mean_product(const double *a, const double *b, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum / (count - 1);
}

START_TEST(test_rows_are_new_and_columns_stay)
{
    enum {
        SIDE = 512
    };
    struct gr_recipe r = plain_flat(SIDE);
    double first[SIDE], second[SIDE], white_e, pixel, shared, loose;
    struct gr_picture a, b;

    r.sensor.row_e = 5.9;
    r.sensor.column_e = 4.7;
    white_e = gr_sensor_white_e(&r.sensor);
    a = made(&r, 0);
    r.seed = 2;
    b = made(&r, 0);
    pixel = (0.18 / white_e + pow(gr_expect(&r.sensor).read, 2.0)) / SIDE;
    loose = SIGMAS * sqrt(2.0 / (SIDE - 1));
    profile_of(&a, 0, first, SIDE);
    profile_of(&b, 0, second, SIDE);
    shared = 5.9 * 5.9 / (white_e * white_e) + pixel;
    ck_assert_double_eq_tol(mean_product(first, first, SIDE) / shared, 1.0, loose);
    ck_assert_double_eq_tol(mean_product(first, second, SIDE) / shared, 0.0, loose);
    profile_of(&a, 1, first, SIDE);
    profile_of(&b, 1, second, SIDE);
    shared = 4.7 * 4.7 / (white_e * white_e);
    ck_assert_double_eq_tol(mean_product(first, second, SIDE) / shared, 1.0, loose);
    qs_free(a.px);
    qs_free(b.px);
}
END_TEST

/* ---- the converter ---- */

/* What white noise becomes: sd, correlation with the next and the diagonal pixel, sum
 * of squares. */
struct coloured {
    int demosaic;
    int channel;
    double smooth_px;
    double sd;
    double beside;
    double diagonal;
    double squares;
};

static const struct coloured coloured[] = {
    /* exact: the filter [1 2 1] x [1 2 1] / 4 on one photosite in four, and the
       cross of 4 and ones / 4 on every second one; squares: 3072^2 simulation */
    {1, 0, 0.0, 0.75, 2.0 / 3.0, 4.0 / 9.0, 3.78},
    {1, 1, 0.0, 0.79056942, 0.4, 0.1, 1.69},
    {1, 2, 0.0, 0.75, 2.0 / 3.0, 4.0 / 9.0, 3.78},
    /* sd exact from the coefficients' squares over the phases; correlations: an
       independent simulation of 3072^2 white pixels, known to 0.001 */
    {0, 0, 0.0, 0.99215674, 0.381, 0.183, 1.75},
    {0, 1, 0.0, 0.88388348, 0.320, 0.080, 1.45},
    /* sampled Gaussians: sums of exp(-i^2 / 2 s^2) products; the same simulation */
    {2, 0, 0.7, 0.410, 0.582, 0.339, 2.93},
    {2, 0, 1.0, 0.282, 0.779, 0.607, 6.29},
};

/* White noise of 40 codes on mid grey, and no photons. */
static struct gr_recipe
white_noise(void)
{
    struct gr_recipe r = plain_flat(512);

    r.sensor.shot_noise = false;
    r.sensor.read_e = 40.0 / r.sensor.gain_dn_per_e;
    return r;
}

START_TEST(test_demosaicing_colours_the_noise)
{
    struct gr_recipe r = white_noise();
    double raw = sqrt(40.0 * 40.0 + 1.0 / 12.0) / 15871.0;

    for (size_t i = 0; i < sizeof coloured / sizeof coloured[0]; i++) {
        const struct coloured *c = &coloured[i];
        double se = sqrt(2.0 * c->squares / (512.0 * 512.0)), variance;
        struct gr_picture p;

        r.demosaic = &gr_demosaics[c->demosaic];
        r.retouch.smooth_luma_px = c->smooth_px;
        p = made(&r, 0);
        variance = covariance(&p, &p, c->channel, 0, 0);
        /* half the relative error of a variance, and the last digit of the table */
        ck_assert_double_eq_tol(sqrt(variance) / raw / c->sd, 1.0,
                                SIGMAS * se / 2.0 + 0.002);
        ck_assert_double_eq_tol(covariance(&p, &p, c->channel, 1, 0) / variance,
                                c->beside, SIGMAS * se + 0.001);
        ck_assert_double_eq_tol(covariance(&p, &p, c->channel, 0, 1) / variance,
                                c->beside, SIGMAS * se + 0.001);
        ck_assert_double_eq_tol(covariance(&p, &p, c->channel, 1, 1) / variance,
                                c->diagonal, SIGMAS * se + 0.001);
        qs_free(p.px);
    }
}
END_TEST

START_TEST(test_colours_come_back_through_every_light)
{
    struct gr_recipe r = gr_recipe_default();

    r.scene = &gr_scenes[3];
    r.width = 240;
    r.height = 160;
    silence(&r.sensor);
    for (r.response = gr_responses; r.response->name != NULL; r.response++)
        for (r.demosaic = gr_demosaics; r.demosaic->channels == 3; r.demosaic++) {
            const struct gr_view view = {r.width, r.height};
            struct gr_picture p = made(&r, 0);

            for (int i = 0; i < 24; i++) {
                int x = 20 + 40 * (i % 6), y = 20 + 40 * (i / 6);
                struct gr_rgb want = r.scene->shade(&view, x, y);

                /* half a code, by 1/0.38 of balance, by about 2 of the matrix; the
                   light changes by 1e-5 from photosite to photosite */
                ck_assert_double_eq_tol(value(&p, x, y, 0), want.r, 2.5e-4);
                ck_assert_double_eq_tol(value(&p, x, y, 1), want.g, 2.5e-4);
                ck_assert_double_eq_tol(value(&p, x, y, 2), want.b, 2.5e-4);
            }
            qs_free(p.px);
        }
}
END_TEST

START_TEST(test_curves_match_published_values)
{
    /* 0.18: colour-science test data for sRGB and ROMM; the others from the definitions
     */
    ck_assert_double_eq_tol(gr_space_encode(&gr_spaces[0], 0.18), 0.461356129500442,
                            1e-12);
    ck_assert_double_eq_tol(gr_space_encode(&gr_spaces[0], 0.001), 0.01292, 1e-12);
    ck_assert_double_eq_tol(gr_space_encode(&gr_spaces[1], 0.317), 0.317, 1e-12);
    ck_assert_double_eq_tol(gr_space_encode(&gr_spaces[2], 0.18), 0.3857114, 1e-7);
    ck_assert_double_eq_tol(gr_space_encode(&gr_spaces[2], 0.001), 0.016, 1e-12);
    for (const struct gr_space *s = gr_spaces; s->name != NULL; s++) {
        struct gr_matrix m = gr_space_from_scene(s);
        struct gr_rgb grey = gr_apply(&m, (struct gr_rgb){0.317, 0.317, 0.317});

        ck_assert_double_eq_tol(grey.r, 0.317, 1e-9);
        ck_assert_double_eq_tol(grey.g, 0.317, 1e-9);
        ck_assert_double_eq_tol(grey.b, 0.317, 1e-9);
    }
}
END_TEST

START_TEST(test_threads_change_nothing)
{
    struct gr_recipe r = gr_recipe_default();
    struct gr_picture one;
    size_t bytes = 97 * 61 * 3 * sizeof(float);

    r.scene = &gr_scenes[1];
    r.width = 97;
    r.height = 61;
    r.retouch = (struct gr_retouch){0.6, 1.7, 0.5, 0.8, 0.02, 3.0};
    one = made(&r, 1);
    for (int threads = 2; threads <= 3; threads++) {
        struct gr_picture more = made(&r, threads);

        ck_assert_mem_eq(one.px, more.px, bytes);
        qs_free(more.px);
    }
    qs_free(one.px);
}
END_TEST

QS_TEST_MAIN("glassroom", test_photon_transfer_comes_back,
             test_camera_follows_its_equations, test_fixed_pattern_is_the_cameras_own,
             test_rows_are_new_and_columns_stay, test_demosaicing_colours_the_noise,
             test_colours_come_back_through_every_light,
             test_curves_match_published_values, test_threads_change_nothing)
