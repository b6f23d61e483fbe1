/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * frame_list.h - several frames side by side, by ISO
 *
 * Keeps a line of each frame, so that frames need not be held.
 *
 * Memory: the list owns its lines.
 * Threads: one at a time for a list.
 */
#ifndef QS_REPORT_FRAME_LIST_H
#define QS_REPORT_FRAME_LIST_H

#include <stdio.h>

#include "base/status.h"
#include "report/digest.h"

struct qs_frame_line;

struct qs_frame_list {
    struct qs_frame_line *lines;
    int count;
};

/*
 * Keeps the line of a frame measured from file `path`; one without a patch has none.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_frame_list_add(struct qs_frame_list *list, const char *path,
                  const struct qs_frame *frame, const struct qs_digest *digest,
                  struct qs_error *err);

/* Prints the lines as a table.  QS_OK or QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_frame_list_print(struct qs_frame_list *list, FILE *out, struct qs_error *err);

/* Frees; a zeroed list is allowed. */
void
qs_frame_list_clear(struct qs_frame_list *list);

#endif
