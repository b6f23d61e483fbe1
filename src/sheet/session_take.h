/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * session_take.h - what a sheet takes from a measured frame, or from a scene
 */
#ifndef QS_SHEET_SESSION_TAKE_H
#define QS_SHEET_SESSION_TAKE_H

#include "frame/frame.h"
#include "frame/repeats_run.h"
#include "sheet/sheet.h"

/* Why a measured frame can't be used, a plain sentence, or NULL where it can. */
const char *
qs_session_reason(const struct qs_frame *frame);

/*
 * Takes the spectra of the frame's patches, and its noise as points; of a frame that is
 * one of `scene` only that of colour differences, since the scene's own is surer.
 * *record is completed and added.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_session_take(struct qs_sheet_iso *iso, const char *path,
                const struct qs_frame *frame, const struct qs_same_scene *scene,
                struct qs_sheet_frame *record, struct qs_error *err);

/*
 * Takes the scene's random and fixed noise as points.  frames[0 .. scene->frames - 1]
 * are its frames, measured where the scene was: a patch that reaches an end of the
 * range in any of them is left out.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_session_take_scene(struct qs_sheet_iso *iso, const struct qs_same_scene *scene,
                      const struct qs_frame *frames, struct qs_error *err);

#endif
