/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace_stripes.h - the warnings about stripes: banding, and lamps that flicker
 */
#ifndef QS_FRAME_TRACE_STRIPES_H
#define QS_FRAME_TRACE_STRIPES_H

#include "frame/frame.h"
#include "measure/traces_rows.h"

/*
 * Adds what the patches show of rows and columns, and `waves` of the whole frame, whose
 * period goes to *wave_px (0: none).  In a `lossy` frame periods of its blocks of 8 px
 * don't count.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_remark_stripes(const struct qs_row_waves *waves, bool lossy, struct qs_frame *frame,
                  double *wave_px, struct qs_error *err);

#endif
