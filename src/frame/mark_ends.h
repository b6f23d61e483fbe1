/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * mark_ends.h - which patches lie near an end of the range
 */
#ifndef QS_FRAME_MARK_ENDS_H
#define QS_FRAME_MARK_ENDS_H

#include "frame/frame.h"
#include "image/image.h"
#include "linear/linear.h"

/*
 * Sets near_low and near_high of all patches: within 3 sd of an end of the code range,
 * or of a value that highlights pile up at.
 */
void
qs_mark_ends(const struct qs_image_info *info, const struct qs_linear *linear,
             struct qs_frame *frame);

#endif
