/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * noise.h - noise of one flat patch in one channel
 *
 * Answers two questions: how much do pixels that ought to be equal differ, and
 * how far can that number be trusted?  Knows planes; knows nothing of files.
 *
 * Units: those of the plane (linear light, 1.0 = white); places in pixels.
 * Threads: results depend on the arguments alone; call from any thread.
 * Method: docs/method/noise.md, equations N1 to N12.
 */
#ifndef QS_MEASURE_NOISE_H
#define QS_MEASURE_NOISE_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"
#include "measure/shape.h"

struct qs_noise {
    double mean;
    double sd;      /* after second-order shading is taken off, its part given back */
    double sd_low;  /* 95 % interval of sd, */
    double sd_high; /*   the noise's correlation counted */
    double freedom; /* effective degrees of freedom of sd^2; 0 where sd is 0 */
    double row_sd;  /* noise whole rows share, the pixel noise's own part taken off */
    double column_sd;
    bool has_grain;  /* false where sd is 0 or the patch is too small to tell */
    double grain_px; /* sqrt(NPS(0+) / sd^2); 1 = independent pixels */
};

/* A variance's 95 % interval of the sd, from its effective degrees of freedom > 0. */
void
qs_noise_interval(double sd, double freedom, double *low, double *high);

/*
 * Measures the whole of `plane`, both sides at least QS_SHADING_MIN_PX.  (frame_x,
 * frame_y) is its top left pixel in the frame.  *shape is filled for lags up
 * to lags_x, lags_y and is to be cleared by the caller with qs_noise_shape_clear.
 *
 *   QS_OK           *out and *shape are filled
 *   QS_ERR_TOO_FEW  a side is shorter than QS_SHADING_MIN_PX
 *   QS_ERR_RANGE    a pixel is not a finite number
 *   QS_ERR_MEMORY
 *
 * *out keeps its old contents and *shape is empty unless the result is QS_OK.
 */
QS_MUST_CHECK enum qs_status
qs_noise_measure(const struct qs_plane *plane, int frame_x, int frame_y, int lags_x,
                 int lags_y, struct qs_noise *out, struct qs_noise_shape *shape,
                 struct qs_error *err);

#endif
