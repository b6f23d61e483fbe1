/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * text_parts.h - parts that reports of frames and of scenes share
 *
 * Whether writing worked is for the caller to ask of the stream.
 * Threads: one at a time for a stream.
 */
#ifndef QS_REPORT_TEXT_PARTS_H
#define QS_REPORT_TEXT_PARTS_H

#include <stdbool.h>
#include <stdio.h>

#include "frame/frame.h"

/* The name of a file, on a line of its own. */
void
qs_put_name(FILE *out, const char *path);

/* What a frame is: pixels, shot, encoding, and how it is shrunk. */
void
qs_put_facts(FILE *out, const struct qs_frame *frame, bool encoded_light);

/* Whether its figures are fit to use, and why not. */
void
qs_put_verdict(FILE *out, const struct qs_frame *frame);

/* Its warnings under a title, those alike together; nothing where there are none. */
void
qs_put_warnings(FILE *out, const struct qs_frame *frame);

#endif
