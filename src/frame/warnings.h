/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * warnings.h - the list of warnings of a frame
 */
#ifndef QS_FRAME_WARNINGS_H
#define QS_FRAME_WARNINGS_H

#include <stdbool.h>

#include "base/status.h"
#include "frame/frame.h"

/*
 * Adds a warning; `patch` is an index or -1 for the whole frame.
 *
 *   QS_OK, QS_ERR_MEMORY (the list is as before)
 */
QS_MUST_CHECK enum qs_status
qs_warn(struct qs_frame *frame, enum qs_warning_code code, int patch,
        struct qs_error *err, const char *format, ...) QS_PRINTF(5, 6);

bool
qs_is_warned(const struct qs_frame *frame, enum qs_warning_code code);

#endif
