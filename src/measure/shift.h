/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shift.h - how far two pictures of one scene are shifted against each other
 *
 * Phase correlation over several windows together, each frequency weighted by how
 * well the windows agree on it; then the slope of the phases over frequency for the
 * part of a pixel.
 *
 * Units: pixels of the planes given; positive is right and down.
 * Threads: results depend on the arguments alone; safe from any thread.
 * Method: docs/method/repeats.md, equations R21 to R23.
 */
#ifndef QS_MEASURE_SHIFT_H
#define QS_MEASURE_SHIFT_H

#include <stdbool.h>

#include "base/status.h"

struct qs_shift {
    double x;
    double y;
    double peak;  /* of the correlation, in its own rms; chance hardly gets over 6 */
    double still; /* the same at shift 0 */
    double
        left; /* share of the windows' difference left once the shift is taken back */
};

/*
 * Finds the shift that turns the windows of `a` into those of `b`; each is side x side
 * values, row by row, side even and at least 16.  Shifts up to about side / 3 are
 * found.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_shift_find(const float *const *a, const float *const *b, int windows, int side,
              struct qs_shift *out, struct qs_error *err);

/* Whether the planes show the same at some shift, 0 or other. */
bool
qs_shift_is_seen(const struct qs_shift *shift);

/*
 * Whether the correlation names a shift of most of a pixel or more, for planes that
 * are known to be shifted.
 */
bool
qs_shift_is_named(const struct qs_shift *shift);

/* Whether the planes are surely shifted against each other by most of a pixel or more.
 */
bool
qs_shift_is_sure(const struct qs_shift *shift);

#endif
