/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * wrap.h - running text on a terminal
 *
 * Nothing the program writes is wider than QS_TEXT_COLUMNS, whatever the terminal.
 *
 * Threads: the caller sees to it that a stream is written by one at a time.
 */
#ifndef QS_REPORT_WRAP_H
#define QS_REPORT_WRAP_H

#include <stdio.h>

enum {
    QS_TEXT_COLUMNS = 80
};

/* A blank at which a line is never broken: "0.9" QS_GLUE "stop". */
#define QS_GLUE "\xC2\xA0"

/*
 * Writes `text`, which holds no control characters, as lines of at most
 * QS_TEXT_COLUMNS, broken at blanks; a word longer than a line is cut.  The first line
 * starts with `first`, the others with `next`; both are shorter than half a
 * line.  Ends with a line end.  Whether writing worked is for the caller to ask
 * of the stream.
 */
void
qs_wrap(FILE *out, const char *first, const char *next, const char *text);

#endif
