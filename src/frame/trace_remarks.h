/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace_remarks.h - warnings about what was done to the file
 */
#ifndef QS_FRAME_TRACE_REMARKS_H
#define QS_FRAME_TRACE_REMARKS_H

#include "frame/frame.h"
#include "frame/survey.h"
#include "image/image.h"
#include "linear/linear.h"

/*
 * Sets near_low and near_high of all patches: within 3 sd of an end of the code range,
 * or of a value that highlights pile up at.
 */
void
qs_mark_ends(const struct qs_image_info *info, const struct qs_linear *linear,
             struct qs_frame *frame);

/*
 * Adds the warnings that follow from the traces of the frame and of its patches,
 * whose ends are marked.  Uses up traces->waves.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_remark_traces(struct qs_frame_traces *traces, const struct qs_linear *linear,
                 struct qs_frame *frame, struct qs_error *err);

#endif
