/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * survey.h - the first pass over a frame: where it is flat
 */
#ifndef QS_FRAME_SURVEY_H
#define QS_FRAME_SURVEY_H

#include <stdbool.h>

#include "base/pool.h"
#include "flat/find.h"
#include "frame/frame.h"
#include "image/image.h"
#include "linear/linear.h"
#include "measure/traces_blocks.h"
#include "measure/traces_levels.h"
#include "measure/traces_rows.h"

/* What the whole frame shows of what was done to it. */
struct qs_frame_traces {
    bool surveyed;   /* else blocks, waves and shares say nothing */
    double at_black; /* share of pixels with a channel at an end of the codes, dark */
    double at_white; /*   and bright ones */
    struct qs_blocks blocks;
    struct qs_codes codes; /* empty unless codes are of 16 bits */
    struct qs_row_waves waves;
};

/*
 * Prepares *traces for this kind of picture.
 *
 *   QS_OK           clear with qs_frame_traces_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_frame_traces_init(struct qs_frame_traces *traces, const struct qs_image_info *info,
                     struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_frame_traces_clear(struct qs_frame_traces *traces);

/*
 * Reads all rows of `image` from its next row = row 0 and finds flat patches.  A
 * frame too small to look in has none.  Adds what the frame shows to *traces.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_survey(struct qs_image *image, const struct qs_linear *linear, struct qs_pool *pool,
          qs_frame_progress *progress, void *context, struct qs_frame_traces *traces,
          struct qs_box boxes[QS_FIND_MAX], int *count, struct qs_error *err);

#endif
