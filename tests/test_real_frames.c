/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The whole way on pictures that nobody here made: the public chart frame, every
 * public format variant and broken file, and real 16-bit photographs.
 *
 * Sources: QS_SHARED_DATA/SOURCES.tsv names the origin of each file; the photographs
 * are external/raw.pixls of Debian's package libjxl-testdata (CC0).
 */
#include "check_main.h"

#include <dirent.h>
#include <math.h>
#include <png.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "frame/frame.h"

#define CHART QS_SHARED_DATA "/real-chart/chart_rgb16_linear.tif"
#define PHOTOS "/usr/share/libjxl-testdata/external/raw.pixls"

/*
 * The chart's tiles, measured by hand on the frame (where the middle rows and columns
 * leave the tile's own value by 20 %), x, y, width, height.
 */
static const struct qs_box tiles[] = {
    {252, 286, 44, 41}, {307, 287, 41, 37}, {360, 285, 41, 38}, {412, 282, 44, 40},
    {466, 283, 42, 37}, {521, 282, 39, 37}, {251, 337, 42, 38}, {304, 334, 43, 40},
    {359, 334, 42, 39}, {410, 330, 48, 43}, {467, 332, 42, 39}, {522, 331, 38, 39},
    {249, 388, 41, 39}, {303, 386, 43, 40}, {357, 385, 44, 40}, {413, 384, 42, 39},
    {467, 383, 43, 40}, {522, 381, 38, 41}, {246, 439, 43, 39}, {301, 437, 43, 41},
    {356, 436, 44, 41}, {411, 435, 45, 42}, {466, 432, 47, 45}, {524, 434, 36, 41},
    {281, 71, 40, 33},  {335, 69, 40, 35},  {388, 67, 40, 35},  {442, 65, 41, 35},
    {496, 63, 41, 35},  {279, 118, 41, 35}, {333, 117, 41, 35}, {388, 117, 41, 34},
    {442, 113, 41, 36}, {497, 111, 41, 36}, {242, 34, 30, 26},  {286, 33, 30, 25},
    {329, 32, 29, 24},  {372, 30, 30, 25},  {415, 28, 30, 25},  {458, 26, 31, 27},
    {502, 24, 32, 27},  {414, 162, 32, 29}, {459, 161, 32, 28}, {504, 160, 32, 28}};

#define TILES (sizeof tiles / sizeof tiles[0])

static struct qs_pool *pool;

static void
measure_chart(struct qs_frame *frame)
{
    static const struct qs_size half = {.kind = QS_SIZE_SHARE, .a = 0.5, .text = "50%"};
    static const enum qs_filter area = QS_FILTER_AREA;
    struct qs_frame_options options = {
        .sizes = &half,
        .size_count = 1,
        .filters = &area,
        .filter_count = 1,
        .encoding = {"linear", true, 2048.0, false, 0.0}};
    struct qs_error err = {0};

    ck_assert_msg(qs_frame_measure(CHART, &options, pool, NULL, NULL, frame, &err) ==
                      QS_OK,
                  "%s", err.text);
}

START_TEST(chart_patches_lie_on_tiles)
{
    struct qs_frame frame;
    int on_tiles = 0;

    if (access(CHART, R_OK) != 0)
        return;
    measure_chart(&frame);
    for (int p = 0; p < frame.patch_count; p++)
        for (size_t t = 0; t < TILES; t++) {
            struct qs_box box = frame.patches[p].box;

            if (!qs_box_overlap(box, tiles[t]))
                continue;
            ck_assert_msg(qs_box_within(box, tiles[t]),
                          "%d,%d,%d,%d crosses the edge of the tile at %d,%d", box.x,
                          box.y, box.width, box.height, tiles[t].x, tiles[t].y);
            on_tiles++;
        }
    ck_assert_int_gt(on_tiles, 20);
    qs_frame_clear(&frame);
}
END_TEST

/* Correlation and slope of variance over mean, in code values, on the chart itself. */
static void
photon_line(const struct qs_frame *frame, enum qs_channel channel, double *slope,
            double *correlation)
{
    const double range = 65535.0 - 2048.0;
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;

    for (int p = 0; p < frame->patch_count; p++) {
        const struct qs_noise *noise = &frame->patches[p].channel[channel].noise;
        double x = noise->mean * range, y = noise->sd * range * noise->sd * range;

        if (frame->patches[p].box.x < 200) /* the blurred room behind the chart */
            continue;
        n += 1.0;
        sx += x;
        sy += y;
        sxx += x * x;
        sxy += x * y;
        syy += y * y;
    }
    *slope = (n * sxy - sx * sy) / (n * sxx - sx * sx);
    *correlation =
        (n * sxy - sx * sy) / sqrt((n * sxx - sx * sx) * (n * syy - sy * sy));
}

/*
 * Photon noise: variance over mean is a straight line, whose slope is what the raw
 * mosaic of the same shot gives, 2.0 to 2.15 (measured from the mosaic by others
 * before this program was), and half of that in g, the mean of two photosites.  About
 * 30 patches of 900 px: each variance is sure to 5 %, the slope to about 2 %; dust and
 * texture on the tiles add to it (30 boxes placed by hand gave 2.4 and 1.3).
 */
START_TEST(chart_variance_is_a_line)
{
    struct qs_frame frame;
    double slope, correlation;

    if (access(CHART, R_OK) != 0)
        return;
    measure_chart(&frame);
    for (int c = QS_R; c <= QS_B; c++) {
        double expected = c == QS_G ? 1.04 : 2.08;

        photon_line(&frame, (enum qs_channel)c, &slope, &correlation);
        ck_assert_msg(correlation > 0.98, "%s: correlation %g",
                      qs_channel_key((enum qs_channel)c), correlation);
        ck_assert_msg(slope > 0.88 * expected && slope < 1.25 * expected,
                      "%s: slope %g", qs_channel_key((enum qs_channel)c), slope);
    }
    qs_frame_clear(&frame);
}
END_TEST

/*
 * The noise of a real camera without demosaicing is nearly independent: by area at
 * k = 2 it falls by close to 2 stops; the rest is fixed structure, so less, never more.
 */
START_TEST(chart_falls_by_area)
{
    struct qs_frame frame;
    struct qs_frame_worth worth;

    if (access(CHART, R_OK) != 0)
        return;
    measure_chart(&frame);
    worth = qs_frame_worth(&frame, 0, 0, QS_Y);
    printf("real chart, area at 50 %%: %.2f +- %.2f stops over %d patches\n",
           worth.worth_stops, 1.96 * worth.se_stops, worth.patches);
    ck_assert_double_gt(worth.worth_stops, 1.6);
    ck_assert_double_lt(worth.worth_stops, 2.0 + 3.0 * worth.se_stops);
    qs_frame_clear(&frame);
}
END_TEST

/* Measures a file whatever it is: it either has figures, or a sentence. */
static int
try_file(const char *path)
{
    struct qs_frame_options options = {.patches = NULL};
    struct qs_frame frame;
    struct qs_error err = {0};
    enum qs_status status =
        qs_frame_measure(path, &options, pool, NULL, NULL, &frame, &err);

    if (status == QS_OK)
        qs_frame_clear(&frame);
    else
        ck_assert_msg(strlen(err.text) > 20, "%s: \"%s\" tells nothing", path,
                      err.text);
    return status == QS_OK;
}

static void
try_folder(const char *folder, int *good, int *refused)
{
    DIR *dir = opendir(folder);
    const struct dirent *entry;

    if (dir == NULL)
        return;
    while ((entry = readdir(dir)) != NULL) {
        char path[1024];
        struct stat about;

        (void)snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] == '.' || stat(path, &about) != 0)
            continue;
        if (S_ISDIR(about.st_mode))
            try_folder(path, good, refused);
        else if (try_file(path))
            ++*good;
        else
            ++*refused;
    }
    closedir(dir);
}

START_TEST(variants_and_broken_files_have_an_answer)
{
    static const char *const folders[] = {"tiff-variants",   "png-variants",
                                          "tiff-broken",     "png-broken",
                                          "exposure-ladder", "clean-photos"};

    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        char path[1024];
        int good = 0, refused = 0;

        (void)snprintf(path, sizeof path, "%s/%s", QS_SHARED_DATA, folders[i]);
        try_folder(path, &good, &refused);
        printf("%s: %d measured, %d refused\n", folders[i], good, refused);
    }
}
END_TEST

/* Mean of one channel of a 16-bit PNG by libpng alone, as a share of full scale. */
static double
plain_mean(const char *path, int channel, int side)
{
    double sum = 0.0;
    FILE *file = fopen(path, "rb");
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);

    ck_assert_ptr_nonnull(file);
    png_init_io(png, file);
    png_read_png(png, info, PNG_TRANSFORM_STRIP_ALPHA, NULL);
    for (int y = 0; y < side; y++) {
        const png_byte *row = png_get_rows(png, info)[y];

        for (int x = 0; x < side; x++) {
            const png_byte *sample = row + 2 * (3 * x + channel);

            sum += sample[0] * 256 + sample[1];
        }
    }
    png_destroy_read_struct(&png, &info, NULL);
    (void)fclose(file);
    return sum / ((double)side * side * 65535.0);
}

/*
 * Photographs of real cameras, 16-bit PNG with linear ICC profiles ("g1" in their
 * names): linear light is then the code values themselves, and the patch's mean that of
 * the codes, to float rounding.
 */
START_TEST(real_photos_with_linear_profiles)
{
    static const char *const names[] = {"Google-Pixel2XL-16bit_acescg_g1_v4_krita.png",
                                        "HUAWEI-EVA-L09-16bit_709_g1_dt.png",
                                        "Nikon-D300-12bit_2020_g1_dt.png"};
    const struct qs_box whole = {0, 0, 64, 64};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct qs_frame_options options = {.patches = &whole, .patch_count = 1};
        struct qs_frame frame;
        struct qs_error err = {0};
        char path[1024];

        (void)snprintf(path, sizeof path, "%s/%s", PHOTOS, names[i]);
        if (access(path, R_OK) != 0)
            continue;
        ck_assert_msg(
            qs_frame_measure(path, &options, pool, NULL, NULL, &frame, &err) == QS_OK,
            "%s: %s", path, err.text);
        ck_assert_int_eq(frame.encoding.from, QS_FROM_PROFILE);
        for (int c = QS_R; c <= QS_B; c++)
            ck_assert_double_eq_tol(frame.patches[0].channel[c].noise.mean,
                                    plain_mean(path, c, 64), 1e-6);
        qs_frame_clear(&frame);
    }
}
END_TEST

/* The same figures to the bit for any number of threads. */
START_TEST(threads_give_the_same_bits)
{
    struct qs_frame one, many;
    struct qs_pool *every = pool;
    struct qs_error err = {0};

    if (access(CHART, R_OK) != 0)
        return;
    ck_assert_int_eq(qs_pool_new(1, &pool, &err), QS_OK);
    measure_chart(&one);
    qs_pool_free(pool);
    for (int threads = 2; threads <= 8; threads += threads == 2 ? 1 : 5) {
        ck_assert_int_eq(qs_pool_new(threads, &pool, &err), QS_OK);
        measure_chart(&many);
        qs_pool_free(pool);
        ck_assert_int_eq(one.patch_count, many.patch_count);
        ck_assert_int_eq(one.fall_count, many.fall_count);
        for (int p = 0; p < one.patch_count; p++)
            for (int c = (int)one.first; c < QS_CHANNELS; c++)
                ck_assert(one.patches[p].channel[c].noise.sd ==
                          many.patches[p].channel[c].noise.sd);
        for (int i = 0; i < one.fall_count; i++)
            ck_assert(one.falls[i].channel[QS_Y].sd_measured ==
                          many.falls[i].channel[QS_Y].sd_measured &&
                      one.falls[i].channel[QS_Y].sd_predicted ==
                          many.falls[i].channel[QS_Y].sd_predicted);
        qs_frame_clear(&many);
    }
    qs_frame_clear(&one);
    pool = every;
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {chart_patches_lie_on_tiles,
                                  chart_variance_is_a_line,
                                  chart_falls_by_area,
                                  variants_and_broken_files_have_an_answer,
                                  real_photos_with_linear_profiles,
                                  threads_give_the_same_bits};
    struct qs_error err = {0};
    int result;

    if (access(QS_SHARED_DATA, R_OK) != 0 && access(PHOTOS, R_OK) != 0)
        return QS_TEST_SKIPPED;
    if (qs_pool_new(2, &pool, &err) != QS_OK)
        return EXIT_FAILURE;
    result = qs_run_tests("real_frames", tests, sizeof tests / sizeof tests[0]);
    qs_pool_free(pool);
    return result;
}
