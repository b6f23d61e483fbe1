/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/json.h"

#include <jansson.h>
#include <math.h>

#include "base/memory.h"
#include "report/fields.h"
#include "report/plain_text.h"
#include "report/write_reason.h"

/* Seventeen digits bring every double back (IEEE 754 binary64). */
#define DUMP_FLAGS (JSON_REAL_PRECISION(17) | JSON_COMPACT)

static const char *const encoding_from[] = {
    [QS_FROM_PROFILE] = "profile",
    [QS_FROM_TAG] = "tag",
    [QS_FROM_OPTION] = "option",
    [QS_FROM_ASSUMED] = "assumed",
};

/*
 * The helpers below take what they are given, NULL too, and hand on whether it
 * worked: building goes on after a failed allocation and the frame is dropped at
 * its end.  json_*_set_new and json_array_append_new do the freeing.
 */
static bool
put(json_t *object, const char *key, json_t *value)
{
    return json_object_set_new(object, key, value) == 0;
}

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

static json_t *
text_or_null(const char *value)
{
    return *value != '\0' ? text(value) : json_null();
}

static json_t *
number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

/* A figure shown without decimals, such as ISO, is a whole number in JSON too. */
static json_t *
figure(const struct qs_field *field, const struct qs_subject *subject)
{
    struct qs_value value = field->get(subject);

    if (!value.known)
        return json_null();
    if (field->digits == 0 && field->scale == 1.0 &&
        value.number == floor(value.number) && fabs(value.number) < 1e15)
        return json_integer((json_int_t)value.number);
    return json_real(value.number);
}

static bool
put_figures(json_t *object, enum qs_field_group group, const struct qs_subject *subject)
{
    int count;
    const struct qs_field *fields = qs_fields(group, &count);
    bool ok = true;

    for (int i = 0; i < count; i++)
        ok &= put(object, fields[i].key, figure(&fields[i], subject));
    return ok;
}

/* {"r": {...}, ...}: one group of figures in every channel the frame has. */
static bool
put_channels(json_t *object, enum qs_field_group group, struct qs_subject subject)
{
    json_t *channels = json_object();
    bool ok = put(object, "channels", channels);

    for (int c = (int)subject.frame->first; ok && c < QS_CHANNELS; c++) {
        json_t *channel = json_object();

        subject.channel = (enum qs_channel)c;
        ok = put(channels, qs_channel_key(subject.channel), channel) &&
             put_figures(channel, group, &subject);
    }
    return ok;
}

static bool
put_box(json_t *object, struct qs_box box)
{
    return put(object, "x", json_integer(box.x)) &&
           put(object, "y", json_integer(box.y)) &&
           put(object, "width", json_integer(box.width)) &&
           put(object, "height", json_integer(box.height));
}

static bool
put_exif(json_t *object, const struct qs_frame *frame)
{
    const struct qs_subject subject = {.frame = frame};
    json_t *exif = json_object();

    return put(object, "exif", exif) && put_figures(exif, QS_FIELDS_SHOT, &subject) &&
           put(exif, "camera", text_or_null(frame->shot.camera)) &&
           put(exif, "orientation", json_integer(frame->shot.orientation));
}

static bool
put_encoding(json_t *object, const struct qs_encoding *encoding)
{
    json_t *made = json_object();

    return put(object, "encoding", made) && put(made, "name", text(encoding->name)) &&
           put(made, "from", json_string(encoding_from[encoding->from]));
}

static bool
put_patches(json_t *object, const struct qs_frame *frame)
{
    json_t *patches = json_array();
    bool ok = put(object, "patches", patches);

    for (int i = 0; ok && i < frame->patch_count; i++) {
        const struct qs_patch *patch = &frame->patches[i];
        const struct qs_subject subject = {.frame = frame, .patch = patch};
        json_t *made = json_object();

        ok = json_array_append_new(patches, made) == 0 && put_box(made, patch->box) &&
             put(made, "chosen", json_string(patch->found ? "found" : "given")) &&
             put_channels(made, QS_FIELDS_PATCH, subject);
    }
    return ok;
}

static bool
put_delivery(json_t *object, const struct qs_delivery *delivery)
{
    double pixels = (double)delivery->width * delivery->height;

    return put(object, "size", text(delivery->text)) &&
           put(object, "width", json_integer(delivery->width)) &&
           put(object, "height", json_integer(delivery->height)) &&
           put(object, "megapixels", number(pixels / 1e6));
}

static bool
put_filter(json_t *object, enum qs_filter filter)
{
    return put(object, "filter", json_string(qs_filter_row(filter)->key));
}

static bool
put_falls(json_t *object, const struct qs_frame *frame)
{
    json_t *falls = json_array();
    bool ok = put(object, "falls", falls);

    for (int i = 0; ok && i < frame->fall_count; i++) {
        const struct qs_fall_row *row = &frame->falls[i];
        const struct qs_subject subject = {
            .frame = frame, .patch = &frame->patches[row->patch], .fall = row};
        json_t *made = json_object();

        ok = json_array_append_new(falls, made) == 0 &&
             put(made, "patch", json_integer(row->patch)) &&
             put_delivery(made, &frame->deliveries[row->delivery]) &&
             put_filter(made, row->filter) &&
             put_figures(made, QS_FIELDS_SIZE, &subject) &&
             put_channels(made, QS_FIELDS_FALL, subject);
    }
    return ok;
}

static bool
put_worth(json_t *channel, struct qs_frame_worth worth)
{
    bool known = worth.patches > 0;

    return put(channel, "patches", json_integer(worth.patches)) &&
           put(channel, "worth_stops",
               known ? number(worth.worth_stops) : json_null()) &&
           put(channel, "worth_se_stops", known ? number(worth.se_stops) : json_null());
}

/* What all patches together say of one size and filter. */
static json_t *
summary_of(const struct qs_frame *frame, int delivery, int filter)
{
    json_t *made = json_object();
    json_t *channels = json_object();
    struct qs_frame_worth worth = {0};
    bool ok = put_delivery(made, &frame->deliveries[delivery]) &&
              put_filter(made, frame->filters[filter]);

    ok = put(made, "channels", channels) && ok;
    for (int c = (int)frame->first; ok && c < QS_CHANNELS; c++) {
        json_t *channel = json_object();

        worth = qs_frame_worth(frame, delivery, filter, (enum qs_channel)c);
        ok = put(channels, qs_channel_key((enum qs_channel)c), channel) &&
             put_worth(channel, worth);
    }
    if (ok && put(made, "ideal_stops", number(worth.ideal_stops)))
        return made;
    json_decref(made);
    return NULL;
}

static bool
put_summary(json_t *object, const struct qs_frame *frame)
{
    json_t *summary = json_array();
    bool ok = put(object, "summary", summary);

    for (int d = 0; d < frame->delivery_count; d++)
        for (int f = 0; ok && f < frame->filter_count; f++)
            ok = json_array_append_new(summary, summary_of(frame, d, f)) == 0;
    return ok;
}

static bool
put_warnings(json_t *object, const struct qs_frame *frame)
{
    json_t *warnings = json_array();
    bool ok = put(object, "warnings", warnings);

    for (int i = 0; ok && i < frame->warning_count; i++) {
        const struct qs_warning *warning = &frame->warnings[i];
        json_t *made = json_object();

        ok = json_array_append_new(warnings, made) == 0 &&
             put(made, "code", json_string(qs_warning_key(warning->code))) &&
             put(made, "text", text(warning->text)) &&
             put(made, "patch",
                 warning->patch >= 0 ? json_integer(warning->patch) : json_null());
    }
    return ok;
}

static bool
put_crop(json_t *object, struct qs_box crop)
{
    json_t *made = json_object();

    return put(object, "crop", made) && put_box(made, crop);
}

static bool
put_frame(json_t *object, const char *path, const struct qs_frame *frame)
{
    return put(object, "file", text(path)) &&
           put(object, "width", json_integer(frame->width)) &&
           put(object, "height", json_integer(frame->height)) &&
           put(object, "channels", json_integer(frame->channels)) &&
           put(object, "bits", json_integer(frame->bits)) && put_exif(object, frame) &&
           put_encoding(object, &frame->encoding) && put_crop(object, frame->crop) &&
           put_patches(object, frame) && put_summary(object, frame) &&
           put_falls(object, frame) && put_warnings(object, frame);
}

/* Writes `value` and frees it; `ok` says whether it could be built. */
static enum qs_status
dump(FILE *out, json_t *value, bool ok, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (!ok || value == NULL)
        status = qs_fail_memory(err);
    else if (json_dumpf(value, out, DUMP_FLAGS) != 0)
        status = qs_fail_write(err);
    json_decref(value);
    return status;
}

static void *
allocate(size_t size)
{
    return qs_alloc(size, 1);
}

/* How every document of the program begins, up to the list that `key` names. */
static enum qs_status
put_start(FILE *out, const char *key, struct qs_error *err)
{
    json_set_alloc_funcs(allocate, qs_free);
    if (fprintf(out,
                "{\"tool\":\"quietsize\",\"version\":\"%s\",\"format\":%d,"
                "\"%s\":[",
                QS_VERSION, QS_JSON_FORMAT, key) < 0)
        return qs_fail_write(err);
    return QS_OK;
}

enum qs_status
qs_json_start(struct qs_json *json, FILE *out, struct qs_error *err)
{
    enum qs_status status = put_start(out, "frames", err);

    *json = (struct qs_json){.out = out};
    if (status != QS_OK)
        return status;
    json->errors = json_array();
    return json->errors != NULL ? QS_OK : qs_fail_memory(err);
}

enum qs_status
qs_json_frame(struct qs_json *json, const char *path, const struct qs_frame *frame,
              struct qs_error *err)
{
    json_t *object = json_object();
    bool ok = put_frame(object, path, frame);

    if (ok && fputs(json->frames > 0 ? ",\n" : "\n", json->out) < 0) {
        json_decref(object);
        return qs_fail_write(err);
    }
    if (ok)
        json->frames++;
    return dump(json->out, object, ok, err);
}

enum qs_status
qs_json_failed(struct qs_json *json, const char *path, const char *why,
               struct qs_error *err)
{
    json_t *made = json_object();

    if (json_array_append_new(json->errors, made) == 0 &&
        put(made, "file", text(path)) && put(made, "text", text(why)))
        return QS_OK;
    return qs_fail_memory(err);
}

enum qs_status
qs_json_end(struct qs_json *json, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (fputs("],\n\"errors\":", json->out) < 0)
        status = qs_fail_write(err);
    if (status == QS_OK) {
        status = dump(json->out, json->errors, true, err);
        json->errors = NULL;
    }
    if (status == QS_OK && (fputs("}\n", json->out) < 0 || fflush(json->out) != 0))
        status = qs_fail_write(err);
    qs_json_drop(json);
    return status;
}

void
qs_json_drop(struct qs_json *json)
{
    json_decref(json->errors);
    *json = (struct qs_json){0};
}

static json_t *
filter_of(const struct qs_filter_figures *figures)
{
    const struct qs_filter_size *size = figures->size;
    const bool has_frame = size->width > 0;
    json_t *made = json_object();

    if (put_filter(made, figures->filter) && put(made, "size", text(size->text)) &&
        put(made, "width", has_frame ? json_integer(size->width) : json_null()) &&
        put(made, "height", has_frame ? json_integer(size->height) : json_null()) &&
        put(made, "reduction", number(qs_filter_size_reduction(size))) &&
        put(made, "white_noise_gain", number(figures->white_noise_gain)) &&
        put(made, "worth_stops", number(figures->worth_stops)) &&
        put(made, "ideal_stops", number(qs_filter_size_ideal_stops(size))) &&
        put(made, "contrast_half_nyquist", number(figures->contrast_half_nyquist)) &&
        put(made, "contrast_nyquist", number(figures->contrast_nyquist)) &&
        put(made, "alias_share", number(figures->alias_share)) &&
        put(made, "alias_share_1d", number(figures->alias_share_1d)) &&
        put(made, "source", text(qs_filter_row(figures->filter)->source)))
        return made;
    json_decref(made);
    return NULL;
}

enum qs_status
qs_json_filters(FILE *out, const struct qs_filter_figures *figures, int count,
                struct qs_error *err)
{
    enum qs_status status = put_start(out, "filters", err);

    for (int i = 0; i < count && status == QS_OK; i++) {
        if (fputs(i > 0 ? ",\n" : "\n", out) < 0)
            return qs_fail_write(err);
        status = dump(out, filter_of(&figures[i]), true, err);
    }
    if (status == QS_OK && (fputs("]}\n", out) < 0 || fflush(out) != 0))
        status = qs_fail_write(err);
    return status;
}

const char *
qs_json_library_version(void)
{
    return jansson_version_str();
}
