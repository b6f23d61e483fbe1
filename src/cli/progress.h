/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * progress.h - how far the work is, on a terminal
 *
 * One line on standard error, drawn again and again and erased at the end; nothing
 * where standard error is no terminal, or the console is quiet.
 *
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_PROGRESS_H
#define QS_CLI_PROGRESS_H

#include "cli/messages.h"

/* Frame `index` of `count` (from 0), of name `path`, is done by `share`, 0 to 1. */
void
qs_progress_draw(struct qs_console *console, int index, int count, const char *path,
                 double share);

/* The same of several pictures together, with the time they will take; below 0: not
   known. */
void
qs_progress_draw_left(struct qs_console *console, int index, int count,
                      const char *path, double share, double left_s);

/* Erases the line, where there is one. */
void
qs_progress_erase(struct qs_console *console);

#endif
