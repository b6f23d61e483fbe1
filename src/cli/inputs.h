/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * inputs.h - the frames that the command line names
 *
 * A folder stands for the TIFF and PNG files in it (not in folders inside it),
 * in the order of their names; hidden ones are left out.
 *
 * Memory: the list owns its paths.
 * Threads: one at a time for a list.
 */
#ifndef QS_CLI_INPUTS_H
#define QS_CLI_INPUTS_H

#include <stdbool.h>

#include "base/status.h"

struct qs_inputs {
    char **paths;
    int count;
    int room;
};

/*
 * Adds a file, which need not exist, or a folder's pictures.
 *
 *   QS_OK
 *   QS_ERR_OPEN    a folder that can't be read, or has no picture in it; none
 *                  is added
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_inputs_add(struct qs_inputs *inputs, const char *path, struct qs_error *err);

/* Drops those from index `from` on that `drops` says. */
void
qs_inputs_filter(struct qs_inputs *inputs, int from, bool (*drops)(const char *path));

/* Frees; a zeroed struct is allowed. */
void
qs_inputs_clear(struct qs_inputs *inputs);

/* Whether two paths lead to one file that is there. */
bool
qs_is_same_file(const char *a, const char *b);

#endif
