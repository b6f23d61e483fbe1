/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * deliver_trial.h - how large a delivery would be, and how long it would take
 *
 * Two bands from the middle of the picture are delivered for a trial, into a file in
 * the folder for temporary ones; what the larger took more than the smaller goes on for
 * all of the picture, so that what is needed once counts once.
 *
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_DELIVER_TRIAL_H
#define QS_CLI_DELIVER_TRIAL_H

#include <stdint.h>

#include "base/pool.h"
#include "base/status.h"
#include "deliver/picture.h"

/* QS_OK, or the statuses of qs_image_open and qs_picture_deliver. */
QS_MUST_CHECK enum qs_status
qs_deliver_trial(const char *source, const struct qs_picture_order *order,
                 struct qs_pool *pool, uint64_t *bytes, double *seconds,
                 struct qs_error *err);

#endif
