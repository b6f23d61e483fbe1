/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_dct.h - the steps in which lossy compression kept the waves of its blocks
 *
 * JPEG (ITU-T T.81) turns blocks of 8 x 8 pixels into waves by a cosine transform and
 * rounds each to a multiple of its step.  Where noise is stronger than the steps,
 * blocks can't be seen by their borders; but transformed again on the same grid, the
 * waves still come in multiples.  On the 63 other grids they don't, and tell what
 * chance does.
 *
 * Only pictures that were never scaled, turned or recoloured since can show it.
 *
 * Threads: depends on the arguments alone.
 * Method: docs/method/traces.md, equations T38 to T40.
 */
#ifndef QS_MEASURE_TRACES_DCT_H
#define QS_MEASURE_TRACES_DCT_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"

enum {
    QS_DCT_GRIDS = 64,
    QS_DCT_LEAST_PX = 40 /* a patch with a shorter side tells nothing */
};

/* What one patch says. */
struct qs_dct_steps {
    bool known;
    double
        score[QS_DCT_GRIDS]; /* by y * 8 + x of a block's top left pixel in the frame,
                                modulo 8: how far multiples show; mean 0, sd 1 */
};

/*
 * Looks at the middle of a patch whose top left pixel is (frame_x, frame_y), of 1 or 3
 * planes in linear light, for a picture that was sRGB when it was compressed.
 *
 *   QS_OK           a patch that is too small is not `known`
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_dct_steps_look(const struct qs_plane *planes, int channels, int frame_x, int frame_y,
                  struct qs_dct_steps *out, struct qs_error *err);

/* The grid that stands out most over all patches, and by how many sd of chance. */
struct qs_dct_answer {
    bool seen;
    int x;
    int y;
    double sure;
};

void
qs_dct_steps_judge(const struct qs_dct_steps *const *steps, int count,
                   struct qs_dct_answer *out);

#endif
