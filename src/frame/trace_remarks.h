/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace_remarks.h - warnings about what was done to the file
 */
#ifndef QS_FRAME_TRACE_REMARKS_H
#define QS_FRAME_TRACE_REMARKS_H

#include "frame/frame.h"
#include "frame/survey.h"
#include "linear/linear.h"

/*
 * Adds the warnings that follow from the traces of the frame and of its patches,
 * whose ends are marked.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_remark_traces(const struct qs_frame_traces *traces, const struct qs_linear *linear,
                 struct qs_frame *frame, struct qs_error *err);

#endif
