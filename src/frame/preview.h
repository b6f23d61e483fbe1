/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * preview.h - a frame made small enough to look at
 *
 * Each pixel is the mean of the light that falls on its area, shown by sRGB's curve;
 * light outside of 0 to 1 is shown as black or white.  Colours stay those of the
 * file's primaries: a picture to find places in, not to judge colour by.
 *
 * Memory: the small picture and a strip.
 * Threads: one at a time.
 */
#ifndef QS_FRAME_PREVIEW_H
#define QS_FRAME_PREVIEW_H

#include "frame/frame.h"

struct qs_preview {
    int width;
    int height;
    unsigned char *rgb; /* [height][width][3] */
};

/*
 * Reads the frame in file `path` and shrinks it so that its long edge is at most
 * `most_px`; a smaller frame keeps its size.
 *
 *   QS_OK      clear with qs_preview_clear
 *   otherwise  statuses of qs_image_open, qs_image_read and qs_linear_new
 */
QS_MUST_CHECK enum qs_status
qs_preview_make(const char *path, const struct qs_frame_options *options, int most_px,
                struct qs_preview *out, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_preview_clear(struct qs_preview *preview);

#endif
