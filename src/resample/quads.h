/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * quads.h - rows of pixels of four floats, shrunk
 *
 * Pixels lie four floats apart, so that one step of the processor takes a whole pixel.
 * Sums go in the order of the taps; the bits don't depend on the processor.
 *
 * Units: linear light, or whatever the rows hold.
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_RESAMPLE_QUADS_H
#define QS_RESAMPLE_QUADS_H

#include "resample/weights.h"

/* out[i] = sum over k of weight[k] x rows[k][i], for `values` floats. */
void
qs_quads_down(const float *const *rows, const float *weight, int taps, int values,
              float *out);

/* One delivered row: out[0 .. across->out) from a row of across->in pixels. */
void
qs_quads_across(const float *row, const struct qs_weights *across, float *out);

#endif
