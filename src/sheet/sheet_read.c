/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "sheet/sheet_json.h"

/* Larger numbers are no light, noise or ISO. */
#define MOST 1e15

enum {
    SIDE_MOST = 1000000,
    COUNT_MOST = 1000000000
};

/* Where the reader is, for its sentences, and whether all was well so far. */
struct reader {
    char place[96]; /* "ISO 3200, y" */
    struct qs_error *err;
    enum qs_status status;
};

static void
complain(struct reader *reader, const char *key, const char *wanted)
{
    if (reader->status != QS_OK)
        return;
    reader->status =
        qs_fail(reader->err, QS_ERR_READ,
                "This camera sheet is damaged: \"%s\"%s%s should be %s. Make it again "
                "with quietsize sheet.",
                key, reader->place[0] != '\0' ? " of " : "", reader->place, wanted);
}

static void
out_of_memory(struct reader *reader)
{
    if (reader->status == QS_OK)
        reader->status = qs_fail_memory(reader->err);
}

static double
get_number(struct reader *reader, const json_t *object, const char *key, double least)
{
    const json_t *value = json_object_get(object, key);
    double number = json_number_value(value);

    if (!json_is_number(value) || !(number >= least && number <= MOST)) {
        complain(reader, key,
                 value == NULL ? "there"
                 : least < 0.0 ? "a number"
                               : "a number that is not below 0");
        return 0.0;
    }
    return number;
}

/* A number, or null where it is not known. */
static double
get_known(struct reader *reader, const json_t *object, const char *key)
{
    if (json_is_null(json_object_get(object, key)))
        return 0.0;
    return get_number(reader, object, key, 0.0);
}

static int
get_whole(struct reader *reader, const json_t *object, const char *key, int least,
          int most)
{
    const json_t *value = json_object_get(object, key);
    json_int_t number = json_integer_value(value);

    if (!json_is_integer(value) || number < least || number > most) {
        complain(reader, key, "a whole number in range");
        return least;
    }
    return (int)number;
}

static bool
get_flag(struct reader *reader, const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);

    if (!json_is_boolean(value))
        complain(reader, key, "true or false");
    return json_is_true(value);
}

static const char *
get_text(struct reader *reader, const json_t *object, const char *key)
{
    const char *value = json_string_value(json_object_get(object, key));

    if (value != NULL)
        return value;
    complain(reader, key, "a text");
    return "";
}

static void
copy_text(struct reader *reader, const json_t *object, const char *key, char *out)
{
    const char *value = get_text(reader, object, key);

    if (strlen(value) >= QS_SHEET_TEXT)
        complain(reader, key, "a text of 127 bytes at most");
    else
        memcpy(out, value, strlen(value) + 1);
}

static const json_t *
get_kind(struct reader *reader, const json_t *object, const char *key, json_type type,
         const char *wanted)
{
    const json_t *value = json_object_get(object, key);

    if (value != NULL && json_typeof(value) == type)
        return value;
    complain(reader, key, wanted);
    return NULL;
}

static void
take_numbers(struct reader *reader, const json_t *array, const char *key, double *out,
             int count)
{
    if (!json_is_array(array) || (int)json_array_size(array) != count) {
        complain(reader, key, "a list of as many numbers as there are frequencies");
        return;
    }
    for (int i = 0; i < count; i++) {
        const json_t *value = json_array_get(array, (size_t)i);

        out[i] = json_number_value(value);
        if (!json_is_number(value) || !(fabs(out[i]) <= MOST))
            complain(reader, key, "a list of numbers");
    }
}

static void
get_matrix(struct reader *reader, const json_t *object, const char *key, double *out,
           int rows, int columns)
{
    const json_t *array = json_object_get(object, key);

    if (!json_is_array(array) || (int)json_array_size(array) != rows) {
        complain(reader, key, "a square table of numbers");
        return;
    }
    for (int i = 0; i < rows; i++)
        take_numbers(reader, json_array_get(array, (size_t)i), key,
                     out + (ptrdiff_t)i * columns, columns);
}

/* "told", "zero", "unsure" or "untested". */
static void
take_standing(struct reader *reader, const json_t *object, const char *key, int part,
              struct qs_model *model)
{
    const char *word = get_text(reader, object, key);

    model->fitted[part] = strcmp(word, "untested") != 0;
    model->held[part] = strcmp(word, "zero") == 0;
    model->told[part] = strcmp(word, "told") == 0;
    if (model->fitted[part] && !model->held[part] && !model->told[part] &&
        strcmp(word, "unsure") != 0)
        complain(reader, key, "told, zero, unsure or untested");
}

static void
take_model(struct reader *reader, const json_t *object, struct qs_model *model)
{
    model->value[QS_MODEL_READ2] = get_number(reader, object, "read2", 0.0);
    model->value[QS_MODEL_GAIN] = get_number(reader, object, "gain", 0.0);
    model->value[QS_MODEL_PATTERN2] = get_number(reader, object, "pattern2", 0.0);
    get_matrix(reader, object, "covariance", &model->covariance[0][0], QS_MODEL_PARTS,
               QS_MODEL_PARTS);
    take_standing(reader, object, "read_is", QS_MODEL_READ2, model);
    take_standing(reader, object, "gain_is", QS_MODEL_GAIN, model);
    take_standing(reader, object, "pattern_is", QS_MODEL_PATTERN2, model);
    model->has_apart = get_flag(reader, object, "apart");
    model->random_read2 = get_number(reader, object, "random_read2", 0.0);
    model->fixed_offset2 = get_number(reader, object, "fixed_offset2", 0.0);
    model->chi2 = get_number(reader, object, "chi2", 0.0);
    model->freedom = get_number(reader, object, "freedom", 0.0);
    model->scatter = get_number(reader, object, "scatter", 1.0);
    model->mean_low = get_number(reader, object, "mean_low", -MOST);
    model->mean_high = get_number(reader, object, "mean_high", -MOST);
    model->points = get_whole(reader, object, "points", 0, COUNT_MOST);
}

static enum qs_model_kind
get_point_kind(struct reader *reader, const json_t *object)
{
    const char *word = get_text(reader, object, "kind");

    if (strcmp(word, "random") == 0)
        return QS_POINT_RANDOM;
    if (strcmp(word, "fixed") == 0)
        return QS_POINT_FIXED;
    if (strcmp(word, "total") != 0)
        complain(reader, "kind", "total, random or fixed");
    return QS_POINT_TOTAL;
}

static void
take_point(struct reader *reader, const json_t *object, struct qs_sheet_signal *signal)
{
    struct qs_sheet_point point = {.kind = get_point_kind(reader, object)};
    bool fixed = point.kind == QS_POINT_FIXED;

    point.tone = get_number(reader, object, "tone", -MOST);
    point.mean = get_number(reader, object, "mean", -MOST);
    point.variance = get_number(reader, object, "variance", fixed ? -MOST : 0.0);
    if (fixed)
        point.se = get_number(reader, object, "se", 0.0);
    else
        point.freedom = get_number(reader, object, "freedom", 0.0);
    point.patches = get_whole(reader, object, "patches", 0, COUNT_MOST);
    if (reader->status == QS_OK)
        reader->status = qs_sheet_add_point(signal, &point, reader->err);
}

static void
take_zone(struct reader *reader, const json_t *object, struct qs_sheet_zone *zone)
{
    if (json_is_null(object))
        return;
    zone->known = true;
    zone->tone = get_number(reader, object, "tone", -MOST);
    zone->pixels = get_number(reader, object, "pixels", 0.0);
    zone->rows = get_number(reader, object, "rows", 0.0);
    zone->columns = get_number(reader, object, "columns", 0.0);
    get_matrix(reader, object, "pixel", &zone->spectrum.pixel[0][0], QS_SPECTRUM_NODES,
               QS_SPECTRUM_NODES);
    take_numbers(reader, json_object_get(object, "row"), "row", zone->spectrum.row,
                 QS_SPECTRUM_NODES);
    take_numbers(reader, json_object_get(object, "column"), "column",
                 zone->spectrum.column, QS_SPECTRUM_NODES);
}

static void
take_signal(struct reader *reader, const json_t *object, struct qs_sheet_signal *signal)
{
    const json_t *points = get_kind(reader, object, "points", JSON_ARRAY, "a list");
    const json_t *zones = get_kind(reader, object, "zones", JSON_ARRAY, "a list");
    const json_t *model = json_object_get(object, "model");

    signal->fitted = !json_is_null(model);
    if (signal->fitted)
        take_model(reader, model, &signal->model);
    for (size_t i = 0; i < json_array_size(points); i++)
        take_point(reader, json_array_get(points, i), signal);
    if (json_array_size(zones) != QS_SHEET_ZONES) {
        complain(reader, "zones", "a list of three");
        return;
    }
    for (int z = 0; z < QS_SHEET_ZONES; z++)
        take_zone(reader, json_array_get(zones, (size_t)z), &signal->zones[z]);
}

/* The codes of warnings with blanks between; qs_free it.  NULL: no memory. */
static char *
join_warnings(struct reader *reader, const json_t *array)
{
    size_t room = 1, used = 0;
    char *out;

    for (size_t i = 0; i < json_array_size(array); i++)
        room += json_string_length(json_array_get(array, i)) + 1;
    out = qs_alloc(room, 1);
    if (out == NULL) {
        out_of_memory(reader);
        return NULL;
    }
    for (size_t i = 0; i < json_array_size(array); i++) {
        const char *code = json_string_value(json_array_get(array, i));

        if (code == NULL)
            complain(reader, "warnings", "a list of texts");
        else
            used += (size_t)snprintf(out + used, room - used, "%s%s", i > 0 ? " " : "",
                                     code);
    }
    return out;
}

static bool
get_with_care(struct reader *reader, const json_t *object)
{
    const char *word = get_text(reader, object, "verdict");

    if (strcmp(word, "care") != 0 && strcmp(word, "fit") != 0)
        complain(reader, "verdict", "fit or care");
    return strcmp(word, "care") == 0;
}

static void
take_frame(struct reader *reader, const json_t *object, struct qs_sheet_iso *iso)
{
    struct qs_sheet_frame frame = {
        .exposure_s = get_known(reader, object, "exposure_s"),
        .f_number = get_known(reader, object, "f_number"),
        .light_lx = get_known(reader, object, "light_lux"),
        .repeat = get_flag(reader, object, "repeat"),
        .patches = get_whole(reader, object, "patches", 0, COUNT_MOST),
        .with_care = get_with_care(reader, object)};
    const char *file = get_text(reader, object, "file");
    char *warnings = join_warnings(
        reader, get_kind(reader, object, "warnings", JSON_ARRAY, "a list"));

    if (reader->status == QS_OK)
        reader->status = qs_sheet_add_frame(iso, &frame, file, warnings, reader->err);
    qs_free(warnings);
}

static void
take_iso(struct reader *reader, const json_t *object, struct qs_sheet *sheet)
{
    double number = get_number(reader, object, "iso", 0.0);
    const json_t *frames = get_kind(reader, object, "frames", JSON_ARRAY, "a list");
    const json_t *signals = get_kind(reader, object, "signals", JSON_OBJECT, "there");
    int count = sheet->iso_count;
    struct qs_sheet_iso *iso;

    if (reader->status != QS_OK)
        return;
    iso = qs_sheet_iso_at(sheet, number);
    if (iso == NULL && count >= QS_SHEET_ISOS)
        complain(reader, "isos", "a list of 256 ISO values at most");
    else if (iso == NULL)
        out_of_memory(reader);
    else if (sheet->iso_count == count || !(number > 0.0))
        complain(reader, "isos", "a list of different ISO values above 0");
    if (reader->status != QS_OK)
        return;
    iso->tone_low = get_number(reader, object, "tone_low", -MOST);
    iso->tone_high = get_number(reader, object, "tone_high", -MOST);
    (void)snprintf(reader->place, sizeof reader->place, "ISO %g", number);
    for (size_t i = 0; i < json_array_size(frames); i++)
        take_frame(reader, json_array_get(frames, i), iso);
    for (int s = qs_sheet_first(sheet); s < qs_sheet_end(sheet); s++) {
        (void)snprintf(reader->place, sizeof reader->place, "ISO %g, %s", number,
                       qs_signal_key(s));
        take_signal(reader, json_object_get(signals, qs_signal_key(s)),
                    &iso->signals[s]);
    }
    reader->place[0] = '\0';
}

static void
take_calibration(struct reader *reader, const json_t *object,
                 struct qs_sheet_calibration *out)
{
    if (json_is_null(object))
        return;
    out->known = true;
    out->stops = get_number(reader, object, "stops", -MOST);
    out->light_lx = get_number(reader, object, "light_lux", 0.0);
    copy_text(reader, object, "file", out->file);
}

static void
take_refused(struct reader *reader, const json_t *array, struct qs_sheet *sheet)
{
    for (size_t i = 0; i < json_array_size(array); i++) {
        const json_t *one = json_array_get(array, i);
        const char *file = get_text(reader, one, "file");
        const char *why = get_text(reader, one, "why");

        if (reader->status == QS_OK)
            reader->status = qs_sheet_refuse(sheet, file, why, reader->err);
    }
}

/* The frequencies that the file's spectra are told at must be ours. */
static void
check_nodes(struct reader *reader, const json_t *document)
{
    double nodes[QS_SPECTRUM_NODES] = {0.0};

    take_numbers(reader, json_object_get(document, "spectrum_cpp"), "spectrum_cpp",
                 nodes, QS_SPECTRUM_NODES);
    for (int i = 0; i < (int)QS_SPECTRUM_NODES; i++)
        if (fabs(nodes[i] - qs_spectrum_cpp[i]) > 1e-6)
            complain(reader, "spectrum_cpp", "the list that this version uses");
}

static void
take_sheet(struct reader *reader, const json_t *document, struct qs_sheet *sheet)
{
    const json_t *isos = get_kind(reader, document, "isos", JSON_ARRAY, "a list");
    const json_t *refused = get_kind(reader, document, "refused", JSON_ARRAY, "a list");

    copy_text(reader, document, "camera", sheet->camera);
    copy_text(reader, document, "encoding", sheet->encoding);
    sheet->width = get_whole(reader, document, "width", 1, SIDE_MOST);
    sheet->height = get_whole(reader, document, "height", 1, SIDE_MOST);
    sheet->channels = get_whole(reader, document, "channels", 1, 3);
    if (sheet->channels == 2)
        complain(reader, "channels", "1 or 3");
    take_calibration(reader, json_object_get(document, "calibration"),
                     &sheet->calibration);
    check_nodes(reader, document);
    for (size_t i = 0; reader->status == QS_OK && i < json_array_size(isos); i++)
        take_iso(reader, json_array_get(isos, i), sheet);
    take_refused(reader, refused, sheet);
}

static enum qs_status
check_kind(const json_t *document, struct qs_error *err)
{
    const char *kind = json_string_value(json_object_get(document, "kind"));
    json_int_t format = json_integer_value(json_object_get(document, "format"));

    if (kind == NULL || strcmp(kind, "camera-sheet") != 0)
        return qs_fail(
            err, QS_ERR_READ,
            "This is no camera sheet; make one with quietsize sheet FRAME... "
            "--out sheet.json.");
    if (format > QS_SHEET_FORMAT)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This camera sheet was made by a newer quietsize (format %lld; "
                       "this one reads %d); install the newer one.",
                       (long long)format, QS_SHEET_FORMAT);
    if (format != QS_SHEET_FORMAT)
        return qs_fail(err, QS_ERR_READ,
                       "This camera sheet does not say its format; make it again with "
                       "quietsize sheet.");
    return QS_OK;
}

static enum qs_status
fail_text(const json_error_t *error, struct qs_error *err)
{
    if (json_error_code(error) == json_error_out_of_memory)
        return qs_fail_memory(err);
    return qs_fail(err, QS_ERR_READ,
                   "This is no camera sheet, or a damaged one: line %d is not JSON. "
                   "Make it again with quietsize sheet.",
                   error->line);
}

enum qs_status
qs_sheet_read(const char *path, struct qs_sheet *out, struct qs_error *err)
{
    struct reader reader = {.err = err};
    json_error_t error;
    json_t *document;
    FILE *file = fopen(path, "rb");

    *out = (struct qs_sheet){0};
    if (file == NULL)
        return qs_fail(err, QS_ERR_OPEN, "The file can't be opened: %s.",
                       strerror(errno));
    document = json_loadf(file, JSON_REJECT_DUPLICATES, &error);
    (void)fclose(file);
    if (document == NULL)
        return fail_text(&error, err);
    reader.status = check_kind(document, err);
    if (reader.status == QS_OK)
        take_sheet(&reader, document, out);
    json_decref(document);
    if (reader.status != QS_OK)
        qs_sheet_clear(out);
    return reader.status;
}
