/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * patch_pixels.h - the pixels of one patch and of what lies around it
 */
#ifndef QS_FRAME_PATCH_PIXELS_H
#define QS_FRAME_PATCH_PIXELS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/channel.h"
#include "base/plane.h"
#include "base/status.h"
#include "frame/strips.h"
#include "linear/linear.h"

struct qs_patch_pixels {
    struct qs_box box;  /* the patch, in the frame */
    struct qs_box area; /* the pixels held: the patch and a margin, within the frame */
    enum qs_channel first;
    float *plane[QS_CHANNELS]; /* linear light, area's size, from `first` on */
    float *fraction[3];  /* code fractions, where shrinking encoded values; else NULL */
    unsigned char *ends; /* bit c: channel c sits at an end of the code range */
};

/*
 * Makes room for a patch with `margin` pixels around it in a frame of this size.
 *
 *   QS_OK           clear with qs_patch_pixels_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_patch_pixels_init(struct qs_patch_pixels *pixels, struct qs_box box, int margin,
                     int width, int height, enum qs_channel first, bool fractions,
                     struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_patch_pixels_clear(struct qs_patch_pixels *pixels);

/* Bytes held. */
size_t
qs_patch_pixels_bytes(const struct qs_patch_pixels *pixels);

/* Takes row `y` of the area (0 = its top): `codes` are those of all its columns. */
void
qs_patch_pixels_take_row(struct qs_patch_pixels *pixels, int y, const void *codes,
                         const struct qs_linear *linear);

/* Takes what the strip holds of the patch's area. */
void
qs_patch_pixels_take(struct qs_patch_pixels *pixels, const struct qs_strips *strips,
                     const struct qs_linear *linear);

/* One channel of the whole area. */
struct qs_plane
qs_patch_pixels_plane(const struct qs_patch_pixels *pixels, enum qs_channel channel);

#endif
