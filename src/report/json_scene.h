/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * json_scene.h - repeats of one scene as JSON
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_JSON_SCENE_H
#define QS_REPORT_JSON_SCENE_H

#include <jansson.h>

#include "frame/repeats_run.h"

/* The value of "same_scene", the caller's to free; NULL where memory is short. */
json_t *
qs_json_scene(const char *const *paths, const struct qs_same_scene *scene);

#endif
