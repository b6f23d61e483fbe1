/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * text.h - the report a photographer reads
 *
 * For each frame: what it is, one sentence with the answer, how noise falls with
 * size, the patches, why it falls so, warnings.  After several frames, a table of
 * them by ISO.  No line is wider than QS_TEXT_COLUMNS.
 *
 * Whether writing worked is for the caller to ask of the stream.
 * Threads: one at a time.
 */
#ifndef QS_REPORT_TEXT_H
#define QS_REPORT_TEXT_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"
#include "frame/frame.h"
#include "report/frame_list.h"

struct qs_text_options {
    bool all_patches;   /* else at most QS_TEXT_PATCHES, spread over tone */
    bool encoded_light; /* frames were shrunk in code values */
};

enum {
    QS_TEXT_PATCHES = 12
};

/* A report being written; start with qs_text_start. */
struct qs_text {
    FILE *out;
    struct qs_text_options options;
    struct qs_frame_list list;
};

void
qs_text_start(struct qs_text *text, FILE *out, struct qs_text_options options);

/*
 * Writes a frame measured from file `path`.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_text_frame(struct qs_text *text, const char *path, const struct qs_frame *frame,
              struct qs_error *err);

/* Writes what concerns all frames, and frees.  QS_OK or QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_text_end(struct qs_text *text, struct qs_error *err);

#endif
