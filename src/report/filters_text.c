/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/filters_text.h"

#include <stdbool.h>

#include "report/table.h"
#include "report/words.h"
#include "report/wrap.h"

static void
add_columns(struct qs_table *table)
{
    static const struct qs_column columns[] = {
        {.top = "", .bottom = "filter", .left = true},
        {.top = "noise", .bottom = "left"},
        {.top = "quieter", .bottom = "stops"},
        {.top = "contrast kept", .bottom = "fine detail"},
        {.top = "contrast kept", .bottom = "finest detail"},
        {.top = "false", .bottom = "detail"},
    };

    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
        qs_table_column(table, columns[i]);
}

static void
set_row(struct qs_table *table, int row, const struct qs_filter_figures *figures)
{
    int column = 0;

    qs_table_set(table, row, column++, "%s", qs_filter_row(figures->filter)->key);
    qs_table_set(table, row, column++, "%.1f %%", 100.0 * figures->white_noise_gain);
    qs_table_set(table, row, column++, "%.2f", figures->worth_stops);
    qs_table_set(table, row, column++, "%.1f %%",
                 100.0 * figures->contrast_half_nyquist);
    qs_table_set(table, row, column++, "%.1f %%", 100.0 * figures->contrast_nyquist);
    qs_table_set(table, row, column, "%.1f %%", 100.0 * figures->alias_share);
}

static void
put_title(FILE *out, const struct qs_filter_size *size)
{
    char text[240], name[QS_WORDS];
    int used;

    qs_words_size(size->text, name, sizeof name);
    used = snprintf(text, sizeof text, "%s: ", name);
    if (size->width > 0)
        used += snprintf(text + used, sizeof text - (size_t)used, "%d x %d pixels, ",
                         size->width, size->height);
    (void)snprintf(
        text + used, sizeof text - (size_t)used,
        "each delivered pixel spans %.4g x %.4g of the frame's; plain averaging "
        "is worth %.2f stops",
        size->scale_x, size->scale_y, qs_filter_size_ideal_stops(size));
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", text);
}

static enum qs_status
put_table(FILE *out, const struct qs_filter_figures *figures, int rows,
          struct qs_error *err)
{
    struct qs_table table;
    enum qs_status status = qs_table_init(&table, rows, 1, err);

    if (status != QS_OK)
        return status;
    add_columns(&table);
    for (int i = 0; i < rows; i++)
        set_row(&table, i, &figures[i]);
    put_title(out, figures[0].size);
    qs_table_print(&table, out);
    qs_table_clear(&table);
    return QS_OK;
}

static void
put_key(FILE *out)
{
    static const char *const notes[] = {
        "Noise left: of noise that is independent from pixel to pixel. Real frames "
        "differ: "
        "quietsize measure tells how much.",
        "Fine detail is twice as coarse as the finest that the size can hold.",
        "False detail: the share of the noise left that comes from detail too fine for "
        "the "
        "size, as moire does.",
    };

    (void)fputc('\n', out);
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++)
        qs_wrap(out, "  ", "    ", notes[i]);
}

enum qs_status
qs_filters_text(FILE *out, const struct qs_filter_figures *figures, int count,
                struct qs_error *err)
{
    enum qs_status status = QS_OK;

    qs_wrap(out, "", "",
            "The filter that leaves the least noise is also the one that blurs most: "
            "choose "
            "the one whose contrast you can live with, not the quietest.");
    for (int first = 0, end; first < count && status == QS_OK; first = end) {
        end = first + 1;
        while (end < count && figures[end].size == figures[first].size)
            end++;
        status = put_table(out, &figures[first], end - first, err);
    }
    put_key(out);
    return status;
}
