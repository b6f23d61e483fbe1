/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_report.c - text, CSV and JSON of frames that were made up
 *
 * The keys are typed from the promise the project makes its users (README and
 * docs), not taken from the field table.  Figures are made up and must come back.
 */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "check_main.h"
#include "report/csv.h"
#include "report/fields.h"
#include "report/filters_text.h"
#include "report/json.h"
#include "base/plain_text.h"
#include "report/text.h"
#include "report/wrap.h"

enum {
    MOST_PATCHES = 31,
    MOST_DELIVERIES = 9,
    MOST_FALLS = MOST_PATCHES * MOST_DELIVERIES * QS_FILTERS,
    OUTPUT_BYTES = 4 << 20
};

/* A made-up frame and the memory behind it. */
struct made_up {
    struct qs_frame frame;
    struct qs_patch patches[MOST_PATCHES];
    struct qs_delivery deliveries[MOST_DELIVERIES];
    struct qs_fall_row falls[MOST_FALLS];
    struct qs_warning warnings[4];
};

static struct made_up made;
static char output[OUTPUT_BYTES];

static struct qs_noise
noise_of(int patch, int channel)
{
    double sd = 0.00317 * (1.0 + channel / 7.0);

    return (struct qs_noise){.mean = 0.0091 * (1 + patch) + channel / 1117.0,
                             .sd = sd,
                             .sd_low = sd * 0.971,
                             .sd_high = sd * 1.031,
                             .freedom = 2117.3,
                             .row_sd = sd * 0.113,
                             .column_sd = sd * 0.071,
                             .has_grain = true,
                             .grain_px = 1.73};
}

static void
make_falls(void)
{
    struct qs_frame *frame = &made.frame;
    struct qs_fall_row *row = made.falls;

    frame->falls = made.falls;
    frame->fall_count = 0;
    for (int d = 0; d < frame->delivery_count; d++)
        for (int f = 0; f < frame->filter_count; f++)
            for (int p = 0; p < frame->patch_count; p++, row++, frame->fall_count++) {
                *row = (struct qs_fall_row){.patch = p,
                                            .delivery = d,
                                            .filter = frame->filters[f],
                                            .contrast_kept = 0.917,
                                            .alias_share = 0.0371};
                for (int c = (int)frame->first; c < QS_CHANNELS; c++)
                    row->channel[c] = (struct qs_fall_value){
                        .has_predicted = true,
                        .sd_predicted = 0.00213,
                        .has_measured = p % 3 != 2,
                        .sd_measured = 0.00217,
                        .sd_low = 0.00207,
                        .sd_high = 0.00227,
                        .has_fall = true,
                        .fall_db = 2.8,
                        .worth_stops = 0.93,
                        .worth_se_stops = 0.04 * sqrt(frame->patch_count)};
            }
}

/* A frame with `patches` patches; deliveries and filters as asked. */
static struct qs_frame *
make(int channels, int patches, int deliveries, int filters)
{
    struct qs_frame *frame = &made.frame;

    memset(&made, 0, sizeof made);
    frame->width = 7952;
    frame->height = 5304;
    frame->channels = channels;
    frame->bits = 16;
    frame->first = qs_channel_first(channels);
    frame->shot = (struct qs_shot){.iso = 6400,
                                   .exposure_s = 1.0 / 125,
                                   .f_number = 2.8,
                                   .orientation = 1,
                                   .camera = "Halden Q48"};
    (void)strcpy(frame->encoding.name, "sRGB");
    frame->encoding.from = QS_FROM_PROFILE;
    frame->crop = (struct qs_box){0, 0, 7952, 5304};
    frame->patches = made.patches;
    frame->patch_count = patches;
    for (int p = 0; p < patches; p++) {
        made.patches[p].box = (struct qs_box){117 * p, 1201, 331, 257};
        made.patches[p].found = p % 2 == 0;
        for (int c = (int)frame->first; c < QS_CHANNELS; c++)
            made.patches[p].channel[c] = (struct qs_patch_channel){
                .noise = noise_of(p, c), .clipped_low = 0.0013, .clipped_high = 0.0007};
    }
    frame->deliveries = made.deliveries;
    frame->delivery_count = deliveries;
    for (int d = 0; d < deliveries; d++) {
        double share = qs_size_ladder_share(d);

        made.deliveries[d].width = (int)(7952 * share);
        made.deliveries[d].height = (int)(5304 * share);
        made.deliveries[d].reduction = d == 0 ? 1.0 : 1.0 / share;
        if (d == 0)
            (void)strcpy(made.deliveries[d].text, "native");
        else
            (void)snprintf(made.deliveries[d].text, sizeof made.deliveries[d].text,
                           "%.3g%%", 100.0 * share);
    }
    frame->filter_count = filters;
    for (int f = 0; f < filters; f++)
        frame->filters[f] = (enum qs_filter)(QS_FILTERS - 1 - f);
    make_falls();
    frame->warnings = made.warnings;
    return frame;
}

/* The one size that the sentence of the tests is about: 20 MP of 40. */
static struct qs_frame *
make_for_sentence(void)
{
    struct qs_frame *frame = make(3, 1, 1, 1);

    (void)strcpy(made.deliveries[0].text, "20MP");
    made.deliveries[0].reduction = sqrt(2.0);
    made.deliveries[0].width = 5623;
    made.deliveries[0].height = 3751;
    return frame;
}

static void
warn(enum qs_warning_code code, int patch, const char *text)
{
    struct qs_warning *warning = &made.warnings[made.frame.warning_count++];

    warning->code = code;
    warning->patch = patch;
    (void)snprintf(warning->text, sizeof warning->text, "%s", text);
}

static FILE *
open_output(void)
{
    FILE *out = tmpfile();

    ck_assert_ptr_nonnull(out);
    return out;
}

/* What was written to `out`, which is closed. */
static const char *
written(FILE *out)
{
    size_t count;

    rewind(out);
    count = fread(output, 1, sizeof output - 1, out);
    output[count] = '\0';
    ck_assert_int_eq(fclose(out), 0);
    return output;
}

static json_t *
json_of(const char *path, const struct qs_frame *frame)
{
    FILE *out = open_output();
    struct qs_json json;
    struct qs_error err = {0};
    json_t *parsed;

    ck_assert_int_eq(qs_json_start(&json, out, &err), QS_OK);
    if (frame != NULL)
        ck_assert_int_eq(qs_json_frame(&json, path, frame, &err), QS_OK);
    else
        ck_assert_int_eq(qs_json_failed(&json, path, "It is \"bad\".", &err), QS_OK);
    ck_assert_int_eq(qs_json_end(&json, &err), QS_OK);
    parsed = json_loads(written(out), JSON_REJECT_DUPLICATES, NULL);
    ck_assert_ptr_nonnull(parsed);
    return parsed;
}

/* The value at a path such as "frames.0.patches.1.x"; it must be there. */
static json_t *
at(json_t *value, const char *path)
{
    char copy[200], *rest = copy, *key;

    (void)snprintf(copy, sizeof copy, "%s", path);
    while ((key = strtok_r(rest, ".", &rest)) != NULL) {
        value = json_is_array(value) ? json_array_get(value, (size_t)atoi(key))
                                     : json_object_get(value, key);
        ck_assert_msg(value != NULL, "no %s in %s", key, path);
    }
    return value;
}

static double
number_at(json_t *value, const char *path)
{
    json_t *found = at(value, path);

    ck_assert_msg(json_is_number(found), "%s is no number", path);
    return json_number_value(found);
}

static const char *
string_at(json_t *value, const char *path)
{
    json_t *found = at(value, path);

    ck_assert_msg(json_is_string(found), "%s is no text", path);
    return json_string_value(found);
}

/* Keys of format 1, typed from its description. */
static const char *const promised[] = {
    "tool",
    "version",
    "format",
    "errors",
    "frames.0.file",
    "frames.0.width",
    "frames.0.height",
    "frames.0.channels",
    "frames.0.bits",
    "frames.0.exif.iso",
    "frames.0.exif.exposure_s",
    "frames.0.exif.f_number",
    "frames.0.exif.camera",
    "frames.0.exif.orientation",
    "frames.0.exif.exposure_bias_stops",
    "frames.0.encoding.name",
    "frames.0.encoding.from",
    "frames.0.patches.0.x",
    "frames.0.patches.0.y",
    "frames.0.patches.0.width",
    "frames.0.patches.0.height",
    "frames.0.patches.0.chosen",
    "frames.0.falls.0.patch",
    "frames.0.falls.0.width",
    "frames.0.falls.0.height",
    "frames.0.falls.0.megapixels",
    "frames.0.falls.0.filter",
    "frames.0.falls.0.contrast_kept",
    "frames.0.falls.0.alias_share",
    "frames.0.warnings.0.code",
    "frames.0.warnings.0.text",
    "frames.0.warnings.0.patch",
};

static const char *const promised_of_patch[] = {
    "mean",   "sd",     "sd_low",    "sd_high", "snr",
    "snr_db", "row_sd", "column_sd", "clipped", "grain_px"};

static const char *const promised_of_fall[] = {"sd_predicted", "sd_measured", "sd_low",
                                               "sd_high",      "snr_db",      "fall_db",
                                               "worth_stops"};

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

START_TEST(json_has_the_promised_keys)
{
    json_t *json;
    char path[200];

    (void)make(3, 2, 2, 2);
    warn(QS_WARN_BANDING, 1, "Stripes.");
    json = json_of("a.tif", &made.frame);
    for (size_t i = 0; i < COUNT(promised); i++)
        (void)at(json, promised[i]);
    for (int c = 0; c < QS_CHANNELS; c++) {
        const char *channel = qs_channel_key((enum qs_channel)c);

        for (size_t i = 0; i < COUNT(promised_of_patch); i++) {
            (void)snprintf(path, sizeof path, "frames.0.patches.1.channels.%s.%s",
                           channel, promised_of_patch[i]);
            (void)at(json, path);
        }
        for (size_t i = 0; i < COUNT(promised_of_fall); i++) {
            (void)snprintf(path, sizeof path, "frames.0.falls.7.channels.%s.%s",
                           channel, promised_of_fall[i]);
            (void)at(json, path);
        }
    }
    ck_assert_str_eq(string_at(json, "tool"), "quietsize");
    ck_assert_str_eq(string_at(json, "version"), QS_VERSION);
    ck_assert_int_eq((int)number_at(json, "format"), 1);
    ck_assert_str_eq(string_at(json, "frames.0.warnings.0.code"), "banding");
    json_decref(json);
}
END_TEST

/* Every figure to the last bit: 17 digits bring a double back (IEEE 754). */
START_TEST(json_brings_figures_back)
{
    const struct qs_frame *frame = make(3, 2, 2, 2);
    const struct qs_noise *noise = &frame->patches[1].channel[QS_B].noise;
    json_t *json = json_of("a.tif", frame);
    json_t *b = at(json, "frames.0.patches.1.channels.b");
    json_t *fall = at(json, "frames.0.falls.6");

    ck_assert(number_at(b, "mean") == noise->mean);
    ck_assert(number_at(b, "sd") == noise->sd);
    ck_assert(number_at(b, "sd_low") == noise->sd_low);
    ck_assert(number_at(b, "sd_high") == noise->sd_high);
    ck_assert(number_at(b, "row_sd") == noise->row_sd);
    ck_assert(number_at(b, "column_sd") == noise->column_sd);
    ck_assert(number_at(b, "grain_px") == noise->grain_px);
    ck_assert(number_at(b, "snr") == noise->mean / noise->sd);
    ck_assert_double_eq_tol(number_at(b, "snr_db"), 20 * log10(noise->mean / noise->sd),
                            1e-12);
    ck_assert_double_eq_tol(number_at(b, "clipped"), 0.0020, 1e-15);
    ck_assert_int_eq((int)number_at(fall, "patch"), 0);
    ck_assert_int_eq((int)number_at(fall, "width"), frame->deliveries[1].width);
    ck_assert_str_eq(string_at(fall, "filter"), "lanczos2");
    ck_assert(number_at(fall, "channels.g.sd_measured") == 0.00217);
    ck_assert(number_at(fall, "channels.r.worth_stops") == 0.93);
    ck_assert(number_at(json, "frames.0.exif.exposure_s") == 1.0 / 125);
    ck_assert(json_is_integer(at(json, "frames.0.exif.iso")));
    ck_assert_str_eq(string_at(json, "frames.0.patches.1.chosen"), "given");
    ck_assert_str_eq(string_at(json, "frames.0.encoding.from"), "profile");
    json_decref(json);
}
END_TEST

START_TEST(json_says_null_for_what_is_unknown)
{
    struct qs_frame *frame = make(1, 3, 1, 1);
    struct qs_noise *flat = &made.patches[0].channel[QS_Y].noise;
    json_t *json, *value;

    frame->shot = (struct qs_shot){.orientation = 1};
    flat->sd = flat->sd_low = flat->sd_high = 0.0;
    flat->has_grain = false;
    flat->grain_px = NAN;
    flat->row_sd = INFINITY;
    made.patches[1].channel[QS_Y].noise.mean = -0.001;
    json = json_of("a.tif", frame);
    ck_assert(json_is_null(at(json, "frames.0.exif.iso")));
    ck_assert(json_is_null(at(json, "frames.0.exif.exposure_s")));
    ck_assert(json_is_null(at(json, "frames.0.exif.f_number")));
    ck_assert(json_is_null(at(json, "frames.0.exif.camera")));
    ck_assert(json_is_null(at(json, "frames.0.exif.exposure_bias_stops")));
    value = at(json, "frames.0.patches.0.channels");
    ck_assert_uint_eq(json_object_size(value), 1);
    ck_assert(number_at(value, "y.sd") == 0.0);
    ck_assert(json_is_null(at(value, "y.snr")));
    ck_assert(json_is_null(at(value, "y.snr_db")));
    ck_assert(json_is_null(at(value, "y.grain_px")));
    ck_assert(json_is_null(at(value, "y.row_sd")));
    ck_assert(number_at(json, "frames.0.patches.1.channels.y.snr") < 0.0);
    ck_assert(json_is_null(at(json, "frames.0.patches.1.channels.y.snr_db")));
    ck_assert(json_is_null(at(json, "frames.0.falls.2.channels.y.sd_measured")));
    json_decref(json);
}
END_TEST

START_TEST(json_sums_up_the_patches)
{
    const struct qs_frame *frame = make(3, 4, 3, 2);
    json_t *json = json_of("a.tif", frame);
    json_t *summary = at(json, "frames.0.summary");
    struct qs_frame_worth worth = qs_frame_worth(frame, 2, 1, QS_G);

    ck_assert_uint_eq(json_array_size(summary), 6);
    ck_assert(number_at(summary, "5.channels.g.worth_stops") == worth.worth_stops);
    ck_assert(number_at(summary, "5.channels.g.worth_se_stops") == worth.se_stops);
    ck_assert_double_eq_tol(number_at(summary, "5.ideal_stops"), 1.0, 1e-12);
    json_decref(json);
}
END_TEST

START_TEST(json_names_frames_that_failed)
{
    json_t *json = json_of("odd\xFF"
                           "name\n.tif",
                           NULL);

    ck_assert_uint_eq(json_array_size(at(json, "frames")), 0);
    ck_assert_str_eq(string_at(json, "errors.0.file"), "odd\xEF\xBF\xBD"
                                                       "name\n.tif");
    ck_assert_str_eq(string_at(json, "errors.0.text"), "It is \"bad\".");
    json_decref(json);
}
END_TEST

/* One field of RFC 4180 from *text, which is moved to what ended it. */
static void
csv_field(const char **text, char *field, size_t size)
{
    size_t used = 0;
    bool quoted = **text == '"';
    const char *p = *text + (quoted ? 1 : 0);

    for (; *p != '\0'; p++) {
        if (quoted && *p == '"' && *++p != '"')
            break;
        if (!quoted && (*p == ',' || *p == '\r'))
            break;
        ck_assert_uint_lt(used + 1, size);
        field[used++] = *p;
    }
    field[used] = '\0';
    *text = p;
}

/* Reads a line into fields; returns their number, 0 at the end. */
static int
csv_line(const char **text, char fields[64][256])
{
    int count = 0;

    if (**text == '\0')
        return 0;
    for (;;) {
        ck_assert_int_lt(count, 64);
        csv_field(text, fields[count++], 256);
        if (**text != ',')
            break;
        (*text)++;
    }
    ck_assert_int_eq(strncmp(*text, "\r\n", 2), 0);
    *text += 2;
    return count;
}

static int
csv_column(char keys[64][256], int count, const char *key)
{
    for (int i = 0; i < count; i++)
        if (strcmp(keys[i], key) == 0)
            return i;
    ck_abort_msg("no column %s", key);
    return -1;
}

static const char *
csv_of(const char *path, const struct qs_frame *frame)
{
    FILE *out = open_output();
    struct qs_error err = {0};

    ck_assert_int_eq(qs_csv_start(out, &err), QS_OK);
    ck_assert_int_eq(qs_csv_frame(out, path, frame, &err), QS_OK);
    return written(out);
}

START_TEST(csv_rows_are_complete)
{
    static char keys[64][256], fields[64][256];
    const char *path = "odd, \"name\"\r\n.tif";
    const struct qs_frame *frame = make(3, 3, 2, 2);
    const char *text = csv_of(path, frame);
    int columns = csv_line(&text, keys), rows = 0;

    for (int count; (count = csv_line(&text, fields)) > 0; rows++) {
        ck_assert_int_eq(count, columns);
        ck_assert_str_eq(fields[0], path);
        ck_assert_str_eq(fields[csv_column(keys, columns, "f_number")], "2.8");
        ck_assert(atof(fields[csv_column(keys, columns, "fall_worth_stops")]) == 0.93);
        ck_assert(atof(fields[csv_column(keys, columns, "sd")]) >= 0.00317);
    }
    ck_assert_int_eq(rows, 3 * QS_CHANNELS * 2 * 2);
    for (int i = 0; i < columns; i++)
        for (int j = 0; j < i; j++)
            ck_assert_str_ne(keys[i], keys[j]);
}
END_TEST

START_TEST(csv_leaves_unknown_figures_empty)
{
    static char keys[64][256], fields[64][256];
    struct qs_frame *frame = make(1, 1, 0, 1);
    const char *text;
    int columns;

    frame->shot = (struct qs_shot){.orientation = 1};
    text = csv_of("-a.tif", frame);
    columns = csv_line(&text, keys);
    ck_assert_int_eq(csv_line(&text, fields), columns);
    ck_assert_str_eq(fields[csv_column(keys, columns, "iso")], "");
    ck_assert_str_eq(fields[csv_column(keys, columns, "camera")], "");
    ck_assert_str_eq(fields[csv_column(keys, columns, "size")], "");
    ck_assert_str_eq(fields[csv_column(keys, columns, "fall_sd_measured")], "");
    ck_assert_str_eq(fields[csv_column(keys, columns, "channel")], "y");
    ck_assert_int_eq(csv_line(&text, fields), 0);
}
END_TEST

static const char *
text_of(const char *path, const struct qs_frame *frame, int times, bool all_patches)
{
    FILE *out = open_output();
    struct qs_error err = {0};
    struct qs_text text;

    qs_text_start(&text, out, (struct qs_text_options){.all_patches = all_patches});
    for (int i = 0; i < times; i++)
        ck_assert_int_eq(qs_text_frame(&text, path, frame, &err), QS_OK);
    ck_assert_int_eq(qs_text_end(&text, &err), QS_OK);
    return written(out);
}

/* No line wider than 80 columns, no blanks at its end, nothing a terminal acts on. */
static void
check_lines(const char *text)
{
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        char line[1000];

        ck_assert_uint_lt(length, sizeof line);
        (void)snprintf(line, sizeof line, "%.*s", (int)length, text);
        ck_assert_msg(qs_text_columns(line) <= 80, "too wide: %s", line);
        ck_assert_msg(length == 0 || line[length - 1] != ' ', "blank end: %s", line);
        ck_assert_msg(strpbrk(line, "\t\r\033\x7F") == NULL, "control: %s", line);
        ck_assert_int_eq(text[length], '\n');
        text += length + 1;
    }
}

/* The text with line breaks and indents taken out, so that sentences can be sought. */
static const char *
flowing(const char *text)
{
    static char flow[OUTPUT_BYTES];
    size_t used = 0;

    for (; *text != '\0'; text++) {
        bool blank = *text == ' ' || *text == '\n';

        if (!blank)
            flow[used++] = *text;
        else if (used > 0 && flow[used - 1] != ' ')
            flow[used++] = ' ';
    }
    flow[used] = '\0';
    return flow;
}

static void
expect(const char *text, const char *sentence)
{
    ck_assert_msg(strstr(flowing(text), sentence) != NULL, "\"%s\" is not in:\n%s",
                  sentence, text);
}

START_TEST(text_answers_first)
{
    const struct qs_frame *frame = make_for_sentence();
    const char *text = text_of("a.tif", frame, 1, false);

    expect(text,
           "Delivered at 20 MP with lanczos3, this ISO 6400 frame is 0.9 \xC2\xB1 "
           "0.1 stop quieter than at full size; plain averaging of independent "
           "noise would give 1.0.");
    expect(text, "7952 x 5304 pixels (42.2 MP), 16-bit RGB, ISO 6400, 1/125 s, f/2.8, "
                 "Halden Q48, sRGB (embedded profile)");
    check_lines(text);
}
END_TEST

static void
set_worth(double stops, double se)
{
    for (int i = 0; i < made.frame.fall_count; i++) {
        made.falls[i].channel[QS_Y].worth_stops = stops;
        made.falls[i].channel[QS_Y].worth_se_stops = se;
    }
}

START_TEST(text_says_what_is_sure)
{
    const struct qs_frame *frame = make_for_sentence();

    set_worth(1.417, 0.011);
    expect(text_of("a.tif", frame, 1, false),
           "is 1.42 \xC2\xB1 0.02 stops quieter than at full size; plain averaging of "
           "independent noise would give 1.00.");
    set_worth(-0.31, 0.04);
    expect(text_of("a.tif", frame, 1, false),
           "is 0.3 \xC2\xB1 0.1 stop noisier than at full size");
    set_worth(0.05, 0.09);
    expect(text_of("a.tif", frame, 1, false),
           "is as noisy as at full size, as far as can be told");
}
END_TEST

static const struct {
    const char *size;
    const char *words;
} said[] = {
    {"50%", "Delivered at half its width ("},
    {"33%", "Delivered at 33 % of its width ("},
    {"3840px", "Delivered at 3840 px on the long edge ("},
    {"uhd", "Delivered for UHD (5623 x 3751 pixels)"},
    {"5700x4000", "Delivered at 5623 x 3751 pixels with"},
    {"a3@300", "Delivered for A3 at 300 ppi (5623 x 3751 pixels)"},
    {"30x20cm@240", "Delivered for 30x20cm at 240 ppi (5623 x 3751 pixels)"},
    {"12.5mp", "Delivered at 12.5 MP with"},
};

START_TEST(text_names_sizes_as_people_do)
{
    const struct qs_frame *frame = make_for_sentence();

    for (size_t i = 0; i < COUNT(said); i++) {
        (void)snprintf(made.deliveries[0].text, sizeof made.deliveries[0].text, "%s",
                       said[i].size);
        expect(text_of("a.tif", frame, 1, false), said[i].words);
    }
}
END_TEST

START_TEST(text_of_the_ladder_speaks_of_half_the_pixels)
{
    const struct qs_frame *frame = make(3, 2, 9, 1);

    expect(text_of("a.tif", frame, 1, false), "Delivered at half its pixels (21.1 MP)");
    frame = make(3, 2, 1, 1);
    expect(text_of("a.tif", frame, 1, false),
           "At full size the noise of this ISO 6400");
    frame = make(3, 0, 9, 1);
    expect(text_of("a.tif", frame, 1, false),
           "Nothing in this frame could be measured.");
    frame = make(3, 2, 0, 1);
    expect(text_of("a.tif", frame, 1, false),
           "At full size the noise of this ISO 6400");
}
END_TEST

/* The widest of everything at once. */
START_TEST(text_fits_a_terminal)
{
    char name[400];
    struct qs_frame *frame;

    (void)memset(name, 'n', sizeof name);
    (void)strcpy(name + sizeof name - 20, "\033[31m\xFF-\xE7\xB5\xB5.tif");
    for (int filters = 1; filters <= QS_FILTERS; filters++)
        for (int channels = 1; channels <= 3; channels += 2) {
            frame = make(channels, MOST_PATCHES, 9, filters);
            (void)strcpy(made.deliveries[1].text, "1234.5678x9876.5432mm@9999.99");
            (void)memset(frame->shot.camera, 'c', sizeof frame->shot.camera - 1);
            (void)memset(frame->encoding.name, 'e', sizeof frame->encoding.name - 1);
            frame->crop.height = 4473;
            made.patches[3].box = (struct qs_box){100000, 100000, 99999, 99999};
            made.patches[4].channel[QS_Y].noise.mean = -1e4;
            made.patches[5].channel[QS_Y].noise.mean = 1e9;
            (void)memset(made.warnings[0].text, 'w', sizeof made.warnings[0].text - 1);
            warn(QS_WARN_TEXTURED, 7, "Patch text with 3.1 figures.");
            warn(QS_WARN_TEXTURED, 9, "Patch text with 4.2 figures.");
            warn(QS_WARN_SMALL_PATCH, -1, "x");
            (void)memset(made.warnings[2].text, 'w', sizeof made.warnings[2].text - 1);
            check_lines(text_of(name, frame, 2, filters % 2 == 0));
        }
}
END_TEST

START_TEST(text_tells_alike_warnings_once)
{
    const struct qs_frame *frame = make(3, 12, 1, 1);
    const char *text;

    warn(QS_WARN_TEXTURED, 7, "Texture of 3.1 %.");
    warn(QS_WARN_TEXTURED, 9, "Texture of 14.2 %.");
    warn(QS_WARN_TEXTURED, 2, "Quite another text.");
    text = text_of("a.tif", frame, 1, false);
    expect(text, "[textured, patch 8] Texture of 3.1 %. The same holds for patch 10.");
    expect(text, "[textured, patch 3] Quite another text.");
    ck_assert_ptr_null(strstr(text, "14.2"));
}
END_TEST

START_TEST(text_lists_frames_by_iso)
{
    struct qs_frame *frame = make(3, 2, 3, 1);
    FILE *out = open_output();
    struct qs_error err = {0};
    struct qs_text text;
    const char *list;
    const double isos[] = {0, 12800, 800};
    const char *const names[] = {"unknown.tif", "dark.tif", "bright.tif"};

    qs_text_start(&text, out, (struct qs_text_options){0});
    for (int i = 0; i < 3; i++) {
        frame->shot.iso = isos[i];
        ck_assert_int_eq(qs_text_frame(&text, names[i], frame, &err), QS_OK);
    }
    ck_assert_int_eq(qs_text_end(&text, &err), QS_OK);
    list = strstr(written(out), "All frames by ISO");
    ck_assert_ptr_nonnull(list);
    ck_assert(strstr(list, "bright.tif") < strstr(list, "dark.tif"));
    ck_assert(strstr(list, "dark.tif") < strstr(list, "unknown.tif"));
}
END_TEST

/* The patch that the report speaks of is among the twelve it lists. */
START_TEST(text_lists_the_patch_it_speaks_of)
{
    const struct qs_frame *frame = make(3, MOST_PATCHES, 3, 1);
    const char *text = text_of("a.tif", frame, 1, false);
    int rows = 0;

    /* 0.0091 x 19 + 3 / 1117 = 0.1756 is 0.036 stop from 0.18, the next one 0.037. */
    expect(text, "Noise and SNR: patch 19, the nearest to middle grey.");
    expect(text, " 19 2106,1201 331x257 0.0 ");
    for (const char *p = text; (p = strstr(p, ",1201  ")) != NULL; p++)
        rows++;
    ck_assert_int_eq(rows, QS_TEXT_PATCHES);
}
END_TEST

START_TEST(field_tables_are_sound)
{
    for (int g = 0; g < QS_FIELD_GROUPS; g++) {
        int count;
        const struct qs_field *fields = qs_fields((enum qs_field_group)g, &count);

        for (int i = 0; i < count; i++) {
            ck_assert_uint_eq(
                strspn(fields[i].key, "abcdefghijklmnopqrstuvwxyz_0123456789"),
                strlen(fields[i].key));
            ck_assert_ptr_nonnull(fields[i].get);
            ck_assert(fields[i].scale == 1.0 || fields[i].unit[0] == '%');
            for (int j = 0; j < i; j++)
                ck_assert_str_ne(fields[i].key, fields[j].key);
        }
    }
}
END_TEST

/*
 * By the definitions: at half size area averages four pixels, and the triangle has
 * weights (1 3 3 1) / 8 along each axis, whose squares sum to 20 / 64.
 */
START_TEST(filters_are_told_alike_in_text_and_json)
{
    const struct qs_filter_size size = {.text = "50%", .scale_x = 2.0, .scale_y = 2.0};
    struct qs_filter_figures figures[QS_FILTERS];
    struct qs_error err = {0};
    FILE *out = open_output();
    json_t *json;

    for (int f = 0; f < QS_FILTERS; f++)
        ck_assert_int_eq(qs_filter_figures((enum qs_filter)f, &size, &figures[f], &err),
                         QS_OK);
    ck_assert_double_eq_tol(figures[QS_FILTER_AREA].white_noise_gain, 0.5, 1e-12);
    ck_assert_double_eq_tol(figures[QS_FILTER_AREA].worth_stops, 2.0, 1e-12);
    ck_assert_double_eq_tol(figures[QS_FILTER_TRIANGLE].white_noise_gain, 20.0 / 64.0,
                            1e-12);
    ck_assert_int_eq(qs_json_filters(out, figures, QS_FILTERS, &err), QS_OK);
    json = json_loads(written(out), JSON_REJECT_DUPLICATES, NULL);
    ck_assert_ptr_nonnull(json);
    ck_assert_uint_eq(json_array_size(at(json, "filters")), QS_FILTERS);
    ck_assert(number_at(json, "filters.1.white_noise_gain") ==
              figures[QS_FILTER_TRIANGLE].white_noise_gain);
    ck_assert(number_at(json, "filters.0.reduction") == 2.0);
    ck_assert_str_eq(string_at(json, "filters.7.filter"), "lanczos3");
    ck_assert(json_is_null(at(json, "filters.0.width")));
    (void)at(json, "filters.0.contrast_half_nyquist");
    (void)at(json, "filters.0.contrast_nyquist");
    (void)at(json, "filters.0.alias_share");
    (void)at(json, "filters.0.alias_share_1d");
    (void)at(json, "filters.0.source");
    json_decref(json);
    out = open_output();
    ck_assert_int_eq(qs_filters_text(out, figures, QS_FILTERS, &err), QS_OK);
    check_lines(written(out));
}
END_TEST

/* Ill-formed sequences after the Unicode Standard's table of well-formed ones. */
static const struct {
    const char *in, *out;
} cleaned[] = {
    {"plain.tif", "plain.tif"},
    {"\xC3\xA9", "\xC3\xA9"},
    {"\xC0\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD"},                 /* overlong */
    {"\xED\xA0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"}, /* half of a pair */
    {"\xF4\x90\x80\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"},
    {"\xE2\x82", "\xEF\xBF\xBD\xEF\xBF\xBD"}, /* cut off */
    {"a\033[2Jb\n", "a?[2Jb?"},
    {"\xC2\x9B"
     "31m",
     "?31m"}, /* a control in one character */
    {"\xE2\x80\xAE"
     "fit.exe",
     "?fit.exe"}, /* turns the reading direction */
};

START_TEST(names_are_made_fit_to_show)
{
    char out[64];

    for (size_t i = 0; i < COUNT(cleaned); i++) {
        qs_text_clean(cleaned[i].in, true, out, sizeof out);
        ck_assert_str_eq(out, cleaned[i].out);
        ck_assert_uint_le(strlen(out) + 1, qs_text_clean_room(cleaned[i].in));
    }
    qs_text_clean("\xC3\xA9\xC3\xA9", true, out, 4);
    ck_assert_str_eq(out, "\xC3\xA9");
    qs_text_tail("a-very-long-name.tif", 11, out, sizeof out);
    ck_assert_str_eq(out, "...name.tif");
    ck_assert_int_eq(qs_text_columns("\xC2\xB1 \xE7\xB5\xB5 e\xCC\x81"), 6);
}
END_TEST

START_TEST(lines_break_at_blanks_alone)
{
    FILE *out = open_output();
    char text[300] = "";

    for (int i = 0; i < 12; i++)
        (void)strcat(text, "0.9" QS_GLUE "\xC2\xB1" QS_GLUE "0.1 and ");
    (void)strcat(text, "end");
    qs_wrap(out, "- ", "  ", text);
    (void)memset(text, 'x', 161);
    text[161] = '\0';
    qs_wrap(out, "", "", text);
    qs_wrap(out, "", "", "");
    check_lines(written(out));
    for (const char *p = output; (p = strstr(p, "0.9")) != NULL; p++)
        ck_assert_int_eq(strncmp(p, "0.9 \xC2\xB1 0.1", 10), 0);
}
END_TEST

static enum qs_status
write_all(FILE *out, const struct qs_frame *frame, struct qs_error *err)
{
    struct qs_json json = {0};
    struct qs_text text;
    enum qs_status status, text_status;

    status = qs_json_start(&json, out, err);
    if (status == QS_OK)
        status = qs_json_frame(&json, "a.tif", frame, err);
    if (status == QS_OK)
        status = qs_json_failed(&json, "b.tif", "No.", err);
    if (status == QS_OK)
        status = qs_json_end(&json, err);
    qs_json_drop(&json);
    if (status == QS_OK)
        status = qs_csv_frame(out, "a.tif", frame, err);
    qs_text_start(&text, out, (struct qs_text_options){0});
    for (int i = 0; i < 2 && status == QS_OK; i++)
        status = qs_text_frame(&text, "a.tif", frame, err);
    text_status = qs_text_end(&text, err);
    return status != QS_OK ? status : text_status;
}

START_TEST(short_memory_is_told)
{
    const struct qs_frame *frame = make(3, 2, 2, 2);
    struct qs_error err = {0};
    long allocations;

    qs_alloc_fail_at(-1);
    FILE *out = open_output();
    ck_assert_int_eq(write_all(out, frame, &err), QS_OK);
    (void)fclose(out);
    allocations = qs_alloc_count();
    ck_assert_int_gt(allocations, 500);
    /* Each of the first ones and of the last ones; between them they are alike. */
    for (long n = 0; n < allocations; n += n < 700 || n > allocations - 200 ? 1 : 7) {
        out = open_output();
        qs_error_clear(&err);
        qs_alloc_fail_at(n);
        ck_assert_msg(write_all(out, frame, &err) != QS_OK, "allocation %ld", n);
        qs_alloc_fail_at(-1);
        ck_assert_uint_gt(strlen(err.text), 0);
        (void)fclose(out);
    }
}
END_TEST

START_TEST(a_full_disk_is_told)
{
    const struct qs_frame *frame = make(3, 8, 9, 8);
    struct qs_error err = {0};
    struct qs_json json;
    FILE *out = access("/dev/full", W_OK) == 0 ? fopen("/dev/full", "w") : NULL;

    if (out == NULL)
        return;
    ck_assert_int_eq(qs_json_start(&json, out, &err), QS_OK);
    ck_assert_int_eq(qs_json_frame(&json, "a.tif", frame, &err), QS_ERR_WRITE);
    ck_assert_ptr_nonnull(strstr(err.text, "disk is full"));
    qs_json_drop(&json);
    qs_error_clear(&err);
    clearerr(out);
    ck_assert_int_eq(qs_csv_frame(out, "a.tif", frame, &err), QS_ERR_WRITE);
    (void)fclose(out);
}
END_TEST

QS_TEST_MAIN("report", json_has_the_promised_keys, json_brings_figures_back,
             json_says_null_for_what_is_unknown, json_sums_up_the_patches,
             json_names_frames_that_failed, csv_rows_are_complete,
             csv_leaves_unknown_figures_empty, text_answers_first,
             text_says_what_is_sure, text_names_sizes_as_people_do,
             text_of_the_ladder_speaks_of_half_the_pixels, text_fits_a_terminal,
             text_tells_alike_warnings_once, text_lists_frames_by_iso,
             text_lists_the_patch_it_speaks_of, field_tables_are_sound,
             filters_are_told_alike_in_text_and_json, names_are_made_fit_to_show,
             lines_break_at_blanks_alone, short_memory_is_told, a_full_disk_is_told)
