/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * whole_file.h - a file that is there whole, or not at all
 *
 * Written beside its place under another name, checked down to the disk, then
 * renamed.  What stood there before stays until then.  "-" is standard output, and a
 * device or pipe is written directly, since neither can be put in place whole.
 *
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_WHOLE_FILE_H
#define QS_CLI_WHOLE_FILE_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"

struct qs_whole_file {
    FILE *stream; /* to be written to; NULL = not open */
    bool is_stdout;
    char *target;
    char *temporary; /* NULL where it is written directly */
};

/*
 * Opens a file for writing to `path`.
 *
 *   QS_OK          end it with qs_whole_file_keep or qs_whole_file_drop
 *   QS_ERR_WRITE   no file can be made there
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_whole_file_open(const char *path, struct qs_whole_file *file, struct qs_error *err);

/*
 * Puts the file in its place.  Of standard output nothing is checked: see
 * qs_output_is_well.
 *
 *   QS_OK
 *   QS_ERR_WRITE   it could not be written whole; nothing is left of it
 */
QS_MUST_CHECK enum qs_status
qs_whole_file_keep(struct qs_whole_file *file, struct qs_error *err);

/* Leaves nothing of the file; one that is not open is allowed. */
void
qs_whole_file_drop(struct qs_whole_file *file);

/* From now on, being interrupted leaves no half-written file behind. */
void
qs_whole_file_guard(void);

#endif
