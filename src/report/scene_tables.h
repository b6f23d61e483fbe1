/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * scene_tables.h - the tables of a scene's report
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_SCENE_TABLES_H
#define QS_REPORT_SCENE_TABLES_H

#include <stdio.h>

#include "base/status.h"
#include "frame/repeats_run.h"

/*
 * Patches of a scene that has some, or `most` (>= 2) of them spread over tone, patch
 * `mid` among them: the parts of the noise, then what rows and columns have in each,
 * then what averaging would leave.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_scene_patches(FILE *out, const struct qs_same_scene *scene, int most, int mid,
                 struct qs_error *err);

/* Random noise over tone, of luminance and the colours.  QS_OK or QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_scene_tones(FILE *out, const struct qs_same_scene *scene, struct qs_error *err);

#endif
