/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/table.h"

#include <assert.h>
#include <stdarg.h>
#include <string.h>

#include "base/memory.h"
#include "base/plain_text.h"
#include "report/wrap.h"

#define INDENT 2

/* How the columns are set out. */
struct layout {
    bool narrow; /* headings broken in two */
    int gap;     /* blanks between columns */
};

/* Tried in this order; the last one may need several blocks. */
static const struct layout layouts[] = {{false, 2}, {true, 2}, {true, 1}};

enum qs_status
qs_table_init(struct qs_table *table, int rows, int leading, struct qs_error *err)
{
    *table = (struct qs_table){.leading = leading, .rows = rows};
    table->cells = qs_alloc((size_t)rows * QS_TABLE_COLUMNS, sizeof *table->cells);
    return table->cells != NULL ? QS_OK : qs_fail_memory(err);
}

void
qs_table_clear(struct qs_table *table)
{
    qs_free(table->cells);
    *table = (struct qs_table){0};
}

void
qs_table_column(struct qs_table *table, struct qs_column column)
{
    assert(table->count < QS_TABLE_COLUMNS);
    table->columns[table->count++] = column;
}

static char *
cell(const struct qs_table *table, int row, int column)
{
    return table->cells[row * QS_TABLE_COLUMNS + column];
}

void
qs_table_set(struct qs_table *table, int row, int column, const char *format, ...)
{
    va_list args;

    assert(row >= 0 && row < table->rows && column < table->count);
    va_start(args, format);
    (void)vsnprintf(cell(table, row, column), QS_TABLE_CELL, format, args);
    va_end(args);
}

static const char *
heading(const struct qs_column *column, bool top, bool narrow)
{
    if (narrow && column->narrow_bottom != NULL)
        return top ? column->narrow_top : column->narrow_bottom;
    return top ? column->top : column->bottom;
}

static int
wider(int width, const char *text)
{
    int columns = qs_text_columns(text);

    return columns > width ? columns : width;
}

static int
column_width(const struct qs_table *table, int column, bool narrow)
{
    const struct qs_column *own = &table->columns[column];
    int width = wider(0, heading(own, true, narrow));

    width = wider(width, heading(own, false, narrow));
    for (int row = 0; row < table->rows; row++)
        width = wider(width, cell(table, row, column));
    return width;
}

/* Columns of the terminal taken by the leading ones and [first, end). */
static int
block_width(const struct qs_table *table, int first, int end, struct layout layout)
{
    int width = INDENT - layout.gap;

    for (int c = 0; c < end; c++)
        if (c < table->leading || c >= first)
            width += column_width(table, c, layout.narrow) + layout.gap;
    return width;
}

static struct layout
choose_layout(const struct qs_table *table)
{
    size_t i = 0, last = sizeof layouts / sizeof layouts[0] - 1;

    while (i < last &&
           block_width(table, 0, table->count, layouts[i]) > QS_TEXT_COLUMNS)
        i++;
    return layouts[i];
}

/* The first column after `first` that has no room beside those before it. */
static int
block_end(const struct qs_table *table, int first, struct layout layout)
{
    int end = first + 1;

    while (end < table->count &&
           block_width(table, first, end + 1, layout) <= QS_TEXT_COLUMNS)
        end++;
    return end;
}

static int
blanks_at_end(const char *text)
{
    size_t length = strlen(text);
    int count = 0;

    while (length > (size_t)count && text[length - (size_t)count - 1] == ' ')
        count++;
    return count;
}

/* One cell, after `*owed` blanks that are written only if something follows. */
static void
put_cell(FILE *out, int *owed, const char *text, int width, bool left)
{
    int pad = width - qs_text_columns(text), blanks = blanks_at_end(text);
    int written = (int)strlen(text) - blanks;

    if (!left)
        *owed += pad;
    if (written > 0) {
        (void)fprintf(out, "%*s%.*s", *owed, "", written, text);
        *owed = 0;
    }
    *owed += blanks;
    if (left)
        *owed += pad;
}

/* Which line of a block: a row, or one of the headings. */
enum {
    HEADING_TOP = -2,
    HEADING_BOTTOM = -1
};

static void
put_row(const struct qs_table *table, FILE *out, int row, int first, int end,
        struct layout layout)
{
    int owed = INDENT;

    for (int c = 0; c < end; c++) {
        const struct qs_column *own = &table->columns[c];

        if (c >= table->leading && c < first)
            continue;
        put_cell(out, &owed,
                 row >= 0 ? cell(table, row, c)
                          : heading(own, row == HEADING_TOP, layout.narrow),
                 column_width(table, c, layout.narrow), own->left);
        owed += layout.gap;
    }
    (void)fputc('\n', out);
}

static bool
has_top(const struct qs_table *table, int first, int end, bool narrow)
{
    for (int c = 0; c < end; c++)
        if ((c < table->leading || c >= first) &&
            *heading(&table->columns[c], true, narrow) != '\0')
            return true;
    return false;
}

void
qs_table_print(const struct qs_table *table, FILE *out)
{
    struct layout layout = choose_layout(table);
    int first = table->leading;

    while (first < table->count) {
        int end = block_end(table, first, layout);

        if (first > table->leading)
            (void)fputc('\n', out);
        if (has_top(table, first, end, layout.narrow))
            put_row(table, out, HEADING_TOP, first, end, layout);
        for (int row = HEADING_BOTTOM; row < table->rows; row++)
            put_row(table, out, row, first, end, layout);
        first = end;
    }
}
