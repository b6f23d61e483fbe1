/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * text_scene.h - the report of repeats of one scene
 *
 * One sentence with the answer, then tables: random and fixed noise of each patch, what
 * rows and columns have in it, what averaging would give, random noise over tone, how
 * the random part falls with size; then warnings.
 *
 * Whether writing worked is for the caller to ask of the stream.
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_TEXT_SCENE_H
#define QS_REPORT_TEXT_SCENE_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"
#include "frame/repeats_run.h"

/*
 * Writes the scene measured from the files `paths`; at most QS_TEXT_PATCHES patches,
 * spread over tone, but with `all_patches`.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_text_scene(FILE *out, const char *const *paths, const struct qs_same_scene *scene,
              bool all_patches, struct qs_error *err);

#endif
