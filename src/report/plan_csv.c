/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/csv_line.h"
#include "report/plan_report.h"

static const char *const before_figures[] = {"use",    "kind",       "size",  "width",
                                             "height", "megapixels", "filter"};

static void
put_headings(struct qs_csv_line *line)
{
    for (size_t i = 0; i < sizeof before_figures / sizeof before_figures[0]; i++)
        qs_csv_plain(line, before_figures[i]);
    qs_csv_keys(line, QS_FIELDS_PLAN, "");
    qs_csv_plain(line, "beyond_test");
    qs_csv_plain(line, "high_beyond_test");
    qs_csv_plain(line, "iso");
    qs_csv_keys(line, QS_FIELDS_CELL, "");
    qs_csv_plain(line, "meets");
    qs_csv_end(line);
}

static void
put_line(struct qs_csv_line *line, const struct qs_plan_row *row, int index, double iso)
{
    struct qs_subject subject = {.plan_row = row, .plan_cell = &row->cells[index]};

    qs_csv_text(line, row->use->name);
    qs_csv_plain(line, row->use->is_motion ? "motion" : "stills");
    qs_csv_text(line, row->text);
    qs_csv_whole(line, row->width);
    qs_csv_whole(line, row->height);
    qs_csv_number(line, (double)row->width * row->height / 1e6);
    qs_csv_plain(line, qs_filter_row(row->filter)->key);
    qs_csv_figures(line, QS_FIELDS_PLAN, &subject, true);
    qs_csv_plain(line, row->beyond_test ? "true" : "false");
    qs_csv_plain(line, row->high_beyond_test ? "true" : "false");
    qs_csv_number(line, iso);
    qs_csv_figures(line, QS_FIELDS_CELL, &subject, true);
    qs_csv_plain(line, row->cells[index].meets ? "true" : "false");
    qs_csv_end(line);
}

enum qs_status
qs_plan_csv(FILE *out, const struct qs_plan_report *report, struct qs_error *err)
{
    struct qs_csv_line line = {out, false};

    put_headings(&line);
    for (int r = 0; r < report->plan->row_count; r++)
        for (int i = 0; i < report->sheet->iso_count; i++)
            put_line(&line, &report->plan->rows[r], i, report->sheet->isos[i].iso);
    return qs_csv_written(out, err);
}
