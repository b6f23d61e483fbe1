/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * repeats_open.h - all frames of one scene opened, and alike
 */
#ifndef QS_FRAME_REPEATS_OPEN_H
#define QS_FRAME_REPEATS_OPEN_H

#include "frame/frame.h"
#include "image/image.h"
#include "linear/linear.h"

/* The frames of a scene, being read. */
struct qs_repeat_set {
    int count;
    const char *const *paths;
    struct qs_image **images;
    struct qs_linear **linears;
};

/*
 * Opens all frames and fills *frame, as qs_frame_open does, from the first.
 *
 *   QS_OK      close with qs_repeat_set_close, as after every failure
 *   otherwise  statuses of qs_frame_open, and
 *   QS_ERR_UNSUPPORTED  frame *culprit differs from the first one in its size,
 *              channels, bits, encoding, ISO or shutter
 */
QS_MUST_CHECK enum qs_status
qs_repeat_set_open(const char *const *paths, int count,
                   const struct qs_frame_options *options, struct qs_repeat_set *set,
                   struct qs_frame *frame, int *culprit, struct qs_error *err);

void
qs_repeat_set_close(struct qs_repeat_set *set);

#endif
