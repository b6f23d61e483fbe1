/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The finder on pictures nobody drew for it.  The chart is a real camera's, its
 * pedestal left in.  Its tiles' boxes are where a tile's profile falls to half of its
 * contrast with the frame round it, read off the picture's own rows and columns and
 * independent of the finder.  The photographs get noise of known strength.
 */
#include "check_main.h"

#include <png.h>
#include <stdio.h>
#include <tiffio.h>
#include <unistd.h>

#include "find_frames.h"

#define CHART QS_SHARED_DATA "/real-chart/chart_rgb16_linear.tif"
#define PHOTOS QS_SHARED_DATA "/clean-photos/"

/* x and y of the first, x and y of the last pixel. */
static const int tiles[][4] = {
    {251, 285, 296, 326}, {305, 285, 348, 324}, {358, 283, 401, 323},
    {411, 281, 456, 322}, {466, 281, 509, 320}, {520, 280, 559, 319},
    {250, 336, 293, 375}, {303, 334, 347, 374}, {358, 333, 401, 373},
    {410, 330, 456, 372}, {466, 331, 510, 371}, {521, 330, 559, 370},
    {246, 384, 292, 427}, {302, 384, 346, 425}, {356, 383, 401, 425},
    {411, 383, 455, 424}, {466, 382, 511, 423}, {521, 380, 559, 422},
    {245, 437, 289, 479}, {300, 436, 344, 478}, {356, 435, 400, 477},
    {410, 434, 455, 476}, {465, 432, 512, 476}, {523, 431, 559, 475},
    {279, 69, 322, 105},  {333, 67, 376, 105},  {386, 65, 429, 103},
    {440, 63, 484, 101},  {494, 61, 538, 99},   {277, 116, 321, 155},
    {331, 115, 375, 153}, {386, 114, 429, 151}, {440, 111, 484, 150},
    {495, 109, 539, 148}, {240, 32, 274, 61},   {284, 31, 317, 59},
    {327, 29, 360, 57},   {370, 28, 403, 56},   {413, 26, 446, 54},
    {457, 25, 490, 53},   {501, 23, 534, 51},   {413, 161, 447, 191},
    {457, 160, 492, 190}, {503, 158, 537, 189}};

static struct find_frame
read_chart(void)
{
    TIFF *tiff = TIFFOpen(CHART, "r");
    struct find_frame f = find_frame_new(560, 540, QS_R);
    uint16_t row[3 * 560];

    ck_assert_ptr_nonnull(tiff);
    ck_assert_int_eq(TIFFScanlineSize(tiff), (tmsize_t)sizeof row);
    for (int y = 0; y < f.height; y++) {
        ck_assert_int_eq(TIFFReadScanline(tiff, row, (uint32_t)y, 0), 1);
        for (int x = 0; x < f.width; x++) {
            double light[3], sum = 0.0;

            for (int c = 0; c < 3; c++) {
                light[c] = row[3 * x + c] / 65535.0;
                sum += find_weight[c] * light[c];
            }
            find_paint(&f, x, y, light[0], light[1], light[2]);
            f.plane[QS_Y][find_at(&f, x, y)] = (float)sum;
        }
    }
    TIFFClose(tiff);
    return f;
}

START_TEST(test_real_chart)
{
    struct find_frame f;
    int on_tiles = 0, across = 0;

    if (access(CHART, R_OK) != 0)
        return;
    f = read_chart();
    find_run(&f, NULL);
    for (size_t t = 0; t < sizeof tiles / sizeof tiles[0]; t++) {
        const struct qs_box tile = {tiles[t][0], tiles[t][1],
                                    tiles[t][2] - tiles[t][0] + 1,
                                    tiles[t][3] - tiles[t][1] + 1};

        for (int i = 0; i < f.count; i++) {
            bool within = qs_box_within(f.box[i], tile);

            on_tiles += within;
            across += !within && qs_box_overlap(f.box[i], tile);
        }
    }
    ck_assert_int_eq(across, 0);
    ck_assert_int_gt(on_tiles, 20);
    find_frame_free(&f);
}
END_TEST

static double
linear(int code)
{
    double v = code / 255.0; /* IEC 61966-2-1, from memory */

    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

/*
 * A photograph at half size: the mean of four pixels' light takes off most of the
 * grain and the rounding to eight bits.
 */
static struct find_frame
read_photo(const char *name)
{
    png_image image = {.version = PNG_IMAGE_VERSION};
    char path[512];
    png_byte *codes;
    struct find_frame f;

    snprintf(path, sizeof path, "%s%s", PHOTOS, name);
    ck_assert_int_ne(png_image_begin_read_from_file(&image, path), 0);
    image.format = PNG_FORMAT_RGB;
    codes = find_alloc(PNG_IMAGE_SIZE(image), 1);
    ck_assert_int_ne(png_image_finish_read(&image, NULL, codes, 0, NULL), 0);
    f = find_frame_new((int)image.width / 2, (int)image.height / 2, QS_R);
    for (int y = 0; y < f.height; y++) {
        for (int x = 0; x < f.width; x++) {
            double light[3] = {0.0, 0.0, 0.0};

            for (int i = 0; i < 12; i++) {
                int row = 2 * y + i / 6, column = 2 * x + i / 3 % 2;

                light[i % 3] +=
                    0.25 * linear(codes[(row * (int)image.width + column) * 3 + i % 3]);
            }
            find_paint(&f, x, y, light[0], light[1], light[2]);
        }
    }
    qs_free(codes);
    return f;
}

/*
 * Half the pictures within 3 %, none off by more than 10 %; the brick wall gives
 * nothing that is wrong.
 */
START_TEST(test_photographs)
{
    static const char *const names[] = {"skimage_camera.png", "kodim03.png",
                                        "skimage_brick.png"};
    int found = 0, near = 0;

    if (access(PHOTOS "kodim03.png", R_OK) != 0)
        return;
    for (size_t i = 0; i < 3; i++) {
        for (int level = 0; level < 4; level++) {
            struct find_frame f = read_photo(names[i]);
            struct qs_random random;
            double error;

            qs_random_seed(&random, 100 + i);
            find_add_noise(&f, 1e-3 * (1 << level), 1e-5 * (1 << level), 0.0, 0.0,
                           &random);
            find_run(&f, NULL);
            error = f.count > 0 ? fabs(find_pooled(&f) - 1.0) : 0.0;
            ck_assert_msg(error < 0.1, "%s, level %d: off by %.1f %%", names[i], level,
                          100.0 * error);
            found += f.count > 0;
            near += f.count > 0 && error < 0.03;
            find_frame_free(&f);
        }
    }
    ck_assert_int_ge(found, 4);
    ck_assert_int_ge(2 * near, found);
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {test_real_chart, test_photographs};

    if (access(CHART, R_OK) != 0 && access(PHOTOS "kodim03.png", R_OK) != 0)
        return QS_TEST_SKIPPED;
    return qs_run_tests("find_real", tests, sizeof tests / sizeof tests[0]);
}
