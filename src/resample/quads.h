/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * quads.h - rows of pixels of four floats, shrunk
 *
 * Source pixels lie four floats apart, so that one step of the processor takes a whole
 * pixel; delivered ones lie close.
 * Sums go in the order of the taps; the bits don't depend on the processor.
 *
 * Units: linear light, or whatever the rows hold.
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_RESAMPLE_QUADS_H
#define QS_RESAMPLE_QUADS_H

#include <stdbool.h>

#include "resample/weights.h"

/* out[i] = sum over k of weight[k] x rows[k][i], for `values` floats. */
void
qs_quads_down(const float *const *rows, const float *weight, int taps, int values,
              float *out);

/* One row of such a sum: out[i] = weight x row[i] with `starts`, else added to it.  Row
   by row the same bits as all at once. */
void
qs_quads_add(const float *row, float weight, int values, bool starts, float *out);

/* Floats of a pixel that go on. */
enum qs_quad_part {
    QS_QUAD_FIRST = 1,  /* grey */
    QS_QUAD_ENDS = 2,   /* grey and alpha, the fourth */
    QS_QUAD_COLOUR = 3, /* r, g, b */
    QS_QUAD_ALL = 4
};

/*
 * One delivered row of across->out pixels, each of as many floats as `part` says, from
 * a row of across->in quads.  `out` has room for four floats more.
 */
void
qs_quads_across(const float *row, const struct qs_weights *across,
                enum qs_quad_part part, float *out);

#endif
