/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * repeats_survey.h - the first pass over repeats of one scene, all frames in step
 */
#ifndef QS_FRAME_REPEATS_SURVEY_H
#define QS_FRAME_REPEATS_SURVEY_H

#include "base/pool.h"
#include "flat/find.h"
#include "frame/repeats_open.h"
#include "frame/repeats_run.h"

/*
 * Reads all rows of the set's frames.  Fills scene->light, tones and tone_count; finds
 * flat patches in the mean of the frames where `boxes` is not NULL.  Of scene->random
 * the size and `first` are used.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY
 *   QS_ERR_RANGE        frame *culprit holds what is not a number
 *   QS_ERR_UNSUPPORTED  frame *culprit is a copy of another, much brighter or darker,
 *                       shifted, or has something moved
 */
QS_MUST_CHECK enum qs_status
qs_repeats_survey(const struct qs_repeat_set *set, struct qs_pool *pool,
                  qs_frame_progress *progress, void *context,
                  struct qs_same_scene *scene, struct qs_box boxes[QS_FIND_MAX],
                  int *count, int *culprit, struct qs_error *err);

#endif
