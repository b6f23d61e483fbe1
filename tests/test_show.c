/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The picture of a frame with its patches: light is averaged by area, and what is drawn
 * on it can be seen on any ground.
 *
 * The small picture's truth is the light's integral over each small pixel, taken from
 * running sums, put through sRGB's curve as IEC 61966-2-1 gives it (FORMULA below);
 * PNGs are read back with libpng.
 */
#include "check_main.h"

#include <math.h>
#include <png.h>
#include <stdio.h>
#include <string.h>
#include <tiffio.h>
#include <unistd.h>

#include "base/memory.h"
#include "frame/preview.h"
#include "report/show.h"

static char path[] = "/tmp/quietsize-show-XXXXXX";
static struct qs_frame_options linear = {.encoding = {.name = "linear"}};

/* Codes of a grey or RGB frame, by formula: a wave and a slope for each channel. */
static int
code_at(int x, int y, int channel, int width, int height)
{
    double light = 0.45 + 0.3 * sin(0.37 * x + 0.21 * y + channel) + 0.2 * x / width -
                   0.2 * y / height;

    return (int)lround(65535.0 * fmin(fmax(light, 0.0), 1.0));
}

static void
write_tiff(int width, int height, int channels)
{
    TIFF *tiff = TIFFOpen(path, "w");
    uint16_t *row = calloc((size_t)width * (size_t)channels, sizeof *row);

    ck_assert_ptr_nonnull(tiff);
    ck_assert_ptr_nonnull(row);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, channels);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
                 channels == 1 ? PHOTOMETRIC_MINISBLACK : PHOTOMETRIC_RGB);
    for (int y = 0; y < height; y++) {
        for (int i = 0; i < width * channels; i++)
            row[i] = (uint16_t)code_at(i / channels, y, i % channels, width, height);
        ck_assert_int_eq(TIFFWriteScanline(tiff, row, (uint32_t)y, 0), 1);
    }
    free(row);
    TIFFClose(tiff);
}

/* FORMULA: sRGB's curve, to 255. */
static double
shown(double light)
{
    return 255.0 *
           (light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1.0 / 2.4) - 0.055);
}

/* Share of pixel `i`, of `in`, that falls on small pixel `at`, of `out`. */
static double
overlap(int i, int in, int at, int out)
{
    double scale = (double)out / in;
    double low = fmax(i * scale, at), high = fmin((i + 1) * scale, at + 1.0);

    return fmax(high - low, 0.0);
}

static double
mean_light(int width, int height, const struct qs_preview *small, int x, int y,
           int channel)
{
    double sum = 0.0;

    for (int j = 0; j < height; j++) {
        double down = overlap(j, height, y, small->height);

        for (int i = 0; down > 0.0 && i < width; i++)
            sum += down * overlap(i, width, x, small->width) *
                   code_at(i, j, channel, width, height) / 65535.0;
    }
    return sum;
}

static void
check_preview(int width, int height, int channels, int most, int want_width,
              int want_height)
{
    struct qs_preview small;
    struct qs_error err;

    write_tiff(width, height, channels);
    ck_assert(qs_preview_make(path, &linear, most, &small, &err) == QS_OK);
    ck_assert_int_eq(small.width, want_width);
    ck_assert_int_eq(small.height, want_height);
    for (int y = 0; y < small.height; y += 1 + small.height / 7)
        for (int x = 0; x < small.width; x += 1 + small.width / 9)
            for (int c = 0; c < 3; c++) {
                double truth = shown(
                    mean_light(width, height, &small, x, y, channels == 1 ? 0 : c));

                /* half a code is rounding, the rest that of floats */
                ck_assert_double_eq_tol(small.rgb[(y * small.width + x) * 3 + c], truth,
                                        0.51);
            }
    qs_preview_clear(&small);
}

START_TEST(light_is_averaged_by_area)
{
    check_preview(150, 90, 3, 30, 30, 18); /* whole steps */
    check_preview(151, 97, 3, 41, 41, 26); /* 97 x 41 / 151 = 26.3 */
    check_preview(97, 151, 1, 41, 26, 41);
    check_preview(64, 40, 3, 64, 64, 40); /* small frames keep their size */
    check_preview(64, 40, 1, 1000, 64, 40);
    check_preview(700, 3, 3, 100, 100, 1); /* 0.4 rows: never less than one */
}
END_TEST

START_TEST(a_preview_that_fails_leaves_nothing)
{
    struct qs_preview small;
    struct qs_error err;
    long last;

    ck_assert(qs_preview_make("/nowhere/at/all.tif", &linear, 50, &small, &err) ==
              QS_ERR_OPEN);
    ck_assert_ptr_null(small.rgb);
    write_tiff(60, 40, 3);
    qs_alloc_fail_at(-1);
    ck_assert(qs_preview_make(path, &linear, 30, &small, &err) == QS_OK);
    last = qs_alloc_count();
    qs_preview_clear(&small);
    for (long n = 0; n < last; n++) {
        qs_error_clear(&err);
        qs_alloc_fail_at(n);
        ck_assert(qs_preview_make(path, &linear, 30, &small, &err) == QS_ERR_MEMORY);
        ck_assert_ptr_null(small.rgb);
    }
    qs_alloc_fail_at(-1);
}
END_TEST

enum {
    WIDTH = 600,
    HEIGHT = 400,
    MOST_PATCHES = 40
};

static unsigned char ground[HEIGHT][WIDTH][3];
static unsigned char picture[HEIGHT][WIDTH][3];
static struct qs_patch patches[MOST_PATCHES];

/* Draws `count` patches of a frame `times` larger than the picture and reads it back.
 */
static void
draw(int count, int times)
{
    struct qs_preview small = {WIDTH, HEIGHT, &ground[0][0][0]};
    struct qs_frame frame = {.width = WIDTH * times,
                             .height = HEIGHT * times,
                             .patches = patches,
                             .patch_count = count};
    FILE *file = tmpfile();
    png_image image = {.version = PNG_IMAGE_VERSION};
    struct qs_error err;

    ck_assert_ptr_nonnull(file);
    ck_assert(qs_show(file, &small, &frame, &err) == QS_OK);
    ck_assert_int_eq(fflush(file), 0);
    rewind(file);
    ck_assert_int_ne(png_image_begin_read_from_stdio(&image, file), 0);
    ck_assert_uint_eq(image.width, WIDTH);
    ck_assert_uint_eq(image.height, HEIGHT);
    image.format = PNG_FORMAT_RGB;
    ck_assert_int_ne(png_image_finish_read(&image, NULL, picture, 0, NULL), 0);
    (void)fclose(file);
}

static void
fill_ground(int grey)
{
    memset(ground, grey, sizeof ground);
}

static bool
is_changed(int x, int y)
{
    return memcmp(picture[y][x], ground[y][x], 3) != 0;
}

/* Whether near (x, y), along one axis, there is something dark and something light. */
static bool
has_both(int x, int y, int dx, int dy)
{
    bool dark = false, light = false;

    for (int i = -3; i <= 3; i++) {
        int at_x = x + i * dx, at_y = y + i * dy;

        if (at_x < 0 || at_x >= WIDTH || at_y < 0 || at_y >= HEIGHT)
            continue;
        dark = dark || picture[at_y][at_x][1] < 60;
        light = light || picture[at_y][at_x][1] > 200;
    }
    return dark && light;
}

START_TEST(without_patches_the_frame_is_as_it_was)
{
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++)
            for (int c = 0; c < 3; c++)
                ground[y][x][c] = (unsigned char)(7 * x + 13 * y + 91 * c);
    draw(0, 1);
    ck_assert_mem_eq(picture, ground, sizeof ground);
}
END_TEST

/* On black, white and every grey between: all four borders are dark and light at once.
 */
START_TEST(borders_show_on_any_ground)
{
    for (int grey = 0; grey <= 255; grey += 51)
        for (int times = 1; times <= 3; times += 2) {
            fill_ground(grey);
            patches[0].box =
                (struct qs_box){200 * times, 120 * times, 180 * times, 140 * times};
            draw(1, times);
            for (int along = 60; along < 120; along++) {
                ck_assert_msg(has_both(200, 120 + along, 1, 0), "left on %d", grey);
                ck_assert_msg(has_both(380, 120 + along, 1, 0), "right on %d", grey);
                ck_assert_msg(has_both(200 + along, 120, 0, 1), "top on %d", grey);
                ck_assert_msg(has_both(200 + along, 260, 0, 1), "foot on %d", grey);
            }
            /* what is measured is not covered: the patch's middle, and around it */
            for (int y = 170; y < 250; y++)
                for (int x = 250; x < 370; x++)
                    ck_assert(!is_changed(x, y));
            ck_assert(!is_changed(190, 190) && !is_changed(390, 190));
        }
}
END_TEST

/* Pixels of a box of the picture that are dark, and that are light. */
static void
count_tones(struct qs_box box, int *dark, int *light)
{
    *dark = *light = 0;
    for (int y = box.y; y < box.y + box.height; y++)
        for (int x = box.x; x < box.x + box.width; x++) {
            *dark += picture[y][x][1] < 60;
            *light += picture[y][x][1] > 200;
        }
}

/* Two patches alike but for their number: only their numbers tell them apart. */
START_TEST(patches_are_numbered)
{
    static const struct qs_box at[2] = {{50, 50, 120, 120}, {350, 50, 120, 120}};
    int differing = 0, dark, light;

    fill_ground(120);
    patches[0].box = at[0];
    patches[1].box = at[1];
    draw(2, 1);
    for (int y = 40; y < 180; y++)
        for (int x = 40; x < 180; x++)
            differing += memcmp(picture[y][x], picture[y][x + 300], 3) != 0;
    ck_assert_int_gt(differing, 20);
    /* a number is dark on a light plate, inside of a large patch */
    count_tones((struct qs_box){56, 56, 40, 30}, &dark, &light);
    ck_assert_int_gt(dark, 15);
    ck_assert_int_gt(light, 60);
}
END_TEST

/* Patches of 6 px in a picture: the number stands outside, as large as before. */
START_TEST(small_patches_keep_their_number)
{
    struct qs_box around = {280, 180, 60, 60};
    int dark, light;

    fill_ground(120);
    patches[0].box = (struct qs_box){300, 200, 6, 6};
    draw(1, 1);
    count_tones(around, &dark, &light);
    ck_assert_int_gt(dark, 40);
    ck_assert_int_gt(light, 60);
}
END_TEST

/* In the corners of the picture, where there is no room on two sides. */
START_TEST(numbers_stay_in_the_picture)
{
    static const struct qs_box corners[] = {{0, 0, 10, 10},
                                            {WIDTH - 10, 0, 10, 10},
                                            {0, HEIGHT - 10, 10, 10},
                                            {WIDTH - 10, HEIGHT - 10, 10, 10}};

    for (int i = 0; i < 4; i++) {
        struct qs_box around = {i % 2 == 0 ? 0 : WIDTH - 50, i < 2 ? 0 : HEIGHT - 50,
                                50, 50};
        int dark, light;

        fill_ground(120);
        patches[0].box = corners[i];
        draw(1, 1);
        count_tones(around, &dark, &light);
        ck_assert_msg(light > 60 && dark > 30, "corner %d: %d light, %d dark", i, light,
                      dark);
        for (int x = 60; x < WIDTH - 60; x++)
            ck_assert(!is_changed(x, 200));
    }
}
END_TEST

/* A crowd: every number is on top, and so no patch is without one nearby. */
START_TEST(many_patches_are_all_numbered)
{
    fill_ground(90);
    for (int p = 0; p < MOST_PATCHES; p++)
        patches[p].box = (struct qs_box){20 + p % 10 * 55, 20 + p / 10 * 90, 30, 30};
    draw(MOST_PATCHES, 1);
    for (int p = 0; p < MOST_PATCHES; p++) {
        struct qs_box box = patches[p].box;
        struct qs_box around = {box.x - 15, box.y - 15, box.width + 30,
                                box.height + 30};
        int dark, light;

        count_tones(around, &dark, &light);
        /* more than the outline alone: 4 sides of 30 px, 2 px wide */
        ck_assert_msg(light > 4 * 30 * 2 + 60, "patch %d: %d light", p + 1, light);
    }
}
END_TEST

START_TEST(a_stream_that_takes_nothing_is_told)
{
    struct qs_preview small = {WIDTH, HEIGHT, &ground[0][0][0]};
    struct qs_frame frame = {.width = WIDTH, .height = HEIGHT, .patches = patches};
    struct qs_error err = {0};
    FILE *file;

    write_tiff(8, 8, 1);
    file = fopen(path, "rb"); /* may only be read */
    ck_assert_ptr_nonnull(file);
    ck_assert(qs_show(file, &small, &frame, &err) == QS_ERR_WRITE);
    ck_assert_int_gt((int)strlen(err.text), 10);
    (void)fclose(file);
}
END_TEST

/* The file that the tests write to, made first and removed last. */
START_TEST(make_place)
{
    int file = mkstemp(path);

    ck_assert_int_ge(file, 0);
    (void)close(file);
}
END_TEST

START_TEST(remove_place)
{
    (void)unlink(path);
}
END_TEST

QS_TEST_MAIN("show", make_place, light_is_averaged_by_area,
             a_preview_that_fails_leaves_nothing,
             without_patches_the_frame_is_as_it_was, borders_show_on_any_ground,
             patches_are_numbered, small_patches_keep_their_number,
             numbers_stay_in_the_picture, many_patches_are_all_numbered,
             a_stream_that_takes_nothing_is_told, remove_place)
