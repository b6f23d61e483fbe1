/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * show.h - a picture of where the figures come from
 *
 * The frame, made small, with each patch outlined and numbered as the tables number
 * them, from 1.  Outlines and numbers are dark and light together, so that they
 * show on any tone, in print without colour and to any eye.
 *
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_SHOW_H
#define QS_REPORT_SHOW_H

#include <stdio.h>

#include "frame/preview.h"

enum {
    QS_SHOW_MOST_PX = 1600 /* long edge of the picture */
};

/*
 * Writes `preview`, which was made of *frame, with the frame's patches as a PNG to
 * `out`.
 *
 *   QS_OK
 *   QS_ERR_WRITE   `out` took no more
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_show(FILE *out, const struct qs_preview *preview, const struct qs_frame *frame,
        struct qs_error *err);

/* Cairo's version, as linked. */
const char *
qs_show_library_version(void);

#endif
