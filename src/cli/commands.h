/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * commands.h - the commands of the program
 *
 * Each gets its own name and what follows it on the command line.
 */
#ifndef QS_CLI_COMMANDS_H
#define QS_CLI_COMMANDS_H

#include "cli/messages.h"

/* What the program's exit status promises. */
enum qs_exit {
    QS_EXIT_DONE = 0,
    QS_EXIT_FAILED = 1, /* an input could not be used, or an output not be written */
    QS_EXIT_USAGE = 2,  /* the command line or a brief is wrong; nothing was done */
    QS_EXIT_UNMET = 3   /* a plan was made, and nothing it was asked for can be met */
};

enum qs_exit
qs_cmd_measure(struct qs_console *console, int argc, char **argv);

enum qs_exit
qs_cmd_sheet(struct qs_console *console, int argc, char **argv);

enum qs_exit
qs_cmd_plan(struct qs_console *console, int argc, char **argv);

enum qs_exit
qs_cmd_deliver(struct qs_console *console, int argc, char **argv);

enum qs_exit
qs_cmd_filters(struct qs_console *console, int argc, char **argv);

/* "quietsize 0.1.0" and the libraries behind it, to standard output. */
void
qs_print_version(void);

#endif
