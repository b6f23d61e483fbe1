/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Pictures turned upright, against TIFF 6.0, tag 274, which says of each orientation
 * where the stored picture's first row and first column lie.
 */
#include "deliver/turn.h"

#include <string.h>
#include <tiffio.h>

#include "check_main.h"
#include "deliver/picture.h"
#include "image_check.h"

enum {
    WIDTH = 150,
    HEIGHT = 97
};

enum side {
    TOP,
    BOTTOM,
    LEFT,
    RIGHT
};

/* From memory of the standard's table. */
static const struct lie {
    enum side row, column; /* the visual sides of the first ones */
} lies[] = {
    [1] = {TOP, LEFT}, [2] = {TOP, RIGHT}, [3] = {BOTTOM, RIGHT}, [4] = {BOTTOM, LEFT},
    [5] = {LEFT, TOP}, [6] = {RIGHT, TOP}, [7] = {RIGHT, BOTTOM}, [8] = {LEFT, BOTTOM}};

/* Codes that differ everywhere. */
static uint16_t
code_at(int x, int y, int c)
{
    return (uint16_t)((x * 211 + y * 307 + c * 17011) % 65536);
}

static void
write_source(const char *path, int orientation)
{
    TIFF *tiff = TIFFOpen(path, "w");
    uint16_t line[WIDTH * 3];

    ck_assert_ptr_nonnull(tiff);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)WIDTH);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)HEIGHT);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_ORIENTATION, orientation);
    for (int y = 0; y < HEIGHT; y++) {
        for (int i = 0; i < 3 * WIDTH; i++)
            line[i] = code_at(i / 3, y, i % 3);
        ck_assert_int_eq(TIFFWriteScanline(tiff, line, (uint32_t)y, 0), 1);
    }
    TIFFClose(tiff);
}

static void
deliver(const char *from, const char *to, const char *size, enum qs_file_format format,
        struct qs_picture_done *done)
{
    struct qs_picture_order order = {.filter = QS_FILTER_AREA,
                                     .bits = 16,
                                     .format = format,
                                     .compression = QS_COMPRESS_DEFLATE,
                                     .upright = true};
    struct qs_image *image;
    struct qs_pool *pool;
    struct qs_error err = {QS_OK, ""};

    ck_assert_int_eq(qs_size_parse(size, &order.size, NULL), QS_OK);
    ck_assert_int_eq(qs_pool_new(3, &pool, NULL), QS_OK);
    ck_assert_int_eq(qs_image_open_with_alpha(from, &image, NULL), QS_OK);
    ck_assert_msg(qs_picture_deliver(image, &order, to, pool, NULL, NULL, done, &err) ==
                      QS_OK,
                  "%s", err.text);
    qs_image_close(image);
    qs_pool_free(pool);
}

/* How far a visual point lies from a visual side. */
static int
from_side(enum side side, int x, int y, int width, int height)
{
    switch (side) {
    case TOP:
        return y;
    case BOTTOM:
        return height - 1 - y;
    case LEFT:
        return x;
    case RIGHT:
        return width - 1 - x;
    }
    return 0;
}

static void
check_upright(const char *path, int orientation)
{
    const bool swapped = orientation >= 5;
    const int width = swapped ? HEIGHT : WIDTH, height = swapped ? WIDTH : HEIGHT;
    struct qs_image *image;
    uint16_t row[(WIDTH > HEIGHT ? WIDTH : HEIGHT) * 3];

    ck_assert_int_eq(qs_image_open(path, &image, NULL), QS_OK);
    ck_assert_int_eq(qs_image_info(image)->width, width);
    ck_assert_int_eq(qs_image_info(image)->height, height);
    ck_assert_int_eq(qs_image_info(image)->shot.orientation, 1);
    for (int y = 0; y < height; y++) {
        ck_assert_int_eq(qs_image_read(image, 1, row, NULL), QS_OK);
        for (int x = 0; x < width; x++) {
            int stored_y = from_side(lies[orientation].row, x, y, width, height);
            int stored_x = from_side(lies[orientation].column, x, y, width, height);

            for (int c = 0; c < 3; c++)
                ck_assert_int_eq(row[3 * x + c], code_at(stored_x, stored_y, c));
        }
    }
    qs_image_close(image);
}

START_TEST(test_orientations)
{
    char from[64], to[64];

    scratch_file(from);
    scratch_file(to);
    for (int orientation = 1; orientation <= 8; orientation++)
        for (int f = 0; f < 2; f++) {
            struct qs_picture_done done;

            write_source(from, orientation);
            deliver(from, to, "native", f == 0 ? QS_FILE_TIFF : QS_FILE_PNG, &done);
            check_upright(to, orientation);
            ck_assert_int_eq(done.turned, orientation != 1);
        }
    (void)unlink(from);
    (void)unlink(to);
}
END_TEST

/* Sizes and boxes are those of the upright picture. */
START_TEST(test_sizes_and_boxes)
{
    char from[64], to[64];
    struct qs_picture_done done;

    scratch_file(from);
    scratch_file(to);
    write_source(from, 6);
    deliver(from, to, "97x100", QS_FILE_TIFF, &done);
    ck_assert_int_eq(done.sides.final_height, 100);
    ck_assert_int_eq(done.sides.final_width, 65); /* 97 x 100 / 150 = 64.7 */
    (void)unlink(from);
    (void)unlink(to);
    for (int orientation = 1; orientation <= 8; orientation++) {
        struct qs_box stored = {20, 30, 7, 5};
        struct qs_box upright = qs_turn_box(orientation, WIDTH, HEIGHT, stored);

        for (int corner = 0; corner < 2; corner++) {
            int x = upright.x + corner * (upright.width - 1);
            int y = upright.y + corner * (upright.height - 1);

            qs_turn_point(orientation, WIDTH, HEIGHT, &x, &y);
            ck_assert(x == 20 || x == 26);
            ck_assert(y == 30 || y == 34);
        }
    }
}
END_TEST

QS_TEST_MAIN("turn", test_orientations, test_sizes_and_boxes)
