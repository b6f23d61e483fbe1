/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Charts: axes of round numbers, names that keep apart, and files that others can read
 * (libpng here; an XML reader and pdftotext in tests/cli where they are installed).
 */
#include "report/chart.h"

#include <math.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

#include "check_main.h"
#include "report/chart_axis.h"

START_TEST(test_ticks)
{
    static const struct {
        double low, high;
        bool is_log;
        int count;
        double first, last;
    } rows[] = {
        {-5.0, 1.5, false, 8, -5.0, 2.0}, {0.0, 1.0, false, 6, 0.0, 1.0},
        {3.0, 3.0, false, 7, 1.5, 4.5},   {8.4, 135.0, true, 6, 5.0, 200.0},
        {0.25, 3.9, true, 5, 0.2, 5.0},   {1.0, 1e6, true, 7, 1.0, 1e6},
        {2.0, 2.0, true, 2, 2.0, 5.0},    {1e-7, 3e-7, true, 3, 1e-7, 5e-7},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct qs_axis_ticks ticks =
            qs_axis_ticks_of(rows[i].low, rows[i].high, rows[i].is_log);

        ck_assert_msg(ticks.count == rows[i].count, "row %zu: %d ticks", i,
                      ticks.count);
        ck_assert_double_eq_tol(ticks.low, rows[i].first, 1e-9);
        ck_assert_double_eq_tol(ticks.high, rows[i].last, 1e-9 * rows[i].last);
        ck_assert_double_le(ticks.low, rows[i].low + 1e-12);
        ck_assert_double_ge(ticks.high, rows[i].high - 1e-12);
        ck_assert_double_eq_tol(qs_axis_place(&ticks, rows[i].is_log, ticks.low), 0.0,
                                1e-12);
        ck_assert_double_eq_tol(qs_axis_place(&ticks, rows[i].is_log, ticks.high), 1.0,
                                1e-12);
    }
}
END_TEST

/* Names never stand closer than the gap, nor outside; those with room stay. */
START_TEST(test_spread)
{
    double alone[] = {10.0, 50.0, 90.0}, near[] = {50.0, 51.0, 52.0, 20.0},
           edge[] = {99.0, 100.0, 101.0}, many[30];

    qs_axis_spread(alone, 3, 13.0, 0.0, 100.0);
    ck_assert_double_eq(alone[0], 10.0);
    ck_assert_double_eq(alone[2], 90.0);
    qs_axis_spread(near, 4, 13.0, 0.0, 100.0);
    ck_assert_double_eq_tol(near[1], 51.0, 1e-9);
    ck_assert_double_eq_tol(near[0], 38.0, 1e-9);
    ck_assert_double_eq_tol(near[2], 64.0, 1e-9);
    ck_assert_double_eq(near[3], 20.0);
    qs_axis_spread(edge, 3, 13.0, 0.0, 100.0);
    ck_assert_double_eq_tol(edge[2], 100.0, 1e-9);
    ck_assert_double_eq_tol(edge[0], 74.0, 1e-9);
    for (int i = 0; i < 30; i++)
        many[i] = 70.0;
    qs_axis_spread(many, 30, 13.0, 0.0, 100.0);
    for (int i = 1; i < 30; i++)
        ck_assert_double_ge(fabs(many[i] - many[i - 1]), 100.0 / 29.0 - 1e-9);
}
END_TEST

/* A chart whose names would break a careless file. */
static char *
drawn(enum qs_chart_format format, bool empty, long *size)
{
    static const struct qs_chart_point points[] = {{1.0, 10.0, true, 9.0, 11.0},
                                                   {2.0, 20.0, false, 0.0, 0.0},
                                                   {3.0, NAN, false, 0.0, 0.0},
                                                   {4.0, -1.0, false, 0.0, 0.0}};
    const struct qs_chart_line line = {"<b>&\"\x01", points, 4, 0, 1};
    const struct qs_chart chart = {.title = "Noise & <light>",
                                   .x = {.title = "size"},
                                   .y = {.title = "ratio", .is_log = true},
                                   .lines = &line,
                                   .line_count = empty ? 0 : 1};
    struct qs_error err = {QS_OK, ""};
    FILE *file = tmpfile();
    char *bytes;

    ck_assert_ptr_nonnull(file);
    ck_assert_msg(qs_chart_write(file, format, &chart, 1, &err) == QS_OK, "%s",
                  err.text);
    *size = ftell(file);
    bytes = calloc((size_t)*size + 1, 1);
    rewind(file);
    ck_assert_int_eq((long)fread(bytes, 1, (size_t)*size, file), *size);
    (void)fclose(file);
    return bytes;
}

START_TEST(test_svg)
{
    long size;
    char *svg = drawn(QS_CHART_SVG, false, &size);

    ck_assert_ptr_nonnull(strstr(svg, "role=\"img\""));
    ck_assert_ptr_nonnull(strstr(svg, "<title>Noise &amp; &lt;light&gt;</title>"));
    ck_assert_ptr_nonnull(strstr(svg, ">&lt;b&gt;&amp;&quot;?</text>"));
    ck_assert_ptr_nonnull(strstr(svg, ">ratio</text>"));
    ck_assert_ptr_null(strstr(svg, "<b>"));
    ck_assert_str_eq(strstr(svg, "</svg>"), "</svg>\n");
    free(svg);
}
END_TEST

START_TEST(test_png)
{
    png_image image = {.version = PNG_IMAGE_VERSION};
    long size;
    char *png = drawn(QS_CHART_PNG, false, &size);

    ck_assert_int_ne(png_image_begin_read_from_memory(&image, png, (size_t)size), 0);
    ck_assert_uint_eq(image.width, 2 * QS_CHART_WIDTH);
    ck_assert_uint_eq(image.height, 2 * QS_CHART_HEIGHT);
    png_image_free(&image);
    free(png);
}
END_TEST

START_TEST(test_pdf_and_empty)
{
    long size;
    char *pdf = drawn(QS_CHART_PDF, false, &size), *svg;

    ck_assert_int_eq(strncmp(pdf, "%PDF-", 5), 0);
    free(pdf);
    svg = drawn(QS_CHART_SVG, true, &size);
    ck_assert_ptr_nonnull(strstr(svg, "Nothing to draw"));
    free(svg);
}
END_TEST

START_TEST(test_full_disk)
{
    const struct qs_chart chart = {
        .title = "t", .x = {.title = "x"}, .y = {.title = "y"}};
    FILE *full = fopen("/dev/full", "w");

    if (full == NULL) /* not on every system */
        return;
    for (int f = 0; f < (int)QS_CHART_FORMATS; f++)
        ck_assert_int_eq(qs_chart_write(full, (enum qs_chart_format)f, &chart, 1, NULL),
                         QS_ERR_WRITE);
    (void)fclose(full);
}
END_TEST

START_TEST(test_formats)
{
    ck_assert_int_eq(qs_chart_format_of("a/b.SVG"), QS_CHART_SVG);
    ck_assert_int_eq(qs_chart_format_of("b.png"), QS_CHART_PNG);
    ck_assert_int_eq(qs_chart_format_of("x.y.pdf"), QS_CHART_PDF);
    ck_assert_int_eq(qs_chart_format_of("b.jpg"), -1);
    ck_assert_int_eq(qs_chart_format_of("png"), -1);
}
END_TEST

QS_TEST_MAIN("chart", test_ticks, test_spread, test_svg, test_png, test_pdf_and_empty,
             test_full_disk, test_formats)
