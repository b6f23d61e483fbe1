/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * gather.h - the second pass over a frame: its patches' pixels and figures
 */
#ifndef QS_FRAME_GATHER_H
#define QS_FRAME_GATHER_H

#include "base/pool.h"
#include "frame/frame.h"
#include "frame/patch_figures.h"
#include "image/image.h"

/*
 * Reads the rows of `image` that hold patches, from its next row = row 0, and fills
 * frame->patches' channels and frame->falls, whose other fields are set already.
 * `margin` is how many pixels around a patch the longest kernel sees.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY, QS_ERR_RANGE
 */
QS_MUST_CHECK enum qs_status
qs_gather(struct qs_image *image, const struct qs_patch_task *task, int margin,
          bool fractions, struct qs_pool *pool, qs_frame_progress *progress,
          void *context, struct qs_frame *frame, struct qs_error *err);

#endif
