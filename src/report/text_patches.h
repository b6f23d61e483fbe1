/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * text_patches.h - the table of patches
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_TEXT_PATCHES_H
#define QS_REPORT_TEXT_PATCHES_H

#include <stdio.h>

#include "base/status.h"
#include "report/digest.h"

/*
 * The patches of a frame that has some, or `most` (>= 2) of them spread over tone,
 * patch `mid` among them.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_text_patches(FILE *out, const struct qs_frame *frame, int most, int mid,
                struct qs_error *err);

#endif
