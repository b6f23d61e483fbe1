/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * remarks.h - what has to be said about a frame before its figures are believed
 */
#ifndef QS_FRAME_REMARKS_H
#define QS_FRAME_REMARKS_H

#include "frame/frame.h"
#include "image/image.h"

/*
 * Adds the warnings that follow from what the file is, before measuring.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_remark_file(const struct qs_image_info *info, struct qs_frame *frame,
               struct qs_error *err);

/* Adds those that follow from the figures. */
QS_MUST_CHECK enum qs_status
qs_remark_figures(struct qs_frame *frame, struct qs_error *err);

#endif
