/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * patch_figures.h - all figures of one patch, from its pixels
 */
#ifndef QS_FRAME_PATCH_FIGURES_H
#define QS_FRAME_PATCH_FIGURES_H

#include <stdbool.h>

#include "fall/fall.h"
#include "frame/frame.h"
#include "frame/patch_pixels.h"
#include "linear/linear.h"

/*
 * Fills the shares of the patch's samples at either end of the code range.  A pixel's y
 * counts as clipped where any of its channels is.
 */
void
qs_patch_clipped(const struct qs_patch_pixels *pixels, enum qs_channel channel,
                 struct qs_patch_channel *out);

/* What every patch of a frame is measured with. */
struct qs_patch_task {
    const struct qs_linear *linear;
    const struct qs_reduction *reductions; /* by delivery, then filter */
    int reduction_count;
    int lags_x; /* longest lags any reduction needs */
    int lags_y;
    bool traces;  /* look for what was done to the file as well */
    bool signals; /* fill patch->signal as well */
};

/*
 * Fills channel by channel patch->channel, and falls[r * fall_step].channel for each
 * reduction r; and patch->traces, where the task says so.
 *
 *   QS_OK, QS_ERR_MEMORY
 *   QS_ERR_RANGE  a pixel is not a finite number
 */
QS_MUST_CHECK enum qs_status
qs_patch_figures(const struct qs_patch_task *task, const struct qs_patch_pixels *pixels,
                 struct qs_patch *patch, struct qs_fall_row *falls, int fall_step,
                 struct qs_error *err);

#endif
