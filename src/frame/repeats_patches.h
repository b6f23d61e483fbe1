/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * repeats_patches.h - random and fixed noise of the patches of one scene
 *
 * Takes the frames one after the other.  Of each patch only the mean of the frames so
 * far is kept; a further frame's difference from it is the contrast that is measured.
 */
#ifndef QS_FRAME_REPEATS_PATCHES_H
#define QS_FRAME_REPEATS_PATCHES_H

#include "base/pool.h"
#include "frame/patch_figures.h"
#include "frame/repeats_open.h"
#include "frame/repeats_run.h"

/*
 * Fills scene->patches, and channels and falls of scene->random, whose other fields are
 * set, as is scene->light.  `margin` is how many pixels around a patch the longest
 * kernel sees.  The images are read from their first row.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY, QS_ERR_RANGE; *culprit is then the frame
 */
QS_MUST_CHECK enum qs_status
qs_repeats_patches(const struct qs_repeat_set *set, const struct qs_patch_task *task,
                   int margin, struct qs_pool *pool, qs_frame_progress *progress,
                   void *context, struct qs_same_scene *scene, int *culprit,
                   struct qs_error *err);

#endif
