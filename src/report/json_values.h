/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * json_values.h - small steps of building JSON
 *
 * They take what they are given, NULL too, and hand on whether it worked: building
 * goes on after a failed allocation and what was built is dropped at its end.
 * json_*_set_new and json_array_append_new do the freeing.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_JSON_VALUES_H
#define QS_REPORT_JSON_VALUES_H

#include <jansson.h>
#include <stdbool.h>

#include "base/plane.h"
#include "frame/frame.h"
#include "report/fields.h"

/* Puts `value`, whose ownership goes over, under `key`. */
bool
qs_json_put(json_t *object, const char *key, json_t *value);

/* A text made valid UTF-8. */
json_t *
qs_json_text(const char *value);

/* A number, null where it is not finite. */
json_t *
qs_json_number(double value);

/* "x", "y", "width", "height". */
bool
qs_json_put_box(json_t *object, struct qs_box box);

/* "size", "width", "height", "megapixels". */
bool
qs_json_put_delivery(json_t *object, const struct qs_delivery *delivery);

/* "filter". */
bool
qs_json_put_filter(json_t *object, enum qs_filter filter);

/* One group of the subject's figures, by their keys. */
bool
qs_json_put_figures(json_t *object, enum qs_field_group group,
                    const struct qs_subject *subject);

/* "channels": {"r": {...}, ...}: a group of figures in every channel the frame has. */
bool
qs_json_put_channels(json_t *object, enum qs_field_group group,
                     struct qs_subject subject);

/* "falls": those of all patches, sizes and filters. */
bool
qs_json_put_falls(json_t *object, const struct qs_frame *frame);

/* "warnings". */
bool
qs_json_put_warnings(json_t *object, const struct qs_frame *frame);

#endif
