/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>

#include "base/write_reason.h"
#include "report/delivered.h"
#include "report/json.h"
#include "report/json_values.h"

/* Seventeen digits bring every double back (IEEE 754 binary64). */
#define DUMP_FLAGS (JSON_REAL_PRECISION(17) | JSON_INDENT(1))

static const char *const states[] = {[QS_DELIVERED] = "delivered",
                                     [QS_DELIVERED_BEFORE] = "finished-before",
                                     [QS_DELIVERED_NOT_YET] = "dry-run"};

static const char *const alphas[] = {[QS_ALPHA_NONE] = "none",
                                     [QS_ALPHA_STRAIGHT] = "straight",
                                     [QS_ALPHA_MULTIPLIED] = "multiplied",
                                     [QS_ALPHA_MASK] = "mask"};

static const char *const encodings[] = {[QS_FROM_PROFILE] = "profile",
                                        [QS_FROM_TAG] = "tag",
                                        [QS_FROM_OPTION] = "option",
                                        [QS_FROM_ASSUMED] = "assumed"};

enum qs_status
qs_delivered_json_start(struct qs_delivered_json *json, struct qs_error *err)
{
    *json = (struct qs_delivered_json){json_array(), json_array()};
    return json->deliveries != NULL && json->errors != NULL ? QS_OK
                                                            : qs_fail_memory(err);
}

static bool
put_carried(json_t *object, const struct qs_picture_done *done)
{
    json_t *made = json_object();

    return qs_json_put(object, "carried", made) &&
           qs_json_put(made, "profile", json_boolean(done->has_profile)) &&
           qs_json_put(made, "tags", json_integer((json_int_t)done->tags)) &&
           qs_json_put(made, "lost_tags", json_integer((json_int_t)done->lost_tags)) &&
           qs_json_put(made, "xmp", json_boolean(done->has_xmp)) &&
           qs_json_put(made, "iptc", json_boolean(done->has_iptc)) &&
           qs_json_put(made, "alpha", json_string(alphas[done->alpha])) &&
           qs_json_put(made, "orientation", json_integer(done->orientation)) &&
           qs_json_put(made, "turned", json_boolean(done->turned)) &&
           qs_json_put(made, "ppi",
                       done->ppi > 0.0 ? qs_json_number(done->ppi) : json_null()) &&
           qs_json_put(made, "encoding_from",
                       json_string(encodings[done->encoding_from]));
}

static bool
put_check(json_t *object, const struct qs_noise_check *check)
{
    json_t *made = json_object();
    bool well = qs_json_put(object, "check", made) &&
                qs_json_put(made, "patches", json_integer(check->patches));

    if (check->patches == 0)
        return well;
    return well && qs_json_put(made, "fall", qs_json_number(check->fall)) &&
           qs_json_put(made, "fall_low", qs_json_number(check->fall_low)) &&
           qs_json_put(made, "fall_high", qs_json_number(check->fall_high)) &&
           qs_json_put(made, "fall_predicted", qs_json_number(check->predicted)) &&
           qs_json_put(made, "as_predicted", json_boolean(check->as_predicted));
}

static bool
put_order(json_t *object, const struct qs_picture_order *order)
{
    return qs_json_put(object, "size", qs_json_text(order->size.text)) &&
           qs_json_put_filter(object, order->filter) &&
           qs_json_put(object, "bits", json_integer(order->bits)) &&
           qs_json_put(object, "format",
                       json_string(order->format == QS_FILE_PNG ? "png" : "tiff")) &&
           qs_json_put(object, "compress",
                       json_string(qs_compression_kind(order->compression)->key));
}

static bool
put_all(json_t *object, const struct qs_delivered *delivered)
{
    const struct qs_picture_sides *sides = &delivered->done.sides;
    bool well =
        qs_json_put(object, "file", qs_json_text(delivered->source)) &&
        qs_json_put(object, "target", qs_json_text(delivered->target)) &&
        qs_json_put(object, "state", json_string(states[delivered->state])) &&
        qs_json_put(object, "width", json_integer(sides->final_width)) &&
        qs_json_put(object, "height", json_integer(sides->final_height)) &&
        put_order(object, delivered->order) &&
        qs_json_put(object, "bytes", json_integer((json_int_t)delivered->bytes)) &&
        qs_json_put(object, "seconds", qs_json_number(delivered->seconds));

    if (well && delivered->state == QS_DELIVERED)
        well = put_carried(object, &delivered->done);
    if (well && delivered->has_check)
        well = put_check(object, &delivered->check);
    return well;
}

enum qs_status
qs_delivered_json_add(struct qs_delivered_json *json,
                      const struct qs_delivered *delivered, struct qs_error *err)
{
    json_t *made = json_object();

    if (json_array_append_new(json->deliveries, made) == 0 && put_all(made, delivered))
        return QS_OK;
    return qs_fail_memory(err);
}

enum qs_status
qs_delivered_json_failed(struct qs_delivered_json *json, const char *source,
                         const char *target, const char *why, struct qs_error *err)
{
    json_t *made = json_object();

    if (json_array_append_new(json->errors, made) == 0 &&
        qs_json_put(made, "file", qs_json_text(source)) &&
        qs_json_put(made, "target",
                    target != NULL ? qs_json_text(target) : json_null()) &&
        qs_json_put(made, "text", qs_json_text(why)))
        return QS_OK;
    return qs_fail_memory(err);
}

enum qs_status
qs_delivered_json_write(struct qs_delivered_json *json, FILE *out, struct qs_error *err)
{
    json_t *document = json_object();
    enum qs_status status = QS_OK;

    if (!qs_json_put(document, "tool", json_string("quietsize")) ||
        !qs_json_put(document, "version", json_string(QS_VERSION)) ||
        !qs_json_put(document, "format", json_integer(QS_JSON_FORMAT)) ||
        !qs_json_put(document, "deliveries", json_incref(json->deliveries)) ||
        !qs_json_put(document, "errors", json_incref(json->errors)))
        status = qs_fail_memory(err);
    else if (json_dumpf(document, out, DUMP_FLAGS) != 0 || fputc('\n', out) == EOF ||
             fflush(out) != 0)
        status = qs_fail_write(err);
    json_decref(document);
    return status;
}

void
qs_delivered_json_drop(struct qs_delivered_json *json)
{
    json_decref(json->deliveries);
    json_decref(json->errors);
    *json = (struct qs_delivered_json){NULL, NULL};
}
