/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/json_values.h"

#include <math.h>

#include "base/memory.h"
#include "base/plain_text.h"

bool
qs_json_put(json_t *object, const char *key, json_t *value)
{
    return json_object_set_new(object, key, value) == 0;
}

json_t *
qs_json_text(const char *value)
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

json_t *
qs_json_number(double value)
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

bool
qs_json_put_figures(json_t *object, enum qs_field_group group,
                    const struct qs_subject *subject)
{
    int count;
    const struct qs_field *fields = qs_fields(group, &count);
    bool ok = true;

    for (int i = 0; i < count; i++)
        ok &= qs_json_put(object, fields[i].key, figure(&fields[i], subject));
    return ok;
}

bool
qs_json_put_channels(json_t *object, enum qs_field_group group,
                     struct qs_subject subject)
{
    json_t *channels = json_object();
    bool ok = qs_json_put(object, "channels", channels);

    for (int c = (int)subject.frame->first; ok && c < QS_CHANNELS; c++) {
        json_t *channel = json_object();

        subject.channel = (enum qs_channel)c;
        ok = qs_json_put(channels, qs_channel_key(subject.channel), channel) &&
             qs_json_put_figures(channel, group, &subject);
    }
    return ok;
}

bool
qs_json_put_box(json_t *object, struct qs_box box)
{
    return qs_json_put(object, "x", json_integer(box.x)) &&
           qs_json_put(object, "y", json_integer(box.y)) &&
           qs_json_put(object, "width", json_integer(box.width)) &&
           qs_json_put(object, "height", json_integer(box.height));
}

bool
qs_json_put_delivery(json_t *object, const struct qs_delivery *delivery)
{
    double pixels = (double)delivery->width * delivery->height;

    return qs_json_put(object, "size", qs_json_text(delivery->text)) &&
           qs_json_put(object, "width", json_integer(delivery->width)) &&
           qs_json_put(object, "height", json_integer(delivery->height)) &&
           qs_json_put(object, "megapixels", qs_json_number(pixels / 1e6));
}

bool
qs_json_put_filter(json_t *object, enum qs_filter filter)
{
    return qs_json_put(object, "filter", json_string(qs_filter_row(filter)->key));
}

bool
qs_json_put_falls(json_t *object, const struct qs_frame *frame)
{
    json_t *falls = json_array();
    bool ok = qs_json_put(object, "falls", falls);

    for (int i = 0; ok && i < frame->fall_count; i++) {
        const struct qs_fall_row *row = &frame->falls[i];
        const struct qs_subject subject = {
            .frame = frame, .patch = &frame->patches[row->patch], .fall = row};
        json_t *made = json_object();

        ok = json_array_append_new(falls, made) == 0 &&
             qs_json_put(made, "patch", json_integer(row->patch)) &&
             qs_json_put_delivery(made, &frame->deliveries[row->delivery]) &&
             qs_json_put_filter(made, row->filter) &&
             qs_json_put_figures(made, QS_FIELDS_SIZE, &subject) &&
             qs_json_put_channels(made, QS_FIELDS_FALL, subject);
    }
    return ok;
}

bool
qs_json_put_warnings(json_t *object, const struct qs_frame *frame)
{
    json_t *warnings = json_array();
    bool ok = qs_json_put(object, "warnings", warnings);

    for (int i = 0; ok && i < frame->warning_count; i++) {
        const struct qs_warning *warning = &frame->warnings[i];
        json_t *made = json_object();

        ok = json_array_append_new(warnings, made) == 0 &&
             qs_json_put(made, "code", json_string(qs_warning_key(warning->code))) &&
             qs_json_put(made, "text", qs_json_text(warning->text)) &&
             qs_json_put(made, "patch",
                         warning->patch >= 0 ? json_integer(warning->patch)
                                             : json_null());
    }
    return ok;
}
