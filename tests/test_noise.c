/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_noise.c - noise of one patch: its power, its covariance, rows and columns,
 * grain, shading, and what is refused
 *
 * Bias and coverage over many patches: test_noise_cover.c.  Expected values follow
 * from how the fields are made (noise_fields.h); tolerances are 4 standard errors of
 * the mean over the patches, taken from the patches themselves, unless said otherwise.
 */
#include "measure/noise.h"

#include <math.h>
#include <string.h>

#include "average.h"
#include "base/memory.h"
#include "check_main.h"
#include "measure/bands.h"
#include "noise_fields.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static const struct field_kind white = {.name = "white"};
static const struct field_kind kinds[] = {
    {.name = "white"},
    {.name = "blurred 0.7", .blur_px = 0.7},
    {.name = "blurred 1.0", .blur_px = 1.0},
    {.name = "blotchy", .blur_px = 4.0},
    {.name = "stripes", .row_sd = 0.5},
    {.name = "bilinear red", .mosaic = FIELD_BILINEAR, .channel = QS_R},
    {.name = "linear 5 x 5 luminance", .mosaic = FIELD_MALVAR, .channel = QS_Y},
};

/* A patch of the field, cut out at (37, 22) of a larger one; px is to be freed. */
static struct qs_plane
patch_of(const struct field_kind *kind, int width, int height, uint64_t seed)
{
    int n = (width > height ? width : height) + 64;
    float *px = field_new(kind, n + (n & 1), 0.2, 0.01, seed);
    struct qs_plane plane = {px, n + (n & 1), n + (n & 1), n + (n & 1)};
    struct qs_plane part = {px, width, height, width};

    /* moved to the front, so that one pointer does for values and for free() */
    for (int y = 0; y < height; y++)
        memmove(px + (ptrdiff_t)y * width, qs_plane_row(&plane, y + 22) + 37,
                (size_t)width * sizeof *px);
    return part;
}

static struct qs_noise
measured(const struct qs_plane *plane, struct qs_noise_shape *shape)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_noise noise;

    ck_assert_msg(qs_noise_measure(plane, 37, 22, 15, 11, &noise, shape, &err) == QS_OK,
                  "%s", err.text);
    return noise;
}

static struct qs_noise
noise_of(const struct qs_plane *plane)
{
    struct qs_noise_shape shape;
    struct qs_noise noise = measured(plane, &shape);

    qs_noise_shape_clear(&shape);
    return noise;
}

static double
power_mean(const struct qs_noise_shape *shape)
{
    int half = shape->width / 2;
    double sum = 0.0;

    for (int j = 0; j < shape->height; j++)
        for (int i = 0; i <= half; i++)
            sum += shape->power[j * (half + 1) + i] *
                   (i == 0 || 2 * i == shape->width ? 1.0 : 2.0);
    return sum / shape->width / shape->height;
}

/* Pixels of each place of the mosaic. */
static int
pixels_at(const struct qs_noise_shape *shape, int place)
{
    int count = 0;

    for (int y = 0; y < shape->height; y++)
        for (int x = 0; x < shape->width; x++)
            count += 2 * ((y + 22) & 1) + ((x + 37) & 1) == place;
    return count;
}

/*
 * Parseval: the mean power over the frequency grid is the mean square of the patch
 * less its surface, so that the variance is that plus the removed terms' part;
 * and the covariance at lag 0, over all places, is the variance.
 */
START_TEST(power_sums_to_variance)
{
    static const int sizes[][2] = {{91, 64}, {64, 91}, {8, 8}, {57, 57}, {128, 100}};

    for (size_t k = 0; k < COUNT(kinds); k++)
        for (size_t s = 0; s < COUNT(sizes); s++) {
            struct qs_plane plane =
                patch_of(&kinds[k], sizes[s][0], sizes[s][1], 5 + k);
            struct qs_noise_shape shape;
            struct qs_noise noise = measured(&plane, &shape);
            int pixels = plane.width * plane.height, nx = 2 * shape.lags_x + 1;
            double variance = power_mean(&shape) + shape.removed / pixels,
                   at_zero = 0.0;

            for (int p = 0; p < QS_MOSAIC; p++)
                at_zero += shape.covariance[p][shape.lags_y * nx + shape.lags_x] *
                           pixels_at(&shape, p) / pixels;
            ck_assert_double_eq_tol(variance / shape.variance, 1.0, 1e-12);
            ck_assert_double_eq_tol(at_zero / shape.variance, 1.0, 1e-10);
            ck_assert_double_eq_tol(noise.sd * noise.sd / shape.variance, 1.0, 1e-14);
            ck_assert(noise.sd_low < noise.sd && noise.sd < noise.sd_high);
            qs_noise_shape_clear(&shape);
            free(plane.px);
        }
}
END_TEST

/* Mean of e(p) e(p + lag) over the pixels p of one place of the mosaic, directly. */
static double
direct_covariance(const double *e, int width, int height, int place, int dx, int dy)
{
    double sum = 0.0;
    int count = 0;

    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            int at = 2 * ((y + 22) & 1) + ((x + 37) & 1);

            if (at != place || x + dx < 0 || x + dx >= width || y + dy < 0 ||
                y + dy >= height)
                continue;
            sum += e[y * width + x] * e[(y + dy) * width + x + dx];
            count++;
        }
    return count > 0 ? sum / count : 0.0;
}

START_TEST(covariance_by_definition)
{
    struct qs_plane plane = patch_of(&kinds[5], 19, 14, 3);
    double residual[19 * 14];
    struct qs_shading_basis basis;
    struct qs_noise_shape shape;
    struct qs_surface surface;

    ck_assert_int_eq(qs_shading_basis_init(&basis, 19, 14, NULL), QS_OK);
    (void)qs_shading_remove(&basis, &plane, residual, &surface);
    /* more lags asked for than the patch has: cut to 18 and 13 */
    ck_assert_int_eq(
        qs_noise_shape_measure(&basis, residual, 37, 22, 40, 13, &shape, NULL), QS_OK);
    ck_assert_int_eq(shape.lags_x, 18);
    ck_assert_int_eq(shape.lags_y, 13);
    for (int p = 0; p < QS_MOSAIC; p++)
        for (int dy = -13; dy <= 13; dy++)
            for (int dx = -18; dx <= 18; dx++)
                ck_assert_double_eq_tol(shape.covariance[p][(dy + 13) * 37 + dx + 18],
                                        direct_covariance(residual, 19, 14, p, dx, dy),
                                        1e-18);
    qs_noise_shape_clear(&shape);
    qs_shading_basis_clear(&basis);
    free(plane.px);
}
END_TEST

/* The mosaic shows: bilinear red's variance is 1, 1/2, 1/2 and 1/4 of the sensor's at
   the four places, even x and y being red's own (by its weights). */
START_TEST(places_of_a_mosaic)
{
    static const double expected[QS_MOSAIC] = {1.0, 0.5, 0.5, 0.25};
    int seeds = field_seeds(40);
    double sum[QS_MOSAIC] = {0.0};

    for (int seed = 0; seed < seeds; seed++) {
        struct qs_plane plane = patch_of(&kinds[5], 128, 128, 40 + (uint64_t)seed);
        struct qs_noise_shape shape;

        (void)measured(&plane, &shape);
        for (int p = 0; p < QS_MOSAIC; p++)
            sum[p] += shape.covariance[p][11 * 31 + 15] / 1e-4 / seeds;
        qs_noise_shape_clear(&shape);
        free(plane.px);
    }
    /* 4096 pixels a place; interpolated ones share samples: Sum rho^2 of a place's own
       lattice is at most 1.27 (half of a neighbour's value along each axis) */
    for (int p = 0; p < QS_MOSAIC; p++)
        ck_assert_double_eq_tol(sum[p] / expected[p], 1.0,
                                field_sigmas(4.5) * sqrt(2.0 * 2.25 / 4096.0 / seeds));
}
END_TEST

/* The mean within 4 of its standard errors, and a bias argued for. */
static void
check_average(const struct average *average, const char *what, double expected,
              double bias_allowed)
{
    double mean = average_mean(average);
    double allowed = field_sigmas(4.0) * average_error(average) + bias_allowed;

    ck_assert_msg(fabs(mean - expected) <= allowed,
                  "%s: %.6g, should be %.6g within %.2g", what, mean, expected,
                  allowed);
}

/*
 * Rows and columns: of white noise with stripes of known sd the shared variance
 * comes back, and none where there is none.  qs_bands gives variances, also negative
 * ones, so that the mean over patches can be tested for bias: none is allowed.
 */
static void
check_bands(const struct field_kind *kind)
{
    enum {
        W = 128,
        H = 100
    };
    double residual[W * H], truth = kind->row_sd * kind->row_sd;
    struct average rows = {0}, columns = {0};
    struct qs_shading_basis basis;
    struct qs_surface surface;

    ck_assert_int_eq(qs_shading_basis_init(&basis, W, H, NULL), QS_OK);
    for (int seed = 0; seed < field_seeds(160); seed++) {
        struct qs_plane plane = patch_of(kind, W, H, 300 + (uint64_t)seed);
        double row, column;

        (void)qs_shading_remove(&basis, &plane, residual, &surface);
        ck_assert_int_eq(qs_bands(residual, W, H, &row, &column, NULL), QS_OK);
        average_add(&rows, row / 1e-4);
        average_add(&columns, column / 1e-4);
        free(plane.px);
    }
    qs_shading_basis_clear(&basis);
    check_average(&rows, kind->name, truth, 0.0);
    check_average(&columns, kind->name, 0.0, 0.0);
}

START_TEST(bands_come_back)
{
    static const struct field_kind strong = {.name = "strong stripes", .row_sd = 1.0};
    static const struct field_kind faint = {.name = "faint stripes", .row_sd = 0.1};

    check_bands(&white);
    check_bands(&faint);
    check_bands(&strong);
}
END_TEST

/* Smoothed noise looks like bands in the row means; its own part is to be taken off,
   also where blotches are so wide that few fit across the lines. */
START_TEST(no_bands_in_smoothed_noise)
{
    check_bands(&kinds[1]);
    check_bands(&kinds[2]);
    check_bands(&kinds[3]);
    check_bands(&kinds[5]);
}
END_TEST

/* The measured figure of one patch: stripes of 0.5 sd in 128 rows, 25 sd apart from
   white noise's own; columns near 0.  A sd from 125 independent rows has a relative
   error of 6.3 %. */
START_TEST(row_sd_of_a_patch)
{
    struct qs_plane plane = patch_of(&kinds[4], 128, 128, 11);
    struct qs_noise noise = noise_of(&plane);

    ck_assert_double_eq_tol(noise.row_sd, 0.005, 0.005 * 4.0 * 0.063);
    ck_assert_double_lt(noise.column_sd, 0.0005);
    free(plane.px);
}
END_TEST

/* The same turned by a quarter: rows and columns change places, to rounding. */
START_TEST(turned_patch)
{
    struct qs_plane plane = patch_of(&kinds[4], 91, 91, 12);
    struct qs_plane turned = {malloc(91 * 91 * sizeof(float)), 91, 91, 91};
    struct qs_noise noise = noise_of(&plane), other;

    for (int y = 0; y < 91; y++)
        for (int x = 0; x < 91; x++)
            turned.px[y * 91 + x] = plane.px[x * 91 + y];
    other = noise_of(&turned);
    ck_assert_double_eq_tol(other.column_sd / noise.row_sd, 1.0, 1e-9);
    ck_assert_double_eq_tol(other.row_sd, noise.column_sd, 1e-9);
    ck_assert_double_eq_tol(other.sd / noise.sd, 1.0, 1e-12);
    ck_assert_double_eq_tol(other.grain_px / noise.grain_px, 1.0, 1e-9);
    free(plane.px);
    free(turned.px);
}
END_TEST

/*
 * grain_px: an operation whose weights sum to 1 leaves the power at frequency 0 at the
 * white noise's 1, so that grain is 1 / sd of the field: white 1, Gaussians by their
 * sampled weights (numpy), from 1.0 on 2 sqrt(pi) s (closed form).  Bilinear red
 * takes one sample in four with weights that sum to 4: power 4 at variance 0.5625.
 * Stripes don't count: they lie on an axis.  The fit reads a curve at its end: it may
 * be off by 1 % beyond the statistical error.
 */
START_TEST(grain)
{
    static const struct {
        struct field_kind kind;
        double grain_px;
    } rows[] = {
        {{.name = "white"}, 1.0},
        {{.name = "blurred 0.7", .blur_px = 0.7}, 2.44327},
        {{.name = "blurred 1.0", .blur_px = 1.0}, 3.54491},
        {{.name = "blurred 2.0", .blur_px = 2.0}, 7.08982},
        {{.name = "bilinear red", .mosaic = FIELD_BILINEAR, .channel = QS_R}, 2.66667},
        {{.name = "stripes", .row_sd = 0.5}, 0.89443}, /* 1 / sqrt(1 + 0.25) */
    };

    for (size_t k = 0; k < COUNT(rows); k++) {
        struct average average = {0};

        for (int seed = 0; seed < field_seeds(60); seed++) {
            struct qs_plane plane =
                patch_of(&rows[k].kind, 256, 200, 900 + (uint64_t)seed);
            struct qs_noise noise = noise_of(&plane);

            ck_assert(noise.has_grain);
            average_add(&average, noise.grain_px);
            free(plane.px);
        }
        check_average(&average, rows[k].kind.name, rows[k].grain_px,
                      0.01 * rows[k].grain_px);
    }
}
END_TEST

/* Blotches of sd 4 px (grain 14.2) on a patch that holds 18 x 14 of them: within 3 %.
 */
START_TEST(grain_of_blotches)
{
    struct average average = {0};

    for (int seed = 0; seed < field_seeds(60); seed++) {
        struct qs_plane plane = patch_of(&kinds[3], 256, 200, 900 + (uint64_t)seed);
        struct qs_noise noise = noise_of(&plane);

        average_add(&average, noise.grain_px);
        free(plane.px);
    }
    check_average(&average, "blotchy", 14.1796, 0.03 * 14.1796);
}
END_TEST

/*
 * Blotches in white noise: the power's logarithm is no straight line, and has to be
 * looked at close to zero.  Blotches of 1 at frequency 0 and white noise of 0.25 in
 * power; variances add.  The fit reads low as far as it still sees the bend: 6 %
 * allowed.
 */
START_TEST(grain_of_blotches_in_white_noise)
{
    double variance = field_native_variance(&kinds[3]) + 0.25;
    double expected = sqrt(1.25 / variance);
    struct average average = {0};

    for (int seed = 0; seed < field_seeds(60); seed++) {
        struct qs_plane plane = patch_of(&kinds[3], 256, 200, 900 + (uint64_t)seed);
        struct qs_plane more = patch_of(&white, 256, 200, 90000 + (uint64_t)seed);

        for (int i = 0; i < 256 * 200; i++)
            plane.px[i] += 0.5f * (more.px[i] - 0.2f);
        average_add(&average, noise_of(&plane).grain_px);
        free(plane.px);
        free(more.px);
    }
    check_average(&average, "blotches in white noise", expected, 0.16 * expected);
}
END_TEST

/*
 * Light that falls off by 5 % across the patch, linearly and as a square, leaves every
 * figure as it was: the fit is linear, so the residual is the same to the rounding of
 * the pixels to float (2e-8 against a noise of 1e-2).
 */
START_TEST(shading_is_not_noise)
{
    struct qs_plane plane = patch_of(&kinds[1], 128, 100, 77);
    struct qs_noise even = noise_of(&plane), shaded;

    for (int y = 0; y < 100; y++)
        for (int x = 0; x < 128; x++)
            plane.px[y * 128 + x] +=
                (float)(0.2 * 0.05 * (x / 128.0 - 0.5 * (x / 128.0) * (y / 100.0)));
    shaded = noise_of(&plane);
    ck_assert_double_eq_tol(shaded.sd / even.sd, 1.0, 1e-6);
    ck_assert_double_eq_tol(shaded.sd_low / even.sd_low, 1.0, 1e-5);
    ck_assert_double_eq_tol(shaded.grain_px / even.grain_px, 1.0, 1e-5);
    ck_assert_double_eq_tol(shaded.row_sd, even.row_sd, 1e-6);
    ck_assert_double_gt(shaded.mean, even.mean + 0.002);
    free(plane.px);
}
END_TEST

/* sd and its interval scale with the values, the mean moves with them. */
START_TEST(scales_with_the_values)
{
    struct qs_plane plane = patch_of(&kinds[2], 64, 64, 78);
    struct qs_noise one = noise_of(&plane), four;

    for (int i = 0; i < 64 * 64; i++)
        plane.px[i] *= 4.0f; /* exact in binary */
    four = noise_of(&plane);
    ck_assert_double_eq_tol(four.sd / one.sd, 4.0, 1e-12);
    ck_assert_double_eq_tol(four.sd_high / one.sd_high, 4.0, 1e-12);
    ck_assert_double_eq_tol(four.row_sd, 4.0 * one.row_sd, 1e-12);
    ck_assert_double_eq_tol(four.mean / one.mean, 4.0, 1e-12);
    ck_assert_double_eq_tol(four.grain_px / one.grain_px, 1.0, 1e-9);
    free(plane.px);
}
END_TEST

/*
 * Effective degrees of freedom N / Sum rho^2: of white noise N - 6 (Sum rho^2 = 1), of
 * a Gaussian blur N / (2 pi s^2) (closed form).  The estimate is a mean of squared
 * powers over bins, whose relative error the patches tell; 2 % is allowed beyond that.
 */
START_TEST(freedom)
{
    static const struct {
        struct field_kind kind;
        double per_pixel;
    } rows[] = {
        {{.name = "white"}, 1.0},
        {{.name = "blurred 0.7", .blur_px = 0.7}, 0.341790},
        {{.name = "blurred 1.0", .blur_px = 1.0}, 0.159220},
    };

    for (size_t k = 0; k < COUNT(rows); k++) {
        struct average average = {0};

        for (int seed = 0; seed < field_seeds(80); seed++) {
            struct qs_plane plane =
                patch_of(&rows[k].kind, 128, 128, 50 + (uint64_t)seed);

            average_add(&average, noise_of(&plane).freedom / (128 * 128));
            free(plane.px);
        }
        check_average(&average, rows[k].kind.name, rows[k].per_pixel,
                      0.02 * rows[k].per_pixel);
    }
}
END_TEST

/*
 * Small patches: the six lost degrees of freedom are given back.  Below some 20 px
 * the low-frequency power can't be fitted, and the patch's own mean square stands in
 * for it, which is itself 6 / N low: (N - 6)(N + 6) / N^2 of the variance.
 */
START_TEST(small_patches)
{
    static const int sides[] = {8, 9, 16, 24, 40};

    for (size_t k = 0; k < COUNT(sides); k++) {
        int n = sides[k], seeds = field_seeds(600);
        double lost = 36.0 / ((double)n * n * n * n);
        struct average average = {0};

        for (int seed = 0; seed < seeds; seed++) {
            struct qs_plane plane = patch_of(&white, n, n, 8000 + (uint64_t)seed);
            double sd = noise_of(&plane).sd;

            average_add(&average, sd * sd / 1e-4);
            free(plane.px);
        }
        check_average(&average, "small white patch", 1.0, lost + 0.001);
    }
}
END_TEST

START_TEST(too_small)
{
    float px[64 * 7] = {0.0f};

    for (int k = 0; k < 2; k++) {
        struct qs_plane plane = {px, k == 0 ? 7 : 64, k == 0 ? 64 : 7, k == 0 ? 7 : 64};
        struct qs_error err = {QS_OK, ""};
        struct qs_noise noise = {.sd = 0.317};
        struct qs_noise_shape shape;

        ck_assert_int_eq(qs_noise_measure(&plane, 0, 0, 5, 5, &noise, &shape, &err),
                         QS_ERR_TOO_FEW);
        ck_assert_ptr_nonnull(strstr(err.text, "7"));
        ck_assert_double_eq(noise.sd, 0.317);
        ck_assert_ptr_null(shape.power);
        qs_noise_shape_clear(&shape);
    }
}
END_TEST

START_TEST(not_a_number)
{
    static const double odd[] = {NAN, INFINITY, -INFINITY};

    for (size_t k = 0; k < COUNT(odd); k++) {
        struct qs_plane plane = patch_of(&white, 20, 20, 5);
        struct qs_error err = {QS_OK, ""};
        struct qs_noise noise = {.sd = 0.317};
        struct qs_noise_shape shape;

        plane.px[19 * 20 + 19] = (float)odd[k];
        ck_assert_int_eq(qs_noise_measure(&plane, 0, 0, 5, 5, &noise, &shape, &err),
                         QS_ERR_RANGE);
        ck_assert_double_eq(noise.sd, 0.317);
        ck_assert_ptr_null(shape.power);
        free(plane.px);
    }
}
END_TEST

/* A patch without noise: black, white, and a value that a float only comes near. */
START_TEST(no_noise)
{
    static const float values[] = {0.0f, 1.0f, 0.317f};
    static float px[91 * 64];

    for (size_t k = 0; k < COUNT(values); k++) {
        struct qs_plane plane = {px, 91, 64, 91};
        struct qs_noise noise;

        for (int i = 0; i < 91 * 64; i++)
            px[i] = values[k];
        noise = noise_of(&plane);
        ck_assert_double_eq_tol(noise.mean, (double)values[k], 1e-15);
        ck_assert_double_eq(noise.sd, 0.0);
        ck_assert_double_eq(noise.sd_low, 0.0);
        ck_assert_double_eq(noise.sd_high, 0.0);
        ck_assert_double_eq(noise.freedom, 0.0);
        ck_assert_double_eq(noise.row_sd, 0.0);
        ck_assert_double_eq(noise.column_sd, 0.0);
        ck_assert(!noise.has_grain);
    }
}
END_TEST

/* One pixel off, stripes alone, a checkerboard: nothing divides by zero. */
START_TEST(strange_patches)
{
    static float px[64 * 64];
    struct qs_plane plane = {px, 64, 64, 64};

    for (int kind = 0; kind < 4; kind++) {
        struct qs_noise noise;

        for (int y = 0; y < 64; y++)
            for (int x = 0; x < 64; x++)
                px[y * 64 + x] = kind == 0   ? (x == 17 && y == 23 ? 1.0f : 0.0f)
                                 : kind == 1 ? (y % 7 == 3 ? 0.31f : 0.29f)
                                 : kind == 2 ? ((x ^ y) & 1 ? 0.31f : 0.29f)
                                             : (x < 32 ? 0.31f : 0.29f);
        noise = noise_of(&plane);
        ck_assert(isfinite(noise.sd) && noise.sd > 0.0);
        ck_assert(isfinite(noise.sd_low) && noise.sd_low <= noise.sd);
        ck_assert(isfinite(noise.sd_high) && noise.sd_high >= noise.sd);
        ck_assert(isfinite(noise.row_sd) && isfinite(noise.column_sd));
        ck_assert(isfinite(noise.grain_px) && noise.grain_px >= 0.0);
    }
}
END_TEST

/* Same arguments, same bits: planes, plans and caches leave nothing behind. */
START_TEST(repeatable)
{
    struct qs_plane plane = patch_of(&kinds[2], 91, 64, 21);
    struct qs_noise first = noise_of(&plane), again = noise_of(&plane);

    ck_assert(first.sd == again.sd && first.sd_low == again.sd_low &&
              first.grain_px == again.grain_px && first.row_sd == again.row_sd);
    free(plane.px);
}
END_TEST

/* Each allocation fails in turn: memory is what is reported, and *out stays. */
START_TEST(memory_runs_out)
{
    struct qs_plane plane = patch_of(&white, 40, 30, 1);
    enum qs_status status = QS_ERR_MEMORY;
    long n = 0;

    for (; status != QS_OK && n < 100; n++) {
        struct qs_error err = {QS_OK, ""};
        struct qs_noise noise = {.sd = 0.317};
        struct qs_noise_shape shape;

        qs_alloc_fail_at(n);
        status = qs_noise_measure(&plane, 0, 0, 7, 9, &noise, &shape, &err);
        ck_assert(status == QS_OK || status == QS_ERR_MEMORY);
        ck_assert_int_eq(err.status, status);
        if (status != QS_OK) {
            ck_assert_double_eq(noise.sd, 0.317);
            ck_assert_ptr_null(shape.power);
            ck_assert_ptr_null(shape.covariance[0]);
        }
        qs_noise_shape_clear(&shape);
    }
    qs_alloc_fail_at(-1);
    ck_assert_int_gt(n, 10);
    ck_assert_int_lt(n, 100);
    free(plane.px);
}
END_TEST

QS_TEST_MAIN("noise", power_sums_to_variance, covariance_by_definition,
             places_of_a_mosaic, bands_come_back, no_bands_in_smoothed_noise,
             row_sd_of_a_patch, turned_patch, grain, grain_of_blotches,
             grain_of_blotches_in_white_noise, shading_is_not_noise,
             scales_with_the_values, freedom, small_patches, too_small, not_a_number,
             no_noise, strange_patches, repeatable, memory_runs_out)
