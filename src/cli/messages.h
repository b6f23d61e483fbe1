/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * messages.h - what goes to standard error
 *
 * Standard output is for results; all else is said here, one line a message:
 * "quietsize: FILE: sentence".
 *
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_MESSAGES_H
#define QS_CLI_MESSAGES_H

#include <stdbool.h>

#include "base/status.h"
#include "frame/frame.h"

/* Standard error as it is now; all zero at the start. */
struct qs_console {
    bool quiet;           /* errors alone */
    bool progress_shown;  /* a progress line stands there and is to be erased first */
    int progress_percent; /* what it says */
    bool output_told;     /* that standard output takes no more was said */
};

/* Says what is wrong with a file. */
void
qs_say_error(struct qs_console *console, const char *path, const char *sentence);

/* Says what is wrong with the command line, and where help is ("measure", or ""). */
void
qs_say_usage(struct qs_console *console, const char *command, const char *sentence);

/* A frame's warnings, where no report shows them. */
void
qs_say_warnings(struct qs_console *console, const char *path,
                const struct qs_frame *frame);

/*
 * Writes out what waits for standard output; returns false, and has said so once, when
 * that takes no more.
 */
bool
qs_output_is_well(struct qs_console *console);

#endif
