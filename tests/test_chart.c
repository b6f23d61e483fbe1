/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_chart.c - charts as others read them
 *
 * PNGs are read by libpng, PDFs by pdftotext where it is installed, SVGs by a small
 * reader here that holds them against XML 1.0 (W3C recommendation, from memory): tags
 * are balanced and text holds no bare "<" or "&".  Where lines lie is read from the SVG
 * and held against its own ticks: halves of a linear axis, roots of a logarithmic one.
 */
#include "report/chart.h"

#include <errno.h>
#include <math.h>
#include <png.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "check_main.h"
#include "report/chart_ink.h"

enum {
    ISOS = 9,
    SIZES = 7,
    FILE_MOST = 4 << 20
};

#define NASTY "Lumora <b>&\"' K7"

static const double megapixels[SIZES] = {45, 33, 24, 12, 8, 6, 3};
static struct qs_chart_point points[2][ISOS][SIZES];
static struct qs_chart_line lines[2][ISOS];
static char labels[ISOS][32];
static const struct qs_chart_rule rules[] = {{20.0, false, "SNR 20"},
                                             {10.0, true, "A4 sheet"}};
static struct qs_chart charts[2];

static char file_bytes[FILE_MOST + 1];
static size_t file_size;

/* Two charts: shot noise over tone, and its fall with the square root of the size. */
static void
fill_charts(void)
{
    for (int k = 0; k < ISOS; k++) {
        (void)snprintf(labels[k], sizeof labels[k], "ISO %d", 100 << k);
        for (int i = 0; i < SIZES; i++) {
            double noise = 100.0 / sqrt(10800.0 * pow(2.0, i - 4 - k));
            double snr = sqrt(3000.0 * pow(0.5, k) * 45.0 / megapixels[i]);

            points[0][k][i] =
                (struct qs_chart_point){i - 4, noise, true, 0.9 * noise, 1.1 * noise};
            points[1][k][i] =
                (struct qs_chart_point){megapixels[i], snr, true, 0.9 * snr, 1.1 * snr};
        }
        for (int c = 0; c < 2; c++)
            lines[c][k] =
                (struct qs_chart_line){labels[k], points[c][k], SIZES, c == 1, k, ISOS};
    }
    charts[0] = (struct qs_chart){NASTY,
                                  "At dusk, in the glass-blowing workshop.",
                                  {.title = "tone, stops"},
                                  {.title = "noise, %", .is_log = true},
                                  lines[0],
                                  ISOS,
                                  NULL,
                                  0};
    charts[1] = (struct qs_chart){
        "Over delivery size",
        NULL,
        {.title = "delivered, megapixels", .is_log = true, .is_reversed = true},
        {.title = "signal to noise", .is_log = true},
        lines[1],
        ISOS,
        rules,
        2};
}

static void
write_charts(enum qs_chart_format format, const struct qs_chart *what, int count,
             struct qs_chart_size size)
{
    FILE *file = tmpfile();
    struct qs_error err = {0};
    enum qs_status status;

    ck_assert_ptr_nonnull(file);
    status = qs_chart_write(file, format, what, count, size, &err);
    ck_assert_msg(status == QS_OK, "%s", err.text);
    rewind(file);
    file_size = fread(file_bytes, 1, FILE_MOST, file);
    file_bytes[file_size] = '\0';
    (void)fclose(file);
}

/* One text element of the SVG, its marks put back. */
struct text {
    double x, y, size;
    char anchor; /* s, m or e */
    bool is_bold;
    char text[800];
};

enum {
    TEXTS_MOST = 400
};

static struct text texts[TEXTS_MOST];
static int text_count;

/* Reads one character of XML text: a reference, or what stands there. */
static const char *
read_character(const char *p, char *out)
{
    static const struct {
        const char *escaped;
        char plain;
    } marks[] = {
        {"&amp;", '&'}, {"&lt;", '<'}, {"&gt;", '>'}, {"&quot;", '"'}, {"&#39;", '\''}};

    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
        if (strncmp(p, marks[i].escaped, strlen(marks[i].escaped)) == 0) {
            *out = marks[i].plain;
            return p + strlen(marks[i].escaped);
        }
    /* section 2.2: no control characters but tab and line ends */
    if (*p == '&' || ((unsigned char)*p < 0x20 && *p != '\n'))
        ck_abort_msg("bare '%.20s', code %d", p, *p);
    *out = *p;
    return p + 1;
}

static double
attribute(const char *tag, const char *end, const char *name)
{
    char key[32];
    const char *at;

    (void)snprintf(key, sizeof key, " %s=\"", name);
    at = strstr(tag, key);
    ck_assert_msg(at != NULL && at < end, "%s in %.60s", name, tag);
    return strtod(at + strlen(key), NULL);
}

static bool
tag_holds(const char *tag, const char *end, const char *what)
{
    const char *at = strstr(tag, what);

    return at != NULL && at < end;
}

static const char *
read_text(const char *tag, const char *end)
{
    struct text *text = &texts[text_count++];
    const char *p = end + 1;
    size_t used = 0;

    ck_assert_int_le(text_count, TEXTS_MOST);
    text->x = attribute(tag, end, "x");
    text->y = attribute(tag, end, "y");
    text->size = attribute(tag, end, "font-size");
    text->is_bold = tag_holds(tag, end, "bold");
    text->anchor = tag_holds(tag, end, "\"middle\"") ? 'm'
                   : tag_holds(tag, end, "\"end\"")  ? 'e'
                                                     : 's';
    while (*p != '<') {
        if (used == sizeof text->text - 1)
            ck_abort_msg("the text %.40s... is longer than any should be", text->text);
        p = read_character(p, &text->text[used++]);
    }
    text->text[used] = '\0';
    return p;
}

/* Checks a tag's attributes: name="value", with no "<" in them; returns its ">". */
static const char *
read_tag(const char *p)
{
    const char *tag = p;
    bool quoted = false;
    char unused;

    while (quoted || *p != '>') {
        if (*p == '\0' || *p == '<')
            ck_abort_msg("in the tag %.40s", tag);
        quoted = quoted != (*p == '"');
        p = read_character(p, &unused);
    }
    return p;
}

/* Reads the whole file: tags opened are closed, in order. */
static void
read_svg(void)
{
    char open[32][16];
    int depth = 0;
    const char *p = file_bytes;

    text_count = 0;
    ck_assert_int_eq(strncmp(p, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n", 39), 0);
    ck_assert_uint_eq(strlen(file_bytes), file_size);
    for (p = strchr(p, '\n'); *p != '\0';) {
        const char *tag = p + 1, *end;
        size_t name = strcspn(tag, " />\n");
        char unused;

        if (*p != '<') {
            p = read_character(p, &unused);
            continue;
        }
        end = read_tag(tag);
        p = end + 1;
        if (*tag == '/') {
            ck_assert_int_gt(depth, 0);
            depth--;
            ck_assert_int_eq(strncmp(tag + 1, open[depth], strlen(open[depth])), 0);
            ck_assert_int_eq(tag[1 + strlen(open[depth])], '>');
        } else if (end[-1] != '/') {
            ck_assert_int_lt(depth, 32);
            (void)snprintf(open[depth++], sizeof open[0], "%.*s", (int)name, tag);
            if (strcmp(open[depth - 1], "text") == 0)
                p = read_text(tag, end);
        }
    }
    ck_assert_int_eq(depth, 0);
}

static const struct text *
find_text(const char *what)
{
    for (int i = 0; i < text_count; i++)
        if (strcmp(texts[i].text, what) == 0)
            return &texts[i];
    ck_abort_msg("no text '%s'", what);
    return NULL;
}

/* The same, of an axis: "m" below the plot, "e" beside it. */
static const struct text *
find_tick(char anchor, const char *what)
{
    for (int i = 0; i < text_count; i++)
        if (texts[i].anchor == anchor && strcmp(texts[i].text, what) == 0)
            return &texts[i];
    ck_abort_msg("no tick '%s'", what);
    return NULL;
}

static bool
has_text(const char *what)
{
    for (int i = 0; i < text_count; i++)
        if (strcmp(texts[i].text, what) == 0)
            return true;
    return false;
}

static const struct qs_chart_size usual = {0};

START_TEST(svg_is_well_formed_and_its_text_is_text)
{
    static const char *const wanted[] = {NASTY,
                                         "Over delivery size",
                                         "tone, stops",
                                         "noise, %",
                                         "signal to noise",
                                         "SNR 20",
                                         "A4 sheet",
                                         "50",
                                         "20",
                                         "10",
                                         "ISO 100",
                                         "ISO 25600",
                                         ("\xE2\x88\x92"
                                          "4"),
                                         "delivered, megapixels",
                                         "At dusk, in the glass-blowing workshop."};

    fill_charts();
    write_charts(QS_CHART_SVG, charts, 2, usual);
    read_svg();
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++)
        (void)find_text(wanted[i]);
    ck_assert_ptr_null(strstr(file_bytes, "<b>"));
    ck_assert_ptr_nonnull(strstr(file_bytes, " role=\"img\""));
    ck_assert_ptr_nonnull(strstr(
        file_bytes,
        "<title>Lumora &lt;b&gt;&amp;&quot;&#39; K7 / Over delivery size</title>"));
    ck_assert_ptr_null(strstr(file_bytes, " id=\"")); /* several can share a page */
    ck_assert_ptr_null(strstr(file_bytes, "<use"));   /* no outlines of letters */
    ck_assert_ptr_nonnull(strstr(file_bytes, " width=\"720\" height=\"800\""));
}
END_TEST

/* Whatever a camera's name holds, the file stays sound. */
START_TEST(names_from_files_do_no_harm)
{
    static char name[5000];

    fill_charts();
    for (int seed = 1; seed < 40; seed++) {
        for (size_t i = 0; i < sizeof name - 1; i++)
            name[i] = (char)(1 + (i * i * 31 + i * 7 * (size_t)seed + i / 3) % 255);
        name[seed * 100] = '\0';
        charts[0].title = charts[0].note = charts[0].x.title = charts[0].y.title = name;
        lines[0][3].label = name;
        write_charts(QS_CHART_SVG, charts, 2, usual);
        read_svg();
    }
    /* no characters of XML, section 2.2 */
    charts[0].title = "\xEF\xBF\xBE|\xEF\xBF\xBF|\x01|\x7F";
    charts[0].note = charts[0].x.title = charts[0].y.title = NULL;
    write_charts(QS_CHART_SVG, charts, 1, usual);
    read_svg();
    (void)find_text("?|?|?|?");
    fill_charts();
}
END_TEST

static int
names_of_column(double x, const struct text **names)
{
    int count = 0;

    for (int i = 0; i < text_count; i++)
        if (texts[i].anchor == 's' && texts[i].x == x)
            names[count++] = &texts[i];
    return count;
}

/* Names stand in one column, so that none overlaps another if they are a line apart: a
   font's size is the height of its lines set solid (CSS 2.1, 15.7, from memory). */
static void
check_column(const char *one, int wanted, double height)
{
    const struct text *names[TEXTS_MOST];
    int count = names_of_column(find_text(one)->x, names);

    ck_assert_int_eq(count, wanted);
    for (int i = 0; i < count; i++) {
        ck_assert(names[i]->y > names[i]->size && names[i]->y < height);
        for (int k = 0; k < i; k++)
            ck_assert(fabs(names[i]->y - names[k]->y) >= names[i]->size);
    }
}

START_TEST(names_do_not_overlap)
{
    static struct qs_chart_point same[64][2];
    static struct qs_chart_line many[64];
    static char names[64][16];
    struct qs_chart crowd = {.title = "crowd", .lines = many, .line_count = 64};

    fill_charts();
    write_charts(QS_CHART_SVG, &charts[0], 1, usual);
    read_svg();
    check_column("ISO 100", ISOS, 400.0);
    write_charts(QS_CHART_SVG, &charts[1], 1, usual);
    read_svg();
    check_column("ISO 100", ISOS + 1, 400.0); /* and the rule's */

    for (int i = 0; i < 64; i++) {
        (void)snprintf(names[i], sizeof names[i], "line %d", i);
        same[i][0] = (struct qs_chart_point){0.0, i % 3, false, 0.0, 0.0};
        same[i][1] = (struct qs_chart_point){1.0, 7.0, false, 0.0, 0.0};
        many[i] = (struct qs_chart_line){names[i], same[i], 2, false, i, 64};
    }
    for (int width = QS_CHART_LEAST_PX; width <= 1000; width += 190) {
        write_charts(QS_CHART_SVG, &crowd, 1, (struct qs_chart_size){width, 240});
        read_svg();
        /* it grew taller than it was asked to be */
        check_column("line 0", 64, 64 * 11.5 * 2.0);
    }
}
END_TEST

/* Where in the file the first path drawn `width` thick has its places, or NULL; Cairo
   writes the width as a style or, from 1.18 on, as an attribute. */
static const char *
find_stroke(const char *width)
{
    char style[64], attribute_form[64];
    const char *found;

    (void)snprintf(style, sizeof style, "stroke-width:%s;", width);
    (void)snprintf(attribute_form, sizeof attribute_form, "stroke-width=\"%s\"", width);
    found = strstr(file_bytes, style);
    if (found == NULL)
        found = strstr(file_bytes, attribute_form);
    return found != NULL ? strstr(found, " d=\"M ") : NULL;
}

/* First x and y, last x and y of that path. */
static void
find_path(const char *width, double ends[4])
{
    const char *p = find_stroke(width), *end;

    ck_assert_ptr_nonnull(p);
    end = strchr(p + 4, '"');
    ck_assert_int_eq(sscanf(p, " d=\"M %lf %lf", &ends[0], &ends[1]), 2);
    while (*end != 'L')
        end--;
    ck_assert_int_eq(sscanf(end, "L %lf %lf", &ends[2], &ends[3]), 2);
}

/* Text is told to 0.01 px, Cairo's paths to 1/256. */
static const double READ_PX = 0.02;

START_TEST(lines_lie_where_their_values_are)
{
    struct qs_chart_point two[] = {{2.0, 5.0, false, 0.0, 0.0},
                                   {8.0, 10.0, false, 0.0, 0.0}};
    struct qs_chart_line line = {"one", two, 2, false, 0, 1};
    struct qs_chart chart = {.lines = &line,
                             .line_count = 1,
                             .x = {.has_range = true, .low = 0.0, .high = 10.0},
                             .y = {.has_range = true, .low = 0.0, .high = 20.0}};
    double ends[4], foot, top, half;

    write_charts(QS_CHART_SVG, &chart, 1, usual);
    read_svg();
    find_path("1.6", ends);
    ck_assert_double_eq_tol(ends[0], find_tick('m', "2")->x, READ_PX);
    ck_assert_double_eq_tol(ends[2], find_tick('m', "8")->x, READ_PX);
    /* labels hang half a capital below their ticks; the differences do not */
    foot = find_tick('e', "0")->y;
    top = find_tick('e', "20")->y;
    ck_assert_double_eq_tol(ends[1] - ends[3], (foot - top) * 5.0 / 20.0, 2 * READ_PX);

    /* an interval is a stroke at a marker, from its low to its high end */
    two[0].has_interval = line.has_markers = true;
    two[0].low = 3.0;
    two[0].high = 18.0;
    write_charts(QS_CHART_SVG, &chart, 1, usual);
    read_svg();
    find_path("0.9", ends);
    ck_assert_double_eq_tol(ends[0], find_tick('m', "2")->x, READ_PX);
    ck_assert_double_eq_tol(ends[2], ends[0], READ_PX);
    ck_assert_double_eq_tol(ends[1] - ends[3], (foot - top) * 15.0 / 20.0, 2 * READ_PX);

    chart.x.is_log = chart.y.is_log = chart.x.is_reversed = true;
    chart.x.low = chart.y.low = 1.0;
    chart.x.high = chart.y.high = 100.0;
    two[0] = (struct qs_chart_point){10.0, sqrt(10.0), false, 0.0, 0.0};
    two[1] = (struct qs_chart_point){sqrt(10.0), 10.0, false, 0.0, 0.0};
    write_charts(QS_CHART_SVG, &chart, 1, usual);
    read_svg();
    find_path("1.6", ends);
    foot = find_tick('m', "100")->x;
    top = find_tick('m', "1")->x;
    half = (foot + top) / 2.0;
    ck_assert_double_lt(foot, top); /* reversed */
    ck_assert_double_eq_tol(ends[0], half, 2 * READ_PX);
    ck_assert_double_eq_tol(ends[2], half + (top - half) / 2.0, 2 * READ_PX);
}
END_TEST

/* Segments of the line, 1.6 px thick; Cairo writes each as L. */
static int
segments(void)
{
    const char *p = find_stroke("1.6");
    int count = 0;

    if (p == NULL)
        return 0;
    for (p += 4; *p != '"'; p++)
        count += *p == 'L';
    return count;
}

START_TEST(what_has_no_place_is_a_gap)
{
    struct qs_chart_point some[] = {
        {1.0, 1.0, false, 0, 0}, {2.0, 2.0, false, 0, 0},   {3.0, NAN, false, 0, 0},
        {4.0, 3.0, false, 0, 0}, {5.0, 4.0, false, 0, 0},   {INFINITY, 1, false, 0, 0},
        {6.0, 2.0, false, 0, 0}, {NAN, NAN, true, NAN, NAN}};
    struct qs_chart_line line = {"one", some, 8, false, 0, 1};
    struct qs_chart chart = {.lines = &line, .line_count = 1};

    write_charts(QS_CHART_SVG, &chart, 1, usual);
    read_svg();
    ck_assert_int_eq(segments(), 2);
    chart.y.is_log = true;
    some[1].y = -2.0; /* so the first one stands alone */
    write_charts(QS_CHART_SVG, &chart, 1, usual);
    read_svg();
    ck_assert_int_eq(segments(), 1);

    /* told ranges cut what is beyond them */
    chart.y = (struct qs_chart_axis){.has_range = true, .low = 0.0, .high = 1.5};
    some[1].y = 2.0;
    write_charts(QS_CHART_SVG, &chart, 1, usual);
    read_svg();
    ck_assert_int_eq(segments(), 1);
}
END_TEST

START_TEST(an_empty_chart_says_so)
{
    struct qs_chart_point bad[] = {{NAN, 1.0, true, 0.5, 2.0},
                                   {1.0, -1.0, false, 0, 0}};
    struct qs_chart_line line = {"no line", bad, 2, true, 0, 1};
    const struct qs_chart empty[] = {{.title = "nothing"},
                                     {.title = "no points",
                                      .lines = &line,
                                      .line_count = 1,
                                      .y = {.is_log = true},
                                      .rules = rules,
                                      .rule_count = 2}};

    for (int i = 0; i < 2; i++) {
        write_charts(QS_CHART_SVG, &empty[i], 1, usual);
        read_svg();
        ck_assert(has_text("nothing to draw"));
        ck_assert(!has_text("no line"));
        for (int format = 0; format < (int)QS_CHART_FORMATS; format++)
            write_charts((enum qs_chart_format)format, &empty[i], 1, usual);
    }
}
END_TEST

/* Values that no axis of common sense holds, in every format. */
START_TEST(odd_values_are_drawn_or_left_out)
{
    static const double odd[] = {0.0,
                                 -0.0,
                                 1e-320,
                                 1e-290,
                                 -1e290,
                                 1e290,
                                 1.7e308,
                                 NAN,
                                 INFINITY,
                                 1.0,
                                 1.0000000000000002};
    enum {
        ODD = sizeof odd / sizeof odd[0]
    };
    struct qs_chart_point some[3];
    const struct qs_chart_line line = {"odd", some, 3, false, 0, 1};
    struct qs_chart chart = {.lines = &line, .line_count = 1};

    for (int a = 0; a < ODD; a++)
        for (int b = 0; b < ODD; b++)
            for (int kind = 0; kind < 4; kind++) {
                some[0] = (struct qs_chart_point){odd[a], odd[b], true, odd[b], odd[a]};
                some[1] = (struct qs_chart_point){odd[b], odd[a], true, odd[a], odd[b]};
                some[2] = (struct qs_chart_point){1.0, 2.0, true, odd[a], odd[b]};
                chart.x.is_log = kind % 2 == 1;
                chart.y.is_log = kind / 2 == 1;
                write_charts(QS_CHART_SVG, &chart, 1, usual);
                read_svg();
                ck_assert_msg(strstr(file_bytes, "nan") == NULL, "%g %g %d", odd[a],
                              odd[b], kind);
                ck_assert_msg(strstr(file_bytes, "inf") == NULL, "%g %g %d", odd[a],
                              odd[b], kind);
            }
}
END_TEST

START_TEST(png_is_read_by_libpng)
{
    static unsigned char pixels[2 * 800][2 * 720][3];
    png_image image = {.version = PNG_IMAGE_VERSION};
    long dark = 0;

    fill_charts();
    write_charts(QS_CHART_PNG, charts, 2, usual);
    ck_assert_int_ne(png_image_begin_read_from_memory(&image, file_bytes, file_size),
                     0);
    ck_assert_uint_eq(image.width, 2 * 720);
    ck_assert_uint_eq(image.height, 2 * 800);
    image.format = PNG_FORMAT_RGB;
    ck_assert_int_ne(png_image_finish_read(&image, NULL, pixels, 0, NULL), 0);
    for (int y = 0; y < 1600; y++)
        for (int x = 0; x < 1440; x++) {
            bool rim = y < 16 || y >= 1584 || x < 16 || x >= 1424;

            dark += pixels[y][x][1] < 128;
            if (rim && pixels[y][x][1] != 255)
                ck_abort_msg("something leaves the page at %d, %d", x, y);
        }
    ck_assert_int_gt(dark, 10000);
    ck_assert_int_lt(dark, 1600 * 1440 / 10);
}
END_TEST

static bool
pdf_text(char *out, size_t size)
{
    char path[] = "/tmp/quietsize-chart-XXXXXX", command[128];
    int place = mkstemp(path);
    FILE *file = fdopen(place, "wb"), *pipe;

    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(file_bytes, 1, file_size, file), file_size);
    ck_assert_int_eq(fclose(file), 0);
    (void)snprintf(command, sizeof command, "pdftotext %s - 2>/dev/null", path);
    pipe = popen(command, "r");
    ck_assert_ptr_nonnull(pipe);
    out[fread(out, 1, size - 1, pipe)] = '\0';
    place = pclose(pipe);
    (void)unlink(path);
    return place == 0;
}

static const char *
find_bytes(const char *what)
{
    const size_t length = strlen(what);

    for (size_t i = 0; i + length <= file_size; i++)
        if (memcmp(file_bytes + i, what, length) == 0)
            return file_bytes + i;
    return NULL;
}

START_TEST(pdf_text_can_be_selected)
{
    static char text[20000];

    fill_charts();
    write_charts(QS_CHART_PDF, charts, 2, usual);
    ck_assert_int_eq(strncmp(file_bytes, "%PDF-", 5), 0);
    ck_assert_ptr_null(find_bytes("CreationDate"));
    /* 720 x 800 px at 96 to the inch, in points of 72 */
    if (find_bytes("/MediaBox") != NULL) /* later versions of Cairo pack it */
        ck_assert_ptr_nonnull(find_bytes("/MediaBox [ 0 0 540 600 ]"));
    if (!pdf_text(text, sizeof text))
        return; /* not installed */
    ck_assert_ptr_nonnull(strstr(text, NASTY));
    ck_assert_ptr_nonnull(strstr(text, "SNR 20"));
    ck_assert_ptr_nonnull(strstr(text, "delivered, megapixels"));
    for (int k = 0; k < ISOS; k++)
        ck_assert_ptr_nonnull(strstr(text, labels[k]));
}
END_TEST

START_TEST(the_same_input_gives_the_same_bytes)
{
    static char first[FILE_MOST];

    fill_charts();
    for (int format = 0; format < (int)QS_CHART_FORMATS; format++) {
        size_t size;

        write_charts((enum qs_chart_format)format, charts, 2, usual);
        size = file_size;
        memcpy(first, file_bytes, size);
        write_charts((enum qs_chart_format)format, charts, 2, usual);
        ck_assert_uint_eq(file_size, size);
        ck_assert_mem_eq(first, file_bytes, size);
    }
}
END_TEST

START_TEST(a_stream_that_takes_nothing_is_told)
{
    fill_charts();
    for (int format = 0; format < (int)QS_CHART_FORMATS; format++) {
        FILE *full = fopen("/dev/full", "wb"), *closed = fopen("/dev/null", "rb");
        struct qs_error err = {0};

        ck_assert_ptr_nonnull(closed);
        ck_assert(qs_chart_write(closed, (enum qs_chart_format)format, charts, 2, usual,
                                 &err) == QS_ERR_WRITE);
        ck_assert_int_gt((int)strlen(err.text), 10);
        (void)fclose(closed);
        if (full == NULL)
            continue; /* Linux alone has it */
        qs_error_clear(&err);
        ck_assert(qs_chart_write(full, (enum qs_chart_format)format, charts, 2, usual,
                                 &err) == QS_ERR_WRITE);
        ck_assert_ptr_nonnull(strstr(err.text, "disk is full"));
        (void)fclose(full);
    }
}
END_TEST

START_TEST(what_is_too_much_is_told)
{
    static const struct {
        double width, height;
        int lines, rules, points, count;
    } table[] = {
        {239, 400, 1, 0, 2, 1},  {2001, 400, 1, 0, 2, 1}, {720, 6001, 1, 0, 2, 1},
        {720, NAN, 1, 0, 2, 1},  {NAN, 400, 1, 0, 2, 1},  {-720, 400, 1, 0, 2, 1},
        {720, 400, 65, 0, 2, 1}, {720, 400, 1, 17, 2, 1}, {720, 400, 1, 0, 100001, 1},
        {720, 3001, 1, 0, 2, 2},
    };
    FILE *file = tmpfile();

    fill_charts();
    ck_assert_ptr_nonnull(file);
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct qs_chart_line line = lines[0][0];
        struct qs_chart two[2] = {{.lines = &line,
                                   .line_count = table[i].lines,
                                   .rules = rules,
                                   .rule_count = table[i].rules},
                                  {.title = "empty"}};
        struct qs_error err = {0};

        line.count = table[i].points;
        ck_assert_msg(
            qs_chart_write(file, QS_CHART_PNG, two, table[i].count,
                           (struct qs_chart_size){table[i].width, table[i].height},
                           &err) == QS_ERR_RANGE,
            "row %zu", i);
        ck_assert_int_gt((int)strlen(err.text), 20);
    }
    ck_assert_int_eq((int)ftell(file), 0);
    (void)fclose(file);
}
END_TEST

/* SVG alone allocates with ours; Cairo's own memory is out of reach. */
START_TEST(short_memory_is_told)
{
    FILE *file = tmpfile();
    struct qs_error err = {0};
    long last;

    fill_charts();
    ck_assert_ptr_nonnull(file);
    qs_alloc_fail_at(-1);
    ck_assert(qs_chart_write(file, QS_CHART_SVG, charts, 2, usual, &err) == QS_OK);
    last = qs_alloc_count();
    ck_assert_int_gt((int)last, 2);
    rewind(file);
    for (long n = 0; n < last; n++) {
        qs_error_clear(&err);
        qs_alloc_fail_at(n);
        ck_assert(qs_chart_write(file, QS_CHART_SVG, charts, 2, usual, &err) ==
                  QS_ERR_MEMORY);
    }
    qs_alloc_fail_at(-1);
    ck_assert_int_eq((int)ftell(file), 0);
    (void)fclose(file);
}
END_TEST

START_TEST(formats_by_their_ending)
{
    static const struct {
        const char *path;
        int format;
    } table[] = {
        {"a.svg", QS_CHART_SVG},
        {"folder.pdf/a.PNG", QS_CHART_PNG},
        {"x.Pdf", QS_CHART_PDF},
        {"a.svgz", -1},
        {"svg", -1},
        {".svg", -1},
        {"", -1},
        {"a.svg/b", -1},
        {"a.png.jpg", -1},
    };

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        ck_assert_int_eq(qs_chart_format_of(table[i].path), table[i].format);
}
END_TEST

/* FORMULA: sRGB's light (IEC 61966-2-1), its luminance, and CIE lightness L*. */
static double
luminance(struct qs_chart_ink ink)
{
    const double shares[] = {0.2126, 0.7152, 0.0722};
    const double values[] = {ink.red, ink.green, ink.blue};
    double sum = 0.0;

    for (int i = 0; i < 3; i++)
        sum +=
            shares[i] * (values[i] <= 0.04045 ? values[i] / 12.92
                                              : pow((values[i] + 0.055) / 1.055, 2.4));
    return sum;
}

static double
lightness(struct qs_chart_ink ink)
{
    return 116.0 * cbrt(luminance(ink)) - 16.0; /* all are above 0.9 % */
}

/* Contrast against white: WCAG 2.1, criterion 1.4.11 asks 3 to 1 of what is drawn, and
   1.4.3 asks 4.5 to 1 of text (from memory). */
static double
contrast(struct qs_chart_ink ink)
{
    return 1.05 / (luminance(ink) + 0.05);
}

START_TEST(families_go_from_light_to_dark)
{
    ck_assert_double_ge(contrast(qs_chart_text_ink), 4.5);
    ck_assert_double_ge(contrast(qs_chart_soft_ink), 4.5);
    ck_assert_double_ge(contrast(qs_chart_rule_ink), 4.5);
    for (int ranks = 2; ranks <= 64; ranks++) {
        double mean = (lightness(qs_chart_look_of(0, ranks).ink) -
                       lightness(qs_chart_look_of(ranks - 1, ranks).ink)) /
                      (ranks - 1);

        for (int rank = 0; rank < ranks; rank++) {
            struct qs_chart_look look = qs_chart_look_of(rank, ranks), next;
            double step;

            ck_assert_double_ge(contrast(look.ink), 3.0);
            if (rank + 1 == ranks)
                break;
            next = qs_chart_look_of(rank + 1, ranks);
            step = lightness(look.ink) - lightness(next.ink);
            /* equal to a third; neighbours differ in dash and marker too */
            ck_assert(step > mean * 2.0 / 3.0 && step < mean * 4.0 / 3.0);
            ck_assert(look.dashes != next.dashes || look.dash_px[0] != next.dash_px[0]);
            ck_assert(look.marker != next.marker);
        }
    }
    ck_assert_int_eq(qs_chart_look_of(0, 1).dashes, 0);
    ck_assert_int_eq(qs_chart_look_of(0, 0).dashes, 0);
}
END_TEST

QS_TEST_MAIN("chart", svg_is_well_formed_and_its_text_is_text,
             names_from_files_do_no_harm, names_do_not_overlap,
             lines_lie_where_their_values_are, what_has_no_place_is_a_gap,
             an_empty_chart_says_so, odd_values_are_drawn_or_left_out,
             png_is_read_by_libpng, pdf_text_can_be_selected,
             the_same_input_gives_the_same_bytes, a_stream_that_takes_nothing_is_told,
             what_is_too_much_is_told, short_memory_is_told, formats_by_their_ending,
             families_go_from_light_to_dark)
