/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_size.c - delivery sizes and crops as people write them
 *
 * Expected values: ISO 216 sheets at 300 ppi are mm / 25.4 x 300, rounded; screens
 * are the sizes of BT.709, BT.2020 and DCI; million pixels by sqrt(MP x ratio).
 */
#include "resample/size.h"

#include <math.h>
#include <string.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static struct qs_size
parsed(const char *text)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_size size;

    ck_assert_msg(qs_size_parse(text, &size, &err) == QS_OK, "%s: %s", text, err.text);
    ck_assert_str_eq(size.text, text);
    return size;
}

/* What becomes of a frame; refused ones are larger than the frame along a side. */
static void
check_size(const char *text, int width, int height, int out_width, int out_height)
{
    struct qs_size size = parsed(text);
    int got_width = -1, got_height = -1;
    bool fits = qs_size_of(&size, width, height, &got_width, &got_height);

    ck_assert_msg(got_width == out_width && got_height == out_height,
                  "%s of %d x %d: %d x %d, should be %d x %d", text, width, height,
                  got_width, got_height, out_width, out_height);
    ck_assert_msg(fits == (out_width <= width && out_height <= height), "%s of %d x %d",
                  text, width, height);
}

/* A frame with the sheet's own shape, and far larger, comes out at the sheet's size. */
START_TEST(iso_sheets)
{
    static const struct {
        const char *text;
        int width, height;
    } rows[] = {
        {"a0@300", 9933, 14043}, {"a1@300", 7016, 9933}, {"a2@300", 4961, 7016},
        {"a3@300", 3508, 4961},  {"a4@300", 2480, 3508}, {"A5@300", 1748, 2480},
        {"a6@300", 1240, 1748},
    };

    for (size_t i = 0; i < COUNT(rows); i++) {
        check_size(rows[i].text, rows[i].width * 3, rows[i].height * 3, rows[i].width,
                   rows[i].height);
        /* long edge to long edge: the same sheet, turned */
        check_size(rows[i].text, rows[i].height * 3, rows[i].width * 3, rows[i].height,
                   rows[i].width);
    }
}
END_TEST

/* A 3:2 frame on a sheet of 1.414: the long edge decides; 4:3 is shorter, so the
   short edge does. */
START_TEST(sheets_and_frames_of_other_shapes)
{
    check_size("native", 6001, 4003, 6001, 4003);
    check_size("Native", 1, 1, 1, 1);
    check_size("a4@300", 6000, 4000, 3508, 2339);
    check_size("a4@300", 4000, 6000, 2339, 3508);
    check_size("a4@300", 6000, 4500, 3307, 2480);
    check_size("30x20cm@240", 6000, 4000, 2835, 1890); /* 30 / 2.54 x 240 = 2834.6 */
    check_size("20x30cm@240", 6000, 4000, 2835, 1890); /* either way round */
    check_size("300x200mm@240", 6000, 4000, 2835, 1890);
    check_size("10x8in@300", 6000, 4800, 3000, 2400);
    check_size("8.27x11.69IN@300", 3508, 2481, 3507, 2480);
    check_size("a2@200", 9000, 6000, 4677, 3118); /* 594 mm: 4677.2 */
}
END_TEST

START_TEST(screens)
{
    check_size("hd", 6000, 3375, 1920, 1080);
    check_size("uhd", 8192, 4608, 3840, 2160);
    check_size("UHD", 6000, 4000, 3240, 2160); /* s = 1.8519: the height decides */
    check_size("dci4k", 8192, 4320, 4096, 2160);
    check_size("3840x2160", 6000, 4000, 3240, 2160);
    check_size("3840X2160", 4000, 6000, 1440, 2160); /* fit inside, not turned */
    check_size("hd", 1920, 1080, 1920, 1080);
}
END_TEST

/* 12, 24 and 45 MP of frames of 3:2, 4:3 and 16:9; 61 MP and more pixels there. */
START_TEST(million_pixels)
{
    check_size("12MP", 9600, 6400, 4243, 2828);
    check_size("12MP", 9600, 7200, 4000, 3000);
    check_size("12mp", 9600, 5400, 4619, 2598);
    check_size("24MP", 9600, 6400, 6000, 4000);
    check_size("24MP", 9600, 7200, 5657, 4243);
    check_size("24Mp", 9600, 5400, 6532, 3674);
    check_size("45MP", 9600, 6400, 8216, 5477);
    check_size("45MP", 9600, 7200, 7746, 5809);
    check_size("45MP", 9600, 5400, 8944, 5031);
    check_size("61MP", 12000, 8000, 9566, 6377);
    check_size("61MP", 12000, 9000, 9018, 6764);
    check_size("61MP", 12000, 6750, 10414, 5858);
    check_size("8.2944MP", 3840, 2160, 3840, 2160);
}
END_TEST

START_TEST(long_edge_and_share)
{
    check_size("3840px", 6000, 4000, 3840, 2560);
    check_size("3840PX", 4000, 6000, 2560, 3840);
    check_size("2048px", 6000, 4000, 2048, 1365);
    check_size("1920px", 6000, 4000, 1920, 1280);
    check_size("50%", 6001, 4001, 3001, 2001); /* half pixels go up */
    check_size("33.3%", 6000, 4000, 1998, 1332);
    check_size(".5%", 6000, 4000, 30, 20);
    check_size("100%", 317, 211, 317, 211);
    check_size("1px", 6000, 40, 1, 1); /* never less than a pixel */
    check_size("0.0001%", 6000, 4000, 1, 1);
}
END_TEST

/* Each of these is larger than the frame along a side, and says so. */
START_TEST(larger_than_the_frame)
{
    check_size("101%", 6000, 4000, 6060, 4040);
    check_size("25MP", 6000, 4000, 6124, 4082);
    check_size("6001px", 6000, 4000, 6001, 4001);
    check_size("uhd", 3000, 1000, 3840, 1280);
    check_size("a3@300", 4000, 3000, 4677, 3508);
}
END_TEST

/* Native size stays native, exactly, whatever the numbers. */
START_TEST(native_stays_native)
{
    for (int width = 1; width < 9000; width += 317)
        for (int height = 1; height < 9000; height += 911) {
            struct qs_size size = {.kind = QS_SIZE_LONG};
            int got_width, got_height;

            size.a = width > height ? width : height;
            ck_assert(qs_size_of(&size, width, height, &got_width, &got_height));
            ck_assert(got_width == width && got_height == height);
            size.kind = QS_SIZE_PIXELS;
            size.a = (double)width * height;
            ck_assert(qs_size_of(&size, width, height, &got_width, &got_height));
            ck_assert(got_width == width && got_height == height);
        }
}
END_TEST

static const char *const odd_texts[] = {
    "",
    " ",
    "50",
    "%",
    "0%",
    "-50%",
    "+50%",
    "50 %",
    " 50%",
    "50%%",
    "5e1%",
    "0x10px",
    "nan%",
    "inf%",
    "1,5MP",
    "20M",
    "20MPx",
    "MP",
    "0MP",
    "px",
    "0px",
    "3840",
    "3840p",
    "x2160",
    "3840x",
    "3840x0",
    "3840x2160x",
    "3840*2160",
    "0.5x0.5",
    "4k",
    "a4",
    "a4@",
    "a4@0",
    "a4@-300",
    "a4@300dpi",
    "a4@10001",
    "a7@300",
    "b4@300",
    "a44@300",
    "30x20@240",
    "30x20cm",
    "30x20cm@",
    "30x20km@9",
    "30cm@240",
    "1e9px",
    "9999999999",
    ".",
    ".%",
    "hd ",
    "hdx",
    "0.01x0.01cm@10",
    "50.0000000000000000000000000000%" /* too long to keep as typed */,
};

START_TEST(odd_texts_are_refused)
{
    for (size_t i = 0; i < COUNT(odd_texts); i++) {
        struct qs_error err = {QS_OK, ""};
        struct qs_size size = {.ppi = 317.0};

        ck_assert_msg(qs_size_parse(odd_texts[i], &size, &err) == QS_ERR_USAGE,
                      "\"%s\" was taken", odd_texts[i]);
        ck_assert_int_eq(err.status, QS_ERR_USAGE);
        ck_assert_ptr_nonnull(strstr(err.text, "3840px"));
        ck_assert(size.ppi == 317.0); /* left alone */
    }
}
END_TEST

/* Nine steps, half a stop of pixel count each, from all of the pixels to 1/16. */
START_TEST(ladder)
{
    ck_assert_int_eq(QS_SIZE_LADDER, 9);
    for (int i = 0; i < QS_SIZE_LADDER; i++) {
        double share = qs_size_ladder_share(i);

        ck_assert_double_eq_tol(share * share, pow(sqrt(0.5), i), 1e-15);
    }
    ck_assert(qs_size_ladder_share(0) == 1.0);
    ck_assert(qs_size_ladder_share(QS_SIZE_LADDER - 1) == 0.25);
}
END_TEST

static struct qs_box
cropped(const char *text, int width, int height)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_shape_ratio ratio;

    ck_assert_msg(qs_shape_ratio_parse(text, &ratio, &err) == QS_OK, "%s", err.text);
    return qs_shape_ratio_box(ratio, width, height);
}

/* By hand: the side that is too long is cut, half of it off each end. */
START_TEST(crops)
{
    static const struct {
        const char *text;
        int width, height;
        struct qs_box box;
    } rows[] = {
        {"16:9", 6000, 4000, {0, 312, 6000, 3375}},
        {"9:16", 6000, 4000, {1875, 0, 2250, 4000}}, /* keeps 37.5 % of the width */
        {"1:1", 6000, 4000, {1000, 0, 4000, 4000}},
        {"4:5", 6000, 4000, {1400, 0, 3200, 4000}},
        {"3:2", 6000, 4000, {0, 0, 6000, 4000}},
        {"6:4", 6000, 4000, {0, 0, 6000, 4000}},
        {"2.39:1", 6000, 4000, {0, 745, 6000, 2510}},
        {"1:1", 317, 211, {53, 0, 211, 211}},
        {"1000:1", 317, 211, {0, 105, 317, 1}}, /* never less than a pixel */
    };

    for (size_t i = 0; i < COUNT(rows); i++) {
        struct qs_box box = cropped(rows[i].text, rows[i].width, rows[i].height);
        struct qs_box frame = {0, 0, rows[i].width, rows[i].height};

        ck_assert_msg(memcmp(&box, &rows[i].box, sizeof box) == 0, "%s: %d %d %d %d",
                      rows[i].text, box.x, box.y, box.width, box.height);
        ck_assert(qs_box_within(box, frame));
    }
}
END_TEST

/* Whatever the shape and frame: inside, centred within half a pixel, as large as can
   be and of the shape within half a pixel. */
START_TEST(crops_by_contract)
{
    static const double shapes[][2] = {{16, 9}, {9, 16}, {1, 1}, {1.85, 1}, {7, 1000}};

    for (size_t k = 0; k < COUNT(shapes); k++)
        for (int width = 1; width < 700; width += 37)
            for (int height = 1; height < 700; height += 41) {
                struct qs_shape_ratio ratio = {shapes[k][0], shapes[k][1]};
                struct qs_box box = qs_shape_ratio_box(ratio, width, height);
                struct qs_box frame = {0, 0, width, height};
                double ideal_width = fmin(width, height * ratio.width / ratio.height);
                double ideal_height = fmin(height, width * ratio.height / ratio.width);

                ck_assert(qs_box_within(box, frame));
                ck_assert(abs(2 * box.x + box.width - width) <= 1);
                ck_assert(abs(2 * box.y + box.height - height) <= 1);
                ck_assert(box.width == width || box.height == height);
                ck_assert_double_le(fabs(box.width - fmax(ideal_width, 1.0)), 0.5);
                ck_assert_double_le(fabs(box.height - fmax(ideal_height, 1.0)), 0.5);
            }
}
END_TEST

START_TEST(no_crop_is_the_frame)
{
    struct qs_shape_ratio none = {0.0, 0.0};
    struct qs_box box = qs_shape_ratio_box(none, 317, 211);

    ck_assert(box.x == 0 && box.y == 0 && box.width == 317 && box.height == 211);
}
END_TEST

START_TEST(odd_shapes_are_refused)
{
    static const char *const odd[] = {"",      "16",   "16:",    ":9",    "16:0",
                                      "0:9",   "16/9", "16:9:4", "16 :9", "-16:9",
                                      "16:9x", "wide", "1001:1", "1:1001"};

    for (size_t i = 0; i < COUNT(odd); i++) {
        struct qs_error err = {QS_OK, ""};
        struct qs_shape_ratio ratio = {3.17, 2.11};

        ck_assert_msg(qs_shape_ratio_parse(odd[i], &ratio, &err) == QS_ERR_USAGE,
                      "\"%s\" was taken", odd[i]);
        ck_assert_ptr_nonnull(strstr(err.text, "16:9"));
        ck_assert(ratio.width == 3.17 && ratio.height == 2.11);
    }
}
END_TEST

QS_TEST_MAIN("size", iso_sheets, sheets_and_frames_of_other_shapes, screens,
             million_pixels, long_edge_and_share, larger_than_the_frame,
             native_stays_native, odd_texts_are_refused, ladder, crops,
             crops_by_contract, no_crop_is_the_frame, odd_shapes_are_refused)
