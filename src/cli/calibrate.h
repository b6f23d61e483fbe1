/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * calibrate.h - how bright a camera comes out in known light
 *
 * A frame of an 18 % grey card, with the light that fell on it, tells how far this
 * camera and this way of converting lie from the formula.
 *
 * Method: docs/method/light.md.
 */
#ifndef QS_CLI_CALIBRATE_H
#define QS_CLI_CALIBRATE_H

#include "base/pool.h"
#include "frame/frame.h"
#include "sheet/sheet.h"

/* FRAME=LUX, as typed. */
struct qs_calibration_choice {
    char *path; /* owned; NULL = none */
    double light_lx;
};

/*
 * Reads FRAME=LUX into *choice, which is cleared with qs_calibration_clear.
 *
 *   QS_OK, QS_ERR_USAGE, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_calibration_read(const char *text, struct qs_calibration_choice *choice,
                    struct qs_error *err);

void
qs_calibration_clear(struct qs_calibration_choice *choice);

/*
 * Measures the frame's patch nearest to its middle (the first one given, where patches
 * are) and fills *out.
 *
 *   QS_OK
 *   QS_ERR_USAGE    the frame doesn't tell its ISO, shutter or aperture
 *   QS_ERR_TOO_FEW  no flat patch
 *   QS_ERR_RANGE    the grey is black or clipped
 *   otherwise       statuses of qs_frame_measure
 */
QS_MUST_CHECK enum qs_status
qs_calibrate_by(const struct qs_calibration_choice *choice,
                const struct qs_frame_options *options, struct qs_pool *pool,
                struct qs_sheet_calibration *out, struct qs_error *err);

#endif
