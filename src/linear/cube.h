/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * cube.h - linear light from an RGB profile that is a table
 *
 * A table mixes the channels and ends in XYZ.  The cube takes that XYZ apart again
 * into primaries, so that device black is 0,0,0 and device white 1,1,1, and goes on
 * outside the table.  Knows nothing of how profiles are stored.
 *
 * Units: fractions of the code range to linear light.
 * Threads: after qs_cube_prepare a cube is only read, and may be shared where
 * its to_xyz may.
 * Memory: nothing is allocated; `table` is the caller's.
 * Method: docs/method/linear.md, L9 and L10.
 */
#ifndef QS_LINEAR_CUBE_H
#define QS_LINEAR_CUBE_H

#include <stdbool.h>

#include "linear/matrix3.h"

/* Pixels that are looked up in one go. */
#define QS_CUBE_CHUNK_PX 256

struct qs_cube {
    /* XYZ of `count` pixels r, g, b in [0, 1]; count <= QS_CUBE_CHUNK_PX */
    void (*to_xyz)(void *table, const float *rgb, float *xyz, int count);
    void *table;
    double black_xyz[3];      /* XYZ of device black */
    double white_xyz[3];      /* XYZ of device white, less black */
    struct qs_matrix3 to_rgb; /* XYZ less black to r, g, b */
};

/*
 * Measures black and white of a cube whose to_xyz and table are set, and gives in
 * the columns of *primaries the XYZ of full red, green and blue less black.
 */
void
qs_cube_measure(struct qs_cube *cube, struct qs_matrix3 *primaries);

/*
 * Makes `primaries` those of the cube, after scaling its columns so that they add
 * up to white.  False, and the cube not usable, where they cannot: on one plane,
 * or white not inside them.
 */
bool
qs_cube_prepare(struct qs_cube *cube, struct qs_matrix3 *primaries);

/*
 * Light of `count` pixels, any number.  `in` and `out` are planes r, g, b and may
 * be the same.  A pixel with a NaN gives NaN.
 */
void
qs_cube_light(const struct qs_cube *cube, const float *const in[3], int count,
              float *const out[3]);

#endif
