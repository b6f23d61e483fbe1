/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shot_log.h - a table of shots, for frames whose tags were lost
 *
 * A text file of comma-separated values (RFC 4180).  Its first line names the columns:
 * file, and any of iso, shutter, aperture, lux, camera, in any order; columns of other
 * names are left alone.  A file is named as on the command line, or by its last part.
 *
 * Memory: the log owns its texts.
 * Threads: one at a time for a log.
 */
#ifndef QS_CLI_SHOT_LOG_H
#define QS_CLI_SHOT_LOG_H

#include <stdbool.h>

#include "base/status.h"
#include "image/shot.h"

struct qs_logged {
    char *file;
    struct qs_shot shot; /* what the log doesn't say is 0 or empty */
    double light_lx;
    bool used;
};

struct qs_shot_log {
    struct qs_logged *rows;
    int count;
};

/*
 * Reads a log.
 *
 *   QS_OK          clear with qs_shot_log_clear
 *   QS_ERR_OPEN    it can't be read
 *   QS_ERR_USAGE   a line makes no sense: the sentence names it
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_shot_log_read(const char *path, struct qs_shot_log *log, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_shot_log_clear(struct qs_shot_log *log);

/* Whether `name`, as someone typed it, means the frame of file `path`. */
bool
qs_names_frame(const char *name, const char *path);

/* The row of a frame, or NULL. */
struct qs_logged *
qs_shot_log_find(struct qs_shot_log *log, const char *path);

#endif
