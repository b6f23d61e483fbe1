/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/plain_text.h"
#include "base/write_reason.h"
#include "sheet/sheet_json.h"

/* Two-sided 95 % of a normal distribution. */
static const double SIGMAS_95 = 1.959963984540054;

/* A text from outside, made valid UTF-8. */
static json_t *
text(const char *value)
{
    size_t room = qs_text_clean_room(value);
    char *clean = qs_alloc(room, 1);
    json_t *made;

    if (clean == NULL)
        return NULL;
    qs_text_clean(value, false, clean, room);
    made = json_string(clean);
    qs_free(clean);
    return made;
}

static bool
put(json_t *object, const char *key, json_t *value)
{
    return json_object_set_new(object, key, value) == 0;
}

static bool
put_number(json_t *object, const char *key, double value)
{
    return put(object, key, json_real(qs_sheet_round(value, QS_SHEET_DIGITS)));
}

/* Null where 0 says that it is not known. */
static bool
put_known(json_t *object, const char *key, double value)
{
    return value > 0.0 ? put_number(object, key, value) : put(object, key, json_null());
}

static json_t *
numbers(const double *values, int count)
{
    json_t *array = json_array();

    for (int i = 0; i < count; i++)
        if (json_array_append_new(array, json_real(values[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *
matrix(const double *values, int rows, int columns)
{
    json_t *array = json_array();

    for (int i = 0; i < rows; i++)
        if (json_array_append_new(
                array, numbers(values + (ptrdiff_t)i * columns, columns)) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

/* A square root and its 95 % interval, for people. */
static bool
put_root(json_t *object, const char *name, double square, double se)
{
    char low[32], high[32];

    (void)snprintf(low, sizeof low, "%s_low", name);
    (void)snprintf(high, sizeof high, "%s_high", name);
    return put_number(object, name, sqrt(square)) &&
           put_number(object, low, sqrt(fmax(square - SIGMAS_95 * se, 0.0))) &&
           put_number(object, high, sqrt(square + SIGMAS_95 * se));
}

static bool
put_gain(json_t *object, double gain, double se)
{
    return put_number(object, "gain", gain) &&
           put_number(object, "gain_low", fmax(gain - SIGMAS_95 * se, 0.0)) &&
           put_number(object, "gain_high", gain + SIGMAS_95 * se);
}

/* What each part of the model is: "told", "zero", "unsure", "untested". */
static const char *
standing(const struct qs_model *model, int part)
{
    if (!model->fitted[part])
        return "untested";
    if (model->held[part])
        return "zero";
    return model->told[part] ? "told" : "unsure";
}

static bool
put_parts(json_t *object, const struct qs_model *model)
{
    double se[QS_MODEL_PARTS];

    for (int p = 0; p < (int)QS_MODEL_PARTS; p++)
        se[p] = sqrt(fmax(model->covariance[p][p], 0.0));
    return put_root(object, "read", model->value[QS_MODEL_READ2], se[QS_MODEL_READ2]) &&
           put_gain(object, model->value[QS_MODEL_GAIN], se[QS_MODEL_GAIN]) &&
           put_root(object, "pattern", model->value[QS_MODEL_PATTERN2],
                    se[QS_MODEL_PATTERN2]) &&
           put(object, "read_is", text(standing(model, QS_MODEL_READ2))) &&
           put(object, "gain_is", text(standing(model, QS_MODEL_GAIN))) &&
           put(object, "pattern_is", text(standing(model, QS_MODEL_PATTERN2)));
}

static json_t *
model_json(const struct qs_model *model)
{
    json_t *object = json_object();
    bool well = put_parts(object, model) &&
                put_number(object, "read2", model->value[QS_MODEL_READ2]) &&
                put_number(object, "pattern2", model->value[QS_MODEL_PATTERN2]) &&
                put(object, "covariance",
                    matrix(&model->covariance[0][0], QS_MODEL_PARTS, QS_MODEL_PARTS)) &&
                put(object, "apart", json_boolean(model->has_apart)) &&
                put_number(object, "random_read2", model->random_read2) &&
                put_number(object, "fixed_offset2", model->fixed_offset2) &&
                put_number(object, "chi2", model->chi2) &&
                put_number(object, "freedom", model->freedom) &&
                put_number(object, "scatter", model->scatter) &&
                put_number(object, "mean_low", model->mean_low) &&
                put_number(object, "mean_high", model->mean_high) &&
                put(object, "points", json_integer(model->points));

    if (well)
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
point_json(const struct qs_sheet_point *point)
{
    static const char *const kinds[] = {[QS_POINT_TOTAL] = "total",
                                        [QS_POINT_RANDOM] = "random",
                                        [QS_POINT_FIXED] = "fixed"};
    json_t *object = json_object();

    if (put(object, "kind", text(kinds[point->kind])) &&
        put_number(object, "tone", point->tone) &&
        put_number(object, "mean", point->mean) &&
        put_number(object, "variance", point->variance) &&
        (point->kind == QS_POINT_FIXED
             ? put_number(object, "se", point->se)
             : put_number(object, "freedom", point->freedom)) &&
        put(object, "patches", json_integer(point->patches)))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
zone_json(const struct qs_sheet_zone *zone)
{
    const struct qs_spectrum *spectrum = &zone->spectrum;
    json_t *object;

    if (!zone->known)
        return json_null();
    object = json_object();
    if (put_number(object, "tone", zone->tone) &&
        put_number(object, "pixels", zone->pixels) &&
        put_number(object, "rows", zone->rows) &&
        put_number(object, "columns", zone->columns) &&
        put(object, "pixel",
            matrix(&spectrum->pixel[0][0], QS_SPECTRUM_NODES, QS_SPECTRUM_NODES)) &&
        put(object, "row", numbers(spectrum->row, QS_SPECTRUM_NODES)) &&
        put(object, "column", numbers(spectrum->column, QS_SPECTRUM_NODES)))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
signal_json(const struct qs_sheet_signal *signal)
{
    json_t *object = json_object(), *points = json_array(), *zones = json_array();
    bool well = put(object, "model",
                    signal->fitted ? model_json(&signal->model) : json_null()) &&
                put(object, "points", points) && put(object, "zones", zones);

    for (int i = 0; well && i < signal->point_count; i++)
        well = json_array_append_new(points, point_json(&signal->points[i])) == 0;
    for (int z = 0; well && z < QS_SHEET_ZONES; z++)
        well = json_array_append_new(zones, zone_json(&signal->zones[z])) == 0;
    if (well)
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
warnings_json(const char *codes)
{
    json_t *array = json_array();

    while (*codes != '\0') {
        size_t length = strcspn(codes, " ");

        if (json_array_append_new(array, json_stringn(codes, length)) != 0) {
            json_decref(array);
            return NULL;
        }
        codes += length;
        codes += strspn(codes, " ");
    }
    return array;
}

static json_t *
frame_json(const struct qs_sheet_frame *frame)
{
    json_t *object = json_object();

    if (put(object, "file", text(frame->file)) &&
        put_known(object, "exposure_s", frame->exposure_s) &&
        put_known(object, "f_number", frame->f_number) &&
        put_known(object, "light_lux", frame->light_lx) &&
        put(object, "repeat", json_boolean(frame->repeat)) &&
        put(object, "patches", json_integer(frame->patches)) &&
        put(object, "verdict", text(frame->with_care ? "care" : "fit")) &&
        put(object, "warnings", warnings_json(frame->warnings)))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
iso_json(const struct qs_sheet *sheet, const struct qs_sheet_iso *iso)
{
    json_t *object = json_object(), *frames = json_array(), *signals = json_object();
    bool well = put_number(object, "iso", iso->iso) &&
                put_number(object, "tone_low", iso->tone_low) &&
                put_number(object, "tone_high", iso->tone_high) &&
                put(object, "frames", frames) && put(object, "signals", signals);

    for (int f = 0; well && f < iso->frame_count; f++)
        well = json_array_append_new(frames, frame_json(&iso->frames[f])) == 0;
    for (int s = qs_sheet_first(sheet); well && s < qs_sheet_end(sheet); s++)
        well = put(signals, qs_signal_key(s), signal_json(&iso->signals[s]));
    if (well)
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
calibration_json(const struct qs_sheet_calibration *calibration)
{
    json_t *object;

    if (!calibration->known)
        return json_null();
    object = json_object();
    if (put_number(object, "stops", calibration->stops) &&
        put_number(object, "light_lux", calibration->light_lx) &&
        put(object, "file", text(calibration->file)))
        return object;
    json_decref(object);
    return NULL;
}

static json_t *
refused_json(const struct qs_sheet *sheet)
{
    json_t *array = json_array();

    for (int i = 0; i < sheet->refused_count; i++) {
        json_t *one = json_object();

        if (!put(one, "file", text(sheet->refused[i].file)) ||
            !put(one, "why", text(sheet->refused[i].why)) ||
            json_array_append(array, one) != 0) {
            json_decref(one);
            json_decref(array);
            return NULL;
        }
        json_decref(one);
    }
    return array;
}

static json_t *
sheet_json(const struct qs_sheet *sheet)
{
    json_t *object = json_object(), *isos = json_array();
    bool well =
        put(object, "tool", text("quietsize")) &&
        put(object, "version", text(QS_VERSION)) &&
        put(object, "kind", text("camera-sheet")) &&
        put(object, "format", json_integer(QS_SHEET_FORMAT)) &&
        put(object, "camera", text(sheet->camera)) &&
        put(object, "encoding", text(sheet->encoding)) &&
        put(object, "width", json_integer(sheet->width)) &&
        put(object, "height", json_integer(sheet->height)) &&
        put(object, "channels", json_integer(sheet->channels)) &&
        put(object, "calibration", calibration_json(&sheet->calibration)) &&
        put(object, "spectrum_cpp", numbers(qs_spectrum_cpp, QS_SPECTRUM_NODES)) &&
        put(object, "isos", isos) && put(object, "refused", refused_json(sheet));

    for (int i = 0; well && i < sheet->iso_count; i++)
        well = json_array_append_new(isos, iso_json(sheet, &sheet->isos[i])) == 0;
    if (well)
        return object;
    json_decref(object);
    return NULL;
}

static bool
is_plain(const json_t *value)
{
    return !json_is_object(value) && !json_is_array(value);
}

/* Whether everything in it is a plain value: then it fits a line. */
static bool
is_line(json_t *value)
{
    const char *key;
    json_t *item;
    size_t i;

    if (json_is_array(value)) {
        json_array_foreach(value, i, item) if (!is_plain(item)) return false;
    } else if (json_is_object(value)) {
        json_object_foreach(value, key, item) if (!is_plain(item)) return false;
        return json_object_size(value) <= 6;
    }
    return true;
}

static bool
print_value(FILE *out, json_t *value, int depth);

static void
new_line(FILE *out, int depth)
{
    (void)fprintf(out, "\n%*s", depth, "");
}

static bool
print_on_line(FILE *out, const json_t *value)
{
    return json_dumpf(value, out,
                      JSON_ENCODE_ANY | JSON_REAL_PRECISION(QS_SHEET_DIGITS)) == 0;
}

static bool
print_array(FILE *out, json_t *array, int depth)
{
    json_t *item;
    size_t i;
    bool well = true;

    (void)fputc('[', out);
    json_array_foreach(array, i, item)
    {
        if (i > 0)
            (void)fputc(',', out);
        new_line(out, depth + 1);
        well = well && print_value(out, item, depth + 1);
    }
    (void)fputc(']', out);
    return well;
}

static bool
print_object(FILE *out, json_t *object, int depth)
{
    bool first = true, well = true;
    const char *key;
    json_t *item;

    (void)fputc('{', out);
    json_object_foreach(object, key, item)
    {
        if (!first)
            (void)fputc(',', out);
        first = false;
        new_line(out, depth + 1);
        (void)fprintf(out, "\"%s\": ", key); /* keys are ours: nothing to escape */
        well = well && print_value(out, item, depth + 1);
    }
    (void)fputc('}', out);
    return well;
}

/* Rows of numbers and short objects stay on a line; Jansson would break them all. */
static bool
print_value(FILE *out, json_t *value, int depth)
{
    if (is_line(value))
        return print_on_line(out, value);
    return json_is_array(value) ? print_array(out, value, depth)
                                : print_object(out, value, depth);
}

enum qs_status
qs_sheet_write(FILE *out, const struct qs_sheet *sheet, struct qs_error *err)
{
    json_t *document = sheet_json(sheet);
    bool well;

    if (document == NULL)
        return qs_fail_memory(err);
    errno = 0;
    well = print_value(out, document, 0);
    json_decref(document);
    (void)fputc('\n', out);
    if (well && fflush(out) == 0 && !ferror(out))
        return QS_OK;
    return qs_fail_write(err);
}
