/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/json.h"

#include <jansson.h>
#include <math.h>

#include "base/memory.h"
#include "frame/verdict.h"
#include "report/fields.h"
#include "report/json_scene.h"
#include "report/json_values.h"
#include "base/write_reason.h"

/* Seventeen digits bring every double back (IEEE 754 binary64). */
#define DUMP_FLAGS (JSON_REAL_PRECISION(17) | JSON_COMPACT)

static const char *const encoding_from[] = {
    [QS_FROM_PROFILE] = "profile",
    [QS_FROM_TAG] = "tag",
    [QS_FROM_OPTION] = "option",
    [QS_FROM_ASSUMED] = "assumed",
};

static json_t *
text_or_null(const char *value)
{
    return *value != '\0' ? qs_json_text(value) : json_null();
}

static bool
put_exif(json_t *object, const struct qs_frame *frame)
{
    const struct qs_subject subject = {.frame = frame};
    json_t *exif = json_object();

    return qs_json_put(object, "exif", exif) &&
           qs_json_put_figures(exif, QS_FIELDS_SHOT, &subject) &&
           qs_json_put(exif, "camera", text_or_null(frame->shot.camera)) &&
           qs_json_put(exif, "orientation", json_integer(frame->shot.orientation));
}

static bool
put_encoding(json_t *object, const struct qs_encoding *encoding)
{
    json_t *made = json_object();

    return qs_json_put(object, "encoding", made) &&
           qs_json_put(made, "name", qs_json_text(encoding->name)) &&
           qs_json_put(made, "from", json_string(encoding_from[encoding->from]));
}

static bool
put_patches(json_t *object, const struct qs_frame *frame)
{
    json_t *patches = json_array();
    bool ok = qs_json_put(object, "patches", patches);

    for (int i = 0; ok && i < frame->patch_count; i++) {
        const struct qs_patch *patch = &frame->patches[i];
        const struct qs_subject subject = {.frame = frame, .patch = patch};
        json_t *made = json_object();

        ok = json_array_append_new(patches, made) == 0 &&
             qs_json_put_box(made, patch->box) &&
             qs_json_put(made, "chosen",
                         json_string(patch->found ? "found" : "given")) &&
             qs_json_put(made, "near_black",
                         json_boolean(patch->channel[QS_Y].near_low)) &&
             qs_json_put(made, "near_white",
                         json_boolean(patch->channel[QS_Y].near_high)) &&
             qs_json_put_channels(made, QS_FIELDS_PATCH, subject);
    }
    return ok;
}

static bool
put_worth(json_t *channel, struct qs_frame_worth worth)
{
    bool known = worth.patches > 0;

    return qs_json_put(channel, "patches", json_integer(worth.patches)) &&
           qs_json_put(channel, "worth_stops",
                       known ? qs_json_number(worth.worth_stops) : json_null()) &&
           qs_json_put(channel, "worth_se_stops",
                       known ? qs_json_number(worth.se_stops) : json_null());
}

/* What all patches together say of one size and filter. */
static json_t *
summary_of(const struct qs_frame *frame, int delivery, int filter)
{
    json_t *made = json_object();
    json_t *channels = json_object();
    struct qs_frame_worth worth = {0};
    bool ok = qs_json_put_delivery(made, &frame->deliveries[delivery]) &&
              qs_json_put_filter(made, frame->filters[filter]);

    ok = qs_json_put(made, "channels", channels) && ok;
    for (int c = (int)frame->first; ok && c < QS_CHANNELS; c++) {
        json_t *channel = json_object();

        worth = qs_frame_worth(frame, delivery, filter, (enum qs_channel)c);
        ok = qs_json_put(channels, qs_channel_key((enum qs_channel)c), channel) &&
             put_worth(channel, worth);
    }
    if (ok && qs_json_put(made, "ideal_stops", qs_json_number(worth.ideal_stops)))
        return made;
    json_decref(made);
    return NULL;
}

static bool
put_summary(json_t *object, const struct qs_frame *frame)
{
    json_t *summary = json_array();
    bool ok = qs_json_put(object, "summary", summary);

    for (int d = 0; d < frame->delivery_count; d++)
        for (int f = 0; ok && f < frame->filter_count; f++)
            ok = json_array_append_new(summary, summary_of(frame, d, f)) == 0;
    return ok;
}

static bool
put_crop(json_t *object, struct qs_box crop)
{
    json_t *made = json_object();

    return qs_json_put(object, "crop", made) && qs_json_put_box(made, crop);
}

static bool
put_verdict(json_t *object, const struct qs_frame *frame)
{
    json_t *made = json_object();

    return qs_json_put(object, "verdict", made) &&
           qs_json_put(made, "level",
                       json_string(qs_verdict_key(frame->verdict.level))) &&
           qs_json_put(made, "text", qs_json_text(frame->verdict.text));
}

static bool
put_frame(json_t *object, const char *path, const struct qs_frame *frame)
{
    return qs_json_put(object, "file", qs_json_text(path)) &&
           qs_json_put(object, "width", json_integer(frame->width)) &&
           qs_json_put(object, "height", json_integer(frame->height)) &&
           qs_json_put(object, "channels", json_integer(frame->channels)) &&
           qs_json_put(object, "bits", json_integer(frame->bits)) &&
           put_exif(object, frame) && put_encoding(object, &frame->encoding) &&
           put_crop(object, frame->crop) && put_verdict(object, frame) &&
           put_patches(object, frame) && put_summary(object, frame) &&
           qs_json_put_falls(object, frame) && qs_json_put_warnings(object, frame);
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
        qs_json_put(made, "file", qs_json_text(path)) &&
        qs_json_put(made, "text", qs_json_text(why)))
        return QS_OK;
    return qs_fail_memory(err);
}

enum qs_status
qs_json_same_scene(struct qs_json *json, const char *const *paths,
                   const struct qs_same_scene *scene, struct qs_error *err)
{
    json_decref(json->scene);
    json->scene = qs_json_scene(paths, scene);
    return json->scene != NULL ? QS_OK : qs_fail_memory(err);
}

/* Writes `value`, whose ownership goes over, under a key that ends a list. */
static enum qs_status
end_with(FILE *out, const char *key, json_t *value, struct qs_error *err)
{
    if (fprintf(out, ",\n\"%s\":", key) < 0) {
        json_decref(value);
        return qs_fail_write(err);
    }
    return dump(out, value, true, err);
}

enum qs_status
qs_json_end(struct qs_json *json, struct qs_error *err)
{
    enum qs_status status = fputs("]", json->out) < 0 ? qs_fail_write(err) : QS_OK;

    if (status == QS_OK && json->scene != NULL) {
        status = end_with(json->out, "same_scene", json->scene, err);
        json->scene = NULL;
    }
    if (status == QS_OK) {
        status = end_with(json->out, "errors", json->errors, err);
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
    json_decref(json->scene);
    *json = (struct qs_json){0};
}

static json_t *
filter_of(const struct qs_filter_figures *figures)
{
    const struct qs_filter_size *size = figures->size;
    const bool has_frame = size->width > 0;
    json_t *made = json_object();

    if (qs_json_put_filter(made, figures->filter) &&
        qs_json_put(made, "size", qs_json_text(size->text)) &&
        qs_json_put(made, "width",
                    has_frame ? json_integer(size->width) : json_null()) &&
        qs_json_put(made, "height",
                    has_frame ? json_integer(size->height) : json_null()) &&
        qs_json_put(made, "reduction",
                    qs_json_number(qs_filter_size_reduction(size))) &&
        qs_json_put(made, "white_noise_gain",
                    qs_json_number(figures->white_noise_gain)) &&
        qs_json_put(made, "worth_stops", qs_json_number(figures->worth_stops)) &&
        qs_json_put(made, "ideal_stops",
                    qs_json_number(qs_filter_size_ideal_stops(size))) &&
        qs_json_put(made, "contrast_half_nyquist",
                    qs_json_number(figures->contrast_half_nyquist)) &&
        qs_json_put(made, "contrast_nyquist",
                    qs_json_number(figures->contrast_nyquist)) &&
        qs_json_put(made, "alias_share", qs_json_number(figures->alias_share)) &&
        qs_json_put(made, "alias_share_1d", qs_json_number(figures->alias_share_1d)) &&
        qs_json_put(made, "source",
                    qs_json_text(qs_filter_row(figures->filter)->source)))
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
