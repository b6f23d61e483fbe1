/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/field_cells.h"

#include <math.h>

#include "report/words.h"

struct qs_column
qs_field_column(enum qs_field_group group, const char *key)
{
    const struct qs_field *field = qs_field(group, key);

    if (field->unit[0] == '\0')
        return (struct qs_column){.top = "", .bottom = field->label};
    return (struct qs_column){.top = field->label, .bottom = field->unit};
}

void
qs_set_field(struct qs_table *table, int row, int column, enum qs_field_group group,
             const char *key, const struct qs_subject *subject)
{
    char text[QS_WORDS];

    qs_field_text(group, key, subject, text, sizeof text);
    qs_table_set(table, row, column, "%s", text);
}

void
qs_set_signed(struct qs_table *table, int row, int column, double value,
              const char *after)
{
    if (fabs(value) < 0.05)
        qs_table_set(table, row, column, "0.0%s", after);
    else
        qs_table_set(table, row, column, "%+.1f%s", value, after);
}
