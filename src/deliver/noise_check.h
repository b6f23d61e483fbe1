/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * noise_check.h - what a delivery did to the noise, looked at in the file itself
 *
 * The flat patches found in the source are measured there and at the same places of the
 * delivery, in luminance; the fall that comes out stands beside the one predicted from
 * the source alone.
 *
 * Threads: uses those of the pool it is given.
 * Method: docs/method/deliver.md.
 */
#ifndef QS_DELIVER_NOISE_CHECK_H
#define QS_DELIVER_NOISE_CHECK_H

#include <stdbool.h>

#include "base/pool.h"
#include "base/status.h"
#include "deliver/picture.h"

struct qs_noise_check {
    int patches;     /* that could be compared; 0 = none, and nothing else is filled */
    double fall;     /* sd of the source / sd of the delivery */
    double fall_low; /* 95 % interval */
    double fall_high;
    double predicted;  /* the same, foretold */
    bool as_predicted; /* nothing speaks against it */
};

/*
 * Compares the files `source` and `target`, which was delivered from it by `order`.
 *
 *   QS_OK       *out is filled
 *   otherwise   statuses of qs_frame_measure
 */
QS_MUST_CHECK enum qs_status
qs_noise_check(const char *source, const struct qs_image_info *info, const char *target,
               const struct qs_picture_order *order,
               const struct qs_picture_sides *sides, struct qs_pool *pool,
               struct qs_noise_check *out, struct qs_error *err);

#endif
