/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * verdict.h - fit to use, usable with care, or not usable
 *
 * One plain sentence from all warnings of a frame, to be read before its figures.
 */
#ifndef QS_FRAME_VERDICT_H
#define QS_FRAME_VERDICT_H

#include "frame/frame.h"

/* "fit to use", "usable with care", "not usable". */
const char *
qs_verdict_key(enum qs_verdict_level level);

/* Fills frame->verdict from its warnings and marks; again after a further warning. */
void
qs_frame_judge(struct qs_frame *frame);

#endif
