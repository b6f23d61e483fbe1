/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * survey.h - the first pass over a frame: where it is flat
 */
#ifndef QS_FRAME_SURVEY_H
#define QS_FRAME_SURVEY_H

#include "base/pool.h"
#include "flat/find.h"
#include "frame/frame.h"
#include "image/image.h"
#include "linear/linear.h"

/*
 * Reads all rows of `image` from its next row = row 0 and finds flat patches.  A
 * frame too small to look in has none.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_survey(struct qs_image *image, const struct qs_linear *linear, struct qs_pool *pool,
          qs_frame_progress *progress, void *context, struct qs_box boxes[QS_FIND_MAX],
          int *count, struct qs_error *err);

#endif
