/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * gather.h - a pass over a frame that takes out its patches' pixels
 *
 * Where the file holds its pixels one by one, each patch's are read and handed on by a
 * job of its own.  Else the rows that hold patches are read; patches wait for their
 * last row, then several of them are handed on side by side.
 *
 * Memory: a patch for each thread; or the patches whose rows are being read, and those
 * that wait.
 */
#ifndef QS_FRAME_GATHER_H
#define QS_FRAME_GATHER_H

#include <stdbool.h>

#include "base/pool.h"
#include "frame/frame.h"
#include "frame/patch_figures.h"
#include "frame/patch_pixels.h"
#include "image/image.h"
#include "measure/traces_levels.h"

/*
 * What happens to a patch's pixels once they are all there; called from any thread,
 * for several patches at once.  It may change the pixels, which are freed afterwards.
 * A failure ends the pass.
 */
typedef enum qs_status
qs_patch_visit(void *visitor, int patch, struct qs_patch_pixels *pixels,
               struct qs_error *err);

struct qs_gather_plan {
    const struct qs_linear *linear; /* of the image's codes */
    int margin;                     /* pixels around a patch that are taken along */
    bool fractions;                 /* code fractions are wanted as well */
    struct qs_codes *codes; /* where the patches' 16-bit codes are noted, or NULL */
    qs_patch_visit *visit;
    void *visitor;
};

/*
 * Visits each of frame->patches with its pixels out of `image`, from its next row = row
 * 0.  Of *frame the size, `first` and the patches' boxes are used.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY, and what a visit returned
 */
QS_MUST_CHECK enum qs_status
qs_gather_each(struct qs_image *image, const struct qs_frame *frame,
               const struct qs_gather_plan *plan, struct qs_pool *pool,
               qs_frame_progress *progress, void *context, struct qs_error *err);

/*
 * Reads the rows of `image` that hold patches, from its next row = row 0, and fills
 * frame->patches' channels and frame->falls, whose other fields are set already.
 * `margin` is how many pixels around a patch the longest kernel sees.  The patches'
 * codes are noted in *codes, unless that is NULL.
 *
 *   QS_OK, QS_ERR_READ, QS_ERR_MEMORY, QS_ERR_RANGE
 */
QS_MUST_CHECK enum qs_status
qs_gather(struct qs_image *image, const struct qs_patch_task *task, int margin,
          bool fractions, struct qs_codes *codes, struct qs_pool *pool,
          qs_frame_progress *progress, void *context, struct qs_frame *frame,
          struct qs_error *err);

#endif
