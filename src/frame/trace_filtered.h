/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace_filtered.h - the warnings that the noise was smoothed or sharpened
 */
#ifndef QS_FRAME_TRACE_FILTERED_H
#define QS_FRAME_TRACE_FILTERED_H

#include "frame/frame.h"
#include "measure/traces_sites.h"

/*
 * Adds noise-reduced or sharpened, where `count` patches of noise alone show it
 * together. Blocks make neighbours differ across their borders: a `lossy` frame is not
 * called sharpened.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_remark_filtered(const struct qs_sites *sites, int count, bool lossy,
                   struct qs_frame *frame, struct qs_error *err);

#endif
