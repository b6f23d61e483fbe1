/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * opening.h - a frame's file opened, and what it says of itself
 */
#ifndef QS_FRAME_OPENING_H
#define QS_FRAME_OPENING_H

#include "frame/deliveries.h"
#include "frame/frame.h"
#include "image/image.h"
#include "linear/linear.h"

/*
 * Opens the frame in file `path` and fills those fields of *frame that follow from the
 * file and the options alone: size, channels, bits, shot, encoding.
 *
 *   QS_OK      *image and *linear are the caller's to close and free
 *   otherwise  statuses of qs_image_open and qs_linear_new; what was opened so far is
 *              the caller's too, the rest is left as it was
 */
QS_MUST_CHECK enum qs_status
qs_frame_open(const char *path, const struct qs_frame_options *options,
              struct qs_image **image, struct qs_linear **linear,
              struct qs_frame *frame, struct qs_error *err);

/*
 * Takes the patches that are given into frame->patches.
 *
 *   QS_OK, QS_ERR_MEMORY
 *   QS_ERR_USAGE  as in qs_frame_measure
 */
QS_MUST_CHECK enum qs_status
qs_frame_take_given(const struct qs_frame_options *options, struct qs_frame *frame,
                    struct qs_error *err);

/* Takes the patches that were found, `count` of them.  QS_OK or QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_frame_take_found(const struct qs_box *boxes, int count, struct qs_frame *frame,
                    struct qs_error *err);

/* Makes the rows of the falls, all but their figures.  QS_OK or QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_frame_make_falls(const struct qs_reductions *reductions, struct qs_frame *frame,
                    struct qs_error *err);

#endif
