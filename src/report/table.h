/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * table.h - a table of texts that never gets wider than a terminal
 *
 * Columns are as wide as what stands in them.  Where all of it does not fit,
 * headings are broken in two, then gaps are narrowed, and at last the columns
 * go on in a second block below, with the leading ones repeated.
 *
 * Memory: the table owns its cells; headings are the caller's.
 * Threads: one at a time.
 */
#ifndef QS_REPORT_TABLE_H
#define QS_REPORT_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "base/status.h"

enum {
    QS_TABLE_COLUMNS = 16,
    QS_TABLE_CELL = 160 /* bytes of a cell's text */
};

struct qs_column {
    const char *top; /* heading, in two lines; "" = nothing above */
    const char *bottom;
    const char *narrow_top; /* the same where room is short; NULL = no other */
    const char *narrow_bottom;
    bool left; /* set to the left; else to the right */
};

struct qs_table {
    struct qs_column columns[QS_TABLE_COLUMNS];
    int count;
    int leading; /* columns repeated in every block */
    char (*cells)[QS_TABLE_CELL];
    int rows;
};

/*
 * Starts a table with room for `rows` rows and no columns; clear it with
 * qs_table_clear.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_table_init(struct qs_table *table, int rows, int leading, struct qs_error *err);

void
qs_table_clear(struct qs_table *table);

/* Adds a column; at most QS_TABLE_COLUMNS. */
void
qs_table_column(struct qs_table *table, struct qs_column column);

/* Writes the cell at (row, column). */
void
qs_table_set(struct qs_table *table, int row, int column, const char *format, ...)
    QS_PRINTF(4, 5);

/* Prints the table, indented by two. */
void
qs_table_print(const struct qs_table *table, FILE *out);

#endif
