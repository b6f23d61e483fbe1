/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * text_sizes.h - the table of how noise falls with size
 *
 * Sizes go down; where there are several filters, they go across.
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_TEXT_SIZES_H
#define QS_REPORT_TEXT_SIZES_H

#include <stdio.h>

#include "base/status.h"
#include "report/digest.h"

/* For a frame with patches and sizes.  QS_OK or QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_text_sizes(FILE *out, const struct qs_frame *frame, const struct qs_digest *digest,
              struct qs_error *err);

#endif
