/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * field_cells.h - figures of the field table as columns and cells of a table
 *
 * Threads: one at a time for a table.
 */
#ifndef QS_REPORT_FIELD_CELLS_H
#define QS_REPORT_FIELD_CELLS_H

#include "report/fields.h"
#include "report/table.h"

/* A column headed by a figure's label and unit. */
struct qs_column
qs_field_column(enum qs_field_group group, const char *key);

/* Writes the subject's figure into a cell. */
void
qs_set_field(struct qs_table *table, int row, int column, enum qs_field_group group,
             const char *key, const struct qs_subject *subject);

/* Writes "+0.4", "-0.4" or "0.0", and what follows it. */
void
qs_set_signed(struct qs_table *table, int row, int column, double value,
              const char *after);

#endif
