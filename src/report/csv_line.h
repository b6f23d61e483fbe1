/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * csv_line.h - lines of comma-separated values, as in RFC 4180
 *
 * Whether writing worked is asked once at the end: qs_csv_written.
 * Threads: one at a time for a line.
 */
#ifndef QS_REPORT_CSV_LINE_H
#define QS_REPORT_CSV_LINE_H

#include <stdbool.h>
#include <stdio.h>

#include "base/status.h"
#include "report/fields.h"

struct qs_csv_line {
    FILE *out;
    bool begun; /* a comma is due before the next field */
};

/* A text that needs no quotes. */
void
qs_csv_plain(struct qs_csv_line *line, const char *text);

/* Any text: quoted where it holds a quote, comma or line end, quotes doubled. */
void
qs_csv_text(struct qs_csv_line *line, const char *text);

/* The fewest digits that bring the same number back. */
void
qs_csv_number(struct qs_csv_line *line, double value);

void
qs_csv_whole(struct qs_csv_line *line, int value);

void
qs_csv_end(struct qs_csv_line *line);

/* The keys of a group of figures, each after `before`. */
void
qs_csv_keys(struct qs_csv_line *line, enum qs_field_group group, const char *before);

/* The subject's figures, or nothing between the commas where they are not `there`. */
void
qs_csv_figures(struct qs_csv_line *line, enum qs_field_group group,
               const struct qs_subject *subject, bool there);

/* QS_OK, or QS_ERR_WRITE where the stream took no more. */
QS_MUST_CHECK enum qs_status
qs_csv_written(FILE *out, struct qs_error *err);

#endif
