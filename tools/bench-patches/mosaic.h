/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * mosaic.h - a frame seen through a colour mosaic, and made whole again
 *
 * For the patch benchmark alone.  Both ways are linear filters of the mosaic, so that
 * the variance of what they give is known: the sum of the sites' own variances, each
 * times its weight squared.
 */
#ifndef BENCH_MOSAIC_H
#define BENCH_MOSAIC_H

#include "base/channel.h"

enum mosaic_filter {
    MOSAIC_BILINEAR, /* means of the nearest samples of a colour */
    MOSAIC_GRADIENT  /* 5 x 5 filters of Malvar, He and Cutler 2004; from memory */
};

/*
 * Keeps of r, g and b (planes of width x height) the colour that each pixel of an RGGB
 * mosaic has, and fills in the rest.  variance[c] holds on entry that of the samples
 * of colour c, on return that of plane c; variance[QS_Y] that of their sum weighted
 * by `luminance`.
 */
void
mosaic_pass(float *const plane[QS_CHANNELS], float *const variance[QS_CHANNELS],
            int width, int height, enum mosaic_filter filter,
            const double luminance[3]);

#endif
