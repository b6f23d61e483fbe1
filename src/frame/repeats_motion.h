/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * repeats_motion.h - why a frame that moved is no repeat, in words
 */
#ifndef QS_FRAME_REPEATS_MOTION_H
#define QS_FRAME_REPEATS_MOTION_H

#include "base/status.h"
#include "measure/stillness.h"

/*
 *   QS_OK               nothing moved
 *   QS_ERR_UNSUPPORTED  the sentence says what did, where, and by how much
 */
QS_MUST_CHECK enum qs_status
qs_refuse_motion(const struct qs_motion_found *found, struct qs_error *err);

#endif
