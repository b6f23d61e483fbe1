/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * repeat_plane.h - one plane of repeats, measured as the program does
 */
#ifndef QS_TESTS_REPEAT_PLANE_H
#define QS_TESTS_REPEAT_PLANE_H

#include <check.h>

#include "measure/noise.h"
#include "measure/repeats.h"

/* `px` is side x side, a contrast or the mean of frames. */
static inline void
measure_repeat(float *px, int side, struct qs_repeats_plane *out)
{
    struct qs_plane plane = {px, side, side, side};
    struct qs_noise_shape shape;
    struct qs_error err;

    ck_assert(qs_noise_measure(&plane, 0, 0, 0, 0, &out->noise, &shape, &err) == QS_OK);
    qs_noise_shape_clear(&shape);
    ck_assert(qs_repeats_bands(&plane, out, &err) == QS_OK);
}

#endif
