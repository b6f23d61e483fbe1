/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Repeats from files to figures: frames whose noise is known by construction are
 * written by libtiff and measured as --same-scene does.
 *
 * Drift: every frame is made as bright as their mean, so that noise comes out as that
 * of the mean light (EMVA 1288 Release 4.0, equation 18, takes the common change off a
 * pair).
 */
#include "check_main.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <tiffio.h>
#include <unistd.h>

#include "base/pool.h"
#include "base/random.h"
#include "frame/repeats_run.h"
#include "frame/warnings.h"

enum {
    SIDE = 320,
    MOST = 4
};

static char folder[] = "/tmp/quietsize-scene-XXXXXX";
static char paths[MOST][64];
static struct qs_pool *pool;
static const struct qs_box patch = {20, 20, 280, 280};

/* What the frames are made of, in linear light. */
struct scene {
    double light;
    double fixed;   /* sd, new for every pixel */
    double surface; /* sd of means of 5 x 5 pixels of the scene */
    double random;
    double drift; /* share of the light, from frame to frame */
};

static void
fill_still(const struct scene *scene, double still[SIDE * SIDE])
{
    static double white[SIDE * SIDE];
    struct qs_random random;

    qs_random_seed(&random, 6);
    for (int i = 0; i < SIDE * SIDE; i++)
        white[i] = qs_random_normal(&random);
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            double sum = 0.0;

            for (int k = 0; k < 25; k++)
                sum += white[(y + k / 5) % SIDE * SIDE + (x + k % 5) % SIDE] / 5.0;
            still[y * SIDE + x] = scene->light + scene->surface * sum +
                                  scene->fixed * qs_random_normal(&random);
        }
}

static void
write_frame(const char *path, const double still[SIDE * SIDE],
            const struct scene *scene, int k)
{
    static uint16_t row[SIDE];
    TIFF *tiff = TIFFOpen(path, "w");
    struct qs_random random;

    ck_assert_ptr_nonnull(tiff);
    qs_random_seed(&random, (uint64_t)(40 + k));
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, SIDE);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, SIDE);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    for (int y = 0; y < SIDE; y++) {
        for (int x = 0; x < SIDE; x++) {
            double light = still[y * SIDE + x] * (1.0 + k * scene->drift) +
                           scene->random * qs_random_normal(&random);

            row[x] = (uint16_t)lround(65535.0 * fmin(fmax(light, 0.0), 1.0));
        }
        ck_assert_int_eq(TIFFWriteScanline(tiff, row, (uint32_t)y, 0), 1);
    }
    TIFFClose(tiff);
}

static enum qs_status
measure(const struct scene *scene, int count, struct qs_same_scene *out)
{
    static double still[SIDE * SIDE];
    const struct qs_frame_options options = {
        .patches = &patch, .patch_count = 1, .encoding = {.name = "linear"}};
    const char *list[MOST];
    struct qs_error err = {0};
    enum qs_status status;
    int culprit;

    fill_still(scene, still);
    for (int k = 0; k < count; k++) {
        write_frame(paths[k], still, scene, k);
        list[k] = paths[k];
    }
    status = qs_same_scene_measure(list, count, &options, pool, NULL, NULL, out,
                                   &culprit, &err);
    ck_assert_msg(status == QS_OK, "%s", err.text);
    ck_assert(qs_same_scene_judge(out, &err) == QS_OK);
    return status;
}

/*
 * sd of random: 5 standard errors, sqrt(1 / (2 N (n - 1))) each; of fixed, which is
 * what the mean's variance has left, 5 x the mean's variance / fixed^2 of sqrt(1 / (2
 * N)).
 */
START_TEST(drift_is_no_noise)
{
    const double pixels = (double)patch.width * patch.height;

    for (int n = 2; n <= MOST; n += 2) {
        const struct scene scene = {
            .light = 0.3, .fixed = 0.006, .random = 0.011, .drift = 0.03};
        double gain = 1.0 + 0.03 * (n - 1) / 2.0;
        double mean_square = 0.006 * 0.006 + 0.011 * 0.011 / n;
        struct qs_same_scene out;
        const struct qs_repeats *y;

        measure(&scene, n, &out);
        y = &out.patches[0].channel[QS_Y];
        /* frame k's noise of 0.011 is scaled by gain / (1 + 0.03 k): 0.2 % at most, n =
         * 4 */
        ck_assert_double_eq_tol(y->random.sd / 0.011, 1.0,
                                5.0 * sqrt(0.5 / pixels / (n - 1.0)) + 0.002);
        ck_assert_double_eq_tol(y->fixed.sd / (0.006 * gain), 1.0,
                                5.0 * mean_square / 3.6e-5 * sqrt(0.5 / pixels) +
                                    0.002);
        ck_assert(qs_is_warned(&out.random, QS_WARN_EXPOSURE_DRIFT));
        ck_assert(!qs_is_warned(&out.random, QS_WARN_TEXTURED));
        qs_same_scene_clear(&out);
    }
}
END_TEST

/* Soft structure is told from the sensor's, and is no smoothing by a converter. */
START_TEST(a_surface_is_named_and_blamed_for_nothing_else)
{
    const struct scene scene = {.light = 0.3, .surface = 0.008, .random = 0.01};
    struct qs_same_scene out;

    measure(&scene, 3, &out);
    ck_assert(qs_is_warned(&out.random, QS_WARN_TEXTURED));
    ck_assert(!qs_is_warned(&out.random, QS_WARN_NOISE_REDUCED));
    ck_assert(!qs_is_warned(&out.random, QS_WARN_EXPOSURE_DRIFT));
    qs_same_scene_clear(&out);
}
END_TEST

START_TEST(a_copy_is_no_repeat)
{
    const struct scene scene = {.light = 0.3, .random = 0.01};
    const struct qs_frame_options options = {
        .patches = &patch, .patch_count = 1, .encoding = {.name = "linear"}};
    const char *twice[] = {paths[0], paths[1], paths[0]};
    struct qs_same_scene out;
    struct qs_error err = {0};
    int culprit = -1;

    measure(&scene, 2, &out);
    qs_same_scene_clear(&out);
    ck_assert(qs_same_scene_measure(twice, 3, &options, pool, NULL, NULL, &out,
                                    &culprit, &err) == QS_ERR_UNSUPPORTED);
    ck_assert_int_eq(culprit, 2);
    ck_assert_int_gt((int)strlen(err.text), 20);
}
END_TEST

START_TEST(make_place)
{
    struct qs_error err;

    ck_assert_ptr_nonnull(mkdtemp(folder));
    ck_assert(qs_pool_new(2, &pool, &err) == QS_OK);
    for (int k = 0; k < MOST; k++)
        (void)snprintf(paths[k], sizeof paths[k], "%s/%d.tif", folder, k);
}
END_TEST

START_TEST(remove_place)
{
    for (int k = 0; k < MOST; k++)
        (void)unlink(paths[k]);
    (void)rmdir(folder);
    qs_pool_free(pool);
}
END_TEST

QS_TEST_MAIN("same_scene", make_place, drift_is_no_noise,
             a_surface_is_named_and_blamed_for_nothing_else, a_copy_is_no_repeat,
             remove_place)
