/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_fall.c - the noise of a patch at a delivery size, single patches: predicted and
 * measured against the same worked out the long way, and what is refused
 *
 * Against the truth, over many patches: test_fall_truth.c.
 */
#include "fall/fall.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "check_main.h"
#include "fall_scene.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static const struct field_kind white = {.name = "white"};
static const struct field_kind soft = {.name = "blurred 0.7", .blur_px = 0.7};
static const struct field_kind doubled = {.name = "doubled", .mosaic = FIELD_DOUBLED};

/* Second-order surface by plain normal equations and elimination; returns the sum of
   squares left. */
static double
left_after_surface(const double *px, int width, int height)
{
    double a[6][7] = {{0.0}}, left = 0.0;

    for (int pass = 0; pass < 2; pass++) {
        for (int y = 0; y < height; y++)
            for (int x = 0; x < width; x++) {
                double u = 2.0 * x / width - 1.0, v = 2.0 * y / height - 1.0;
                double t[6] = {1.0, u, v, u * u, u * v, v * v};
                double value = px[y * width + x];

                for (int i = 0; i < 6; i++) {
                    for (int j = 0; pass == 0 && j < 6; j++)
                        a[i][j] += t[i] * t[j];
                    if (pass == 0)
                        a[i][6] += t[i] * value;
                    else
                        value -= a[i][6] * t[i];
                }
                left += pass == 1 ? value * value : 0.0;
            }
        for (int i = 0; pass == 0 && i < 6; i++)
            for (int k = 0; k < 6; k++) {
                double f = a[k][i] / a[i][i];

                for (int j = i; j < 7; j++)
                    a[k][j] -= k == i ? 0.0 : f * a[i][j];
            }
        for (int i = 0; pass == 0 && i < 6; i++)
            a[i][6] /= a[i][i];
    }
    return left;
}

/* The delivered pixels `box` of the crop, each from all of the crop's pixels. */
static double *
deliver_long_way(enum qs_filter filter, const float *px, int stride, struct qs_box crop,
                 int out_width, int out_height, struct qs_box box)
{
    double *out = malloc((size_t)box.width * (size_t)box.height * sizeof *out);

    for (int j = 0; j < box.height; j++)
        for (int i = 0; i < box.width; i++) {
            int x, y, count_x, count_y;
            double *across =
                scene_weights(filter, crop.width, out_width, box.x + i, &x, &count_x);
            double *down =
                scene_weights(filter, crop.height, out_height, box.y + j, &y, &count_y);
            double sum = 0.0;

            for (int n = 0; n < count_y; n++)
                for (int m = 0; m < count_x; m++)
                    sum += down[n] * across[m] *
                           (double)px[(crop.y + y + n) * stride + crop.x + x + m];
            out[j * box.width + i] = sum;
            free(across);
            free(down);
        }
    return out;
}

/*
 * One patch, shrunk within an odd crop, the long way and in double precision: the
 * measured variance is the squares left after the surface, and what the surface took of
 * the noise given back.  Pixels in float leave 1e-7 of 0.2 in noise of some 0.003.
 */
START_TEST(measured_the_long_way)
{
    enum {
        N = 200
    };
    struct qs_box crop = {7, 11, 177, 163};
    struct scene scene = {&soft, N, {51, 62, 83, 71}, 20};

    for (int f = 0; f < QS_FILTERS; f++) {
        float *px = field_new(&soft, N, SCENE_MEAN, SCENE_SD, 70 + (uint64_t)f);
        struct qs_patch_view view = scene_view(&scene, px);
        struct qs_plane patch = qs_plane_part(&view.plane, view.box);
        struct qs_reduction reduction =
            scene_reduction((enum qs_filter)f, crop, 91, 80);
        struct qs_box box = qs_fall_pixels(&reduction, &view);
        struct qs_plane delivered = scene_deliver(&reduction, &view);
        double *expected =
            deliver_long_way((enum qs_filter)f, px, N, crop, 91, 80, box);
        double merged = 177.0 / 91.0 * 163.0 / 80.0, count = box.width * box.height;
        struct qs_fall_value fall;
        struct qs_noise_shape shape;
        struct qs_noise noise;
        double variance;

        ck_assert_int_eq(qs_noise_measure(&patch, 51, 62, 20, 20, &noise, &shape, NULL),
                         QS_OK);
        ck_assert_int_eq(qs_fall(&reduction, &noise, &shape, &delivered, &fall, NULL),
                         QS_OK);
        ck_assert_int_ge(box.width, 38);
        ck_assert_int_ge(box.height, 31);
        variance = (left_after_surface(expected, box.width, box.height) +
                    shape.removed / merged) /
                   count;
        ck_assert_double_eq_tol(fall.sd_measured / sqrt(variance), 1.0, 1e-5);
        ck_assert_double_eq_tol(fall.fall_db, 20.0 * log10(noise.sd / fall.sd_measured),
                                1e-12);
        ck_assert_double_eq_tol(fall.worth_stops,
                                2.0 * log2(noise.sd / fall.sd_measured), 1e-12);
        free(expected);
        free(delivered.px);
        free(px);
        qs_noise_shape_clear(&shape);
        qs_reduction_clear(&reduction);
    }
}
END_TEST

/* Delivered pixels lie in the patch and see only the even part around it. */
START_TEST(pixels_of_a_patch)
{
    struct qs_box crop = {7, 11, 177, 163};
    struct qs_reduction reduction = scene_reduction(QS_FILTER_MITCHELL, crop, 91, 80);
    struct qs_patch_view view = {.box = {51, 62, 83, 71}, .reach = {50, 60, 90, 80}};
    struct qs_box box = qs_fall_pixels(&reduction, &view);
    double sx = 177.0 / 91.0, sy = 163.0 / 80.0;
    int last_x = box.x + box.width - 1, last_y = box.y + box.height - 1;

    ck_assert(box.width > 0 && box.height > 0);
    ck_assert_double_ge(7 + box.x * sx, 51 - 1e-9);
    ck_assert_double_le(7 + (box.x + box.width) * sx, 51 + 83 + 1e-9);
    ck_assert_double_ge(11 + box.y * sy, 62 - 1e-9);
    ck_assert_double_le(11 + (box.y + box.height) * sy, 62 + 71 + 1e-9);
    ck_assert_int_ge(7 + reduction.across.first[box.x], 50);
    ck_assert_int_le(
        7 + reduction.across.first[last_x] + reduction.across.count[last_x], 50 + 90);
    ck_assert_int_ge(11 + reduction.down.first[box.y], 60);
    ck_assert_int_le(11 + reduction.down.first[last_y] + reduction.down.count[last_y],
                     60 + 80);
    /* a patch outside the crop has none */
    view.box = view.reach = (struct qs_box){186, 20, 12, 90};
    ck_assert_int_eq(qs_fall_pixels(&reduction, &view).width, 0);
    view.box = view.reach = (struct qs_box){0, 0, 6, 9};
    box = qs_fall_pixels(&reduction, &view);
    ck_assert(box.width == 0 && box.height == 0);
    qs_reduction_clear(&reduction);
}
END_TEST

/*
 * The prediction as its definition says: mean over delivered pixels of the sum over all
 * pairs of taps of both weights and the covariance of the pair, by the first one's
 * place in the mosaic.
 */
static double
predict_long_way(enum qs_filter filter, int n, int out, int origin_x, int origin_y,
                 const struct qs_noise_shape *shape, const struct qs_weights *whole)
{
    int nx = 2 * shape->lags_x + 1, pixels = 0;
    double sum = 0.0;

    for (int j = whole->whole_first; j < whole->whole_end; j++)
        for (int i = whole->whole_first; i < whole->whole_end; i++, pixels++) {
            int x, y, cx, cy;
            double *across = scene_weights(filter, n, out, i, &x, &cx);
            double *down = scene_weights(filter, n, out, j, &y, &cy);

            for (int a = 0; a < cx * cy; a++)
                for (int b = 0; b < cx * cy; b++) {
                    int dx = b % cx - a % cx, dy = b / cx - a / cx;
                    int place = 2 * ((y + a / cx + origin_y) & 1) +
                                ((x + a % cx + origin_x) & 1);

                    sum += across[a % cx] * down[a / cx] * across[b % cx] *
                           down[b / cx] *
                           shape->covariance[place][(dy + shape->lags_y) * nx + dx +
                                                    shape->lags_x];
                }
            free(across);
            free(down);
        }
    return sum / pixels;
}

START_TEST(predicted_the_long_way)
{
    static const int outs[] = {32, 41, 49}; /* of 64 */

    for (size_t k = 0; k < COUNT(outs); k++)
        for (int odd = 0; odd < 2; odd++) {
            struct qs_reduction reduction =
                scene_reduction(QS_FILTER_CATMULL_ROM, (struct qs_box){odd, 0, 64, 64},
                                outs[k], outs[k]);
            float *px = field_new(&doubled, 64, SCENE_MEAN, SCENE_SD, 5);
            struct qs_plane patch = {px + odd, 63, 63, 64};
            struct qs_fall_value fall;
            struct qs_noise_shape shape;
            struct qs_noise noise;

            ck_assert_int_eq(
                qs_noise_measure(&patch, odd, 0, 20, 20, &noise, &shape, NULL), QS_OK);
            ck_assert_int_eq(qs_fall(&reduction, &noise, &shape, NULL, &fall, NULL),
                             QS_OK);
            ck_assert(fall.has_predicted && !fall.has_measured && fall.has_fall);
            ck_assert_double_eq_tol(
                fall.sd_predicted /
                    sqrt(predict_long_way(QS_FILTER_CATMULL_ROM, 64, outs[k], odd, 0,
                                          &shape, &reduction.across)),
                1.0, 1e-6);
            ck_assert(fall.sd_low < fall.sd_predicted &&
                      fall.sd_predicted < fall.sd_high);
            qs_noise_shape_clear(&shape);
            qs_reduction_clear(&reduction);
            free(px);
        }
}
END_TEST

/* Native size: the same pixels, so the same sd, nothing gained, and no doubt of that.
 */
START_TEST(native_size)
{
    struct scene scene = {&soft, 200, {51, 62, 83, 71}, 20};

    for (int f = 0; f < QS_FILTERS; f++) {
        struct qs_reduction reduction = scene_reduction(
            (enum qs_filter)f, (struct qs_box){0, 0, 200, 200}, 200, 200);
        struct scene_outcome got = scene_run(&scene, &reduction, 17);

        ck_assert_double_eq_tol(got.fall.sd_measured / got.noise.sd, 1.0, 1e-12);
        ck_assert_double_eq_tol(got.fall.sd_predicted / got.noise.sd, 1.0, 1e-3);
        ck_assert_double_eq_tol(got.fall.worth_stops, 0.0, 1e-9);
        ck_assert_double_eq_tol(got.fall.fall_db, 0.0, 1e-9);
        ck_assert_double_eq_tol(got.fall.worth_se_stops, 0.0, 1e-6);
        ck_assert_double_eq_tol(got.fall.sd_low / got.noise.sd_low, 1.0, 2e-3);
        ck_assert_double_eq_tol(got.fall.sd_high / got.noise.sd_high, 1.0, 2e-3);
        ck_assert_double_eq(reduction.kept_half_nyquist, 1.0);
        ck_assert_double_eq(reduction.alias_share, 0.0);
        qs_reduction_clear(&reduction);
    }
}
END_TEST

/* A patch smaller than the kernel: neither figure, and no fall. */
START_TEST(kernel_larger_than_the_patch)
{
    struct scene scene = {&white, 200, {51, 62, 20, 20}, 0};
    struct qs_reduction reduction =
        scene_reduction(QS_FILTER_LANCZOS3, (struct qs_box){0, 0, 200, 200}, 50, 50);
    struct scene_outcome got = scene_run(&scene, &reduction, 18);

    ck_assert(!got.fall.has_predicted && !got.fall.has_measured && !got.fall.has_fall);
    ck_assert_double_eq(got.fall.sd_predicted, 0.0);
    ck_assert_double_eq(got.fall.sd_measured, 0.0);
    qs_reduction_clear(&reduction);
}
END_TEST

/* No noise: nothing falls, nothing is divided by zero. */
START_TEST(no_noise)
{
    static float px[100 * 100];
    struct qs_plane plane = {px, 100, 100, 100};
    struct qs_patch_view view = {plane, {0, 0, 100, 100}, {0, 0, 100, 100}, 0, 0};
    struct qs_reduction reduction =
        scene_reduction(QS_FILTER_AREA, (struct qs_box){0, 0, 100, 100}, 50, 50);
    struct qs_plane delivered = scene_deliver(&reduction, &view);
    struct qs_fall_value fall;
    struct qs_noise_shape shape;
    struct qs_noise noise;

    ck_assert_int_eq(qs_noise_measure(&plane, 0, 0, 5, 5, &noise, &shape, NULL), QS_OK);
    ck_assert_int_eq(qs_fall(&reduction, &noise, &shape, &delivered, &fall, NULL),
                     QS_OK);
    ck_assert(fall.has_predicted && fall.has_measured && !fall.has_fall);
    ck_assert_double_eq(fall.sd_predicted, 0.0);
    ck_assert_double_eq(fall.sd_measured, 0.0);
    ck_assert_double_eq(fall.sd_low, 0.0);
    ck_assert_double_eq(fall.sd_high, 0.0);
    free(delivered.px);
    qs_noise_shape_clear(&shape);
    qs_reduction_clear(&reduction);
}
END_TEST

/* Response of one axis at a frequency, from the second writing's weights. */
static double
kept_at(enum qs_filter filter, int in, int out, double f_cpp)
{
    int first, count;
    double *w = scene_weights(filter, in, out, out / 2, &first, &count);
    double centre = (out / 2 + 0.5) * in / out - 0.5, re = 0.0, im = 0.0;

    for (int n = 0; n < count; n++) {
        re += w[n] * cos(2.0 * acos(-1.0) * f_cpp * (first + n - centre));
        im += w[n] * sin(2.0 * acos(-1.0) * f_cpp * (first + n - centre));
    }
    free(w);
    return sqrt(re * re + im * im);
}

/* The filter's own figures: area at 2 keeps cos(pi / 8) at half the new Nyquist
   frequency (closed form); with unlike axes the geometric mean of both. */
START_TEST(own_figures)
{
    struct qs_box crop = {0, 0, 200, 200};

    for (int f = 0; f < QS_FILTERS; f++) {
        struct qs_reduction even = scene_reduction((enum qs_filter)f, crop, 100, 100);
        struct qs_reduction odd = scene_reduction((enum qs_filter)f, crop, 100, 50);
        double half = kept_at((enum qs_filter)f, 200, 100, 0.125);
        double quarter = kept_at((enum qs_filter)f, 200, 50, 0.0625);

        ck_assert_double_eq_tol(even.kept_half_nyquist, half, 1e-9);
        ck_assert_double_eq_tol(odd.kept_half_nyquist, sqrt(half * quarter), 1e-9);
        if (f == QS_FILTER_AREA) {
            ck_assert_double_eq_tol(even.kept_half_nyquist, cos(acos(-1.0) / 8.0),
                                    1e-9);
            ck_assert_double_eq_tol(even.alias_share, 0.330369, 3e-4);
        }
        qs_reduction_clear(&even);
        qs_reduction_clear(&odd);
    }
}
END_TEST

START_TEST(memory_runs_out_preparing)
{
    enum qs_status status = QS_ERR_MEMORY;
    long n = 0;

    for (; status != QS_OK && n < 100; n++) {
        struct qs_error err = {QS_OK, ""};
        struct qs_reduction reduction;

        qs_alloc_fail_at(n);
        status = qs_reduction_init(&reduction, QS_FILTER_MITCHELL,
                                   (struct qs_box){0, 0, 91, 64}, 41, 32, &err);
        ck_assert(status == QS_OK || status == QS_ERR_MEMORY);
        ck_assert_int_eq(err.status, status);
        qs_reduction_clear(&reduction);
        qs_reduction_clear(&reduction); /* an empty one too */
    }
    qs_alloc_fail_at(-1);
    ck_assert_int_gt(n, 12);
    ck_assert_int_lt(n, 100);
}
END_TEST

START_TEST(memory_runs_out_falling)
{
    struct scene scene = {&white, 100, {0, 0, 100, 100}, 0};
    float *px = field_new(&white, 100, SCENE_MEAN, SCENE_SD, 3);
    struct qs_patch_view view = scene_view(&scene, px);
    struct qs_reduction reduction =
        scene_reduction(QS_FILTER_AREA, (struct qs_box){0, 0, 100, 100}, 50, 50);
    struct qs_plane delivered = scene_deliver(&reduction, &view);
    enum qs_status status = QS_ERR_MEMORY;
    struct qs_noise_shape shape;
    struct qs_noise noise;
    long n = 0;

    ck_assert_int_eq(qs_noise_measure(&view.plane, 0, 0, 5, 5, &noise, &shape, NULL),
                     QS_OK);
    for (; status != QS_OK && n < 100; n++) {
        struct qs_error err = {QS_OK, ""};
        struct qs_fall_value fall;

        qs_alloc_fail_at(n);
        status = qs_fall(&reduction, &noise, &shape, &delivered, &fall, &err);
        ck_assert(status == QS_OK || status == QS_ERR_MEMORY);
        ck_assert_int_eq(err.status, status);
    }
    qs_alloc_fail_at(-1);
    ck_assert_int_gt(n, 4);
    ck_assert_int_lt(n, 100);
    qs_noise_shape_clear(&shape);
    qs_reduction_clear(&reduction);
    free(delivered.px);
    free(px);
}
END_TEST

QS_TEST_MAIN("fall", measured_the_long_way, pixels_of_a_patch, predicted_the_long_way,
             native_size, kernel_larger_than_the_patch, no_noise, own_figures,
             memory_runs_out_preparing, memory_runs_out_falling)
