/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/plain_text.h"
#include "report/field_cells.h"
#include "report/phrase.h"
#include "report/plan_light_text.h"
#include "report/plan_report.h"
#include "report/plan_words.h"
#include "report/table.h"
#include "report/words.h"
#include "report/wrap.h"

static void
put_title(FILE *out, const struct qs_plan_report *report)
{
    struct qs_phrase title = {.used = 0};
    char name[3 * QS_SHEET_TEXT];

    qs_say(&title, "Plan");
    if (report->job != NULL) {
        qs_text_clean(report->job, true, name, sizeof name);
        qs_say(&title, " for %s", name);
    }
    if (report->sheet != NULL && report->sheet->camera[0] != '\0') {
        qs_text_clean(report->sheet->camera, true, name, sizeof name);
        qs_say(&title, ", %s", name);
    }
    qs_wrap(out, "", "  ", title.text);
}

/* "ISO 3200 (2900 to 3400)" */
static void
say_iso(struct qs_phrase *phrase, const struct qs_plan_row *row)
{
    char iso[QS_WORDS], low[QS_WORDS], high[QS_WORDS];

    qs_words_figures(row->max_iso, 3, iso, sizeof iso);
    if (row->beyond_test) {
        qs_say(phrase, "every ISO up to the highest tested, %s, is quiet enough", iso);
        return;
    }
    qs_words_figures(row->max_low, 3, low, sizeof low);
    qs_words_figures(row->max_high, 3, high, sizeof high);
    qs_say(phrase, "ISO" QS_GLUE "%s is the highest that is quiet enough", iso);
    if (row->has_max_low)
        qs_say(phrase, " (95" QS_GLUE "%% interval %s to %s%s)", low, high,
               row->high_beyond_test ? " or more" : "");
}

static void
say_light(struct qs_phrase *phrase, const struct qs_plan_report *report,
          const struct qs_plan_row *row)
{
    char lux[QS_WORDS], setting[QS_WORDS];

    if (!row->has_light)
        return;
    qs_words_figures(row->light_lx, 2, lux, sizeof lux);
    qs_words_setting(report->request->set_up.f_number, row->exposure_s, setting,
                     sizeof setting);
    qs_say(phrase, "; at %s that takes %s" QS_GLUE "lux", setting, lux);
}

static void
say_gap(struct qs_phrase *phrase, const struct qs_plan_row *row)
{
    double stops = fabs(row->short_stops);
    const char *plural = stops < 1.05 ? "" : "s";

    if (!row->has_short)
        return;
    if (stops < 0.05)
        qs_say(phrase, ", which is just what there is");
    else if (row->short_stops > 0.0)
        qs_say(phrase, ", and %.1f" QS_GLUE "stop%s of it %s missing", stops, plural,
               stops < 1.05 ? "is" : "are");
    else
        qs_say(phrase, ", with %.1f" QS_GLUE "stop%s to spare", stops, plural);
}

/* The first use is what the sentence is about. */
static void
put_sentence(FILE *out, const struct qs_plan_report *report)
{
    const struct qs_plan *plan = report->plan;
    const struct qs_plan_row *row = plan->rows;
    struct qs_phrase phrase = {.used = 0};
    char size[QS_WORDS], criterion[QS_CRITERION_WORDS];

    (void)fputc('\n', out);
    if (plan->row_count == 0) {
        qs_wrap(out, "  ", "  ",
                "Every size asked for is larger than the camera's frames; ask for "
                "smaller ones.");
        return;
    }
    qs_words_plan_size(row, size, sizeof size);
    qs_criterion_words(&plan->criterion, criterion, sizeof criterion);
    qs_say(&phrase, "Delivered %s, ", size);
    if (row->has_max_iso) {
        say_iso(&phrase, row);
        say_light(&phrase, report, row);
        say_gap(&phrase, row);
    } else {
        qs_say(&phrase, "no ISO that was tested is quiet enough");
    }
    qs_say(&phrase, ".");
    qs_wrap(out, "  ", "  ", phrase.text);
    phrase.used = 0;
    qs_say(&phrase, "Quiet enough is %s%s.",
           plan->criterion.is_default ? "here, as nothing else was asked for, " : "",
           criterion);
    qs_wrap(out, "  ", "  ", phrase.text);
}

/* Which columns the rows have anything for. */
struct shown {
    bool use, filter, light, saves, gap;
};

static struct shown
what_to_show(const struct qs_plan *plan)
{
    struct shown shown = {false, false, false, false, false};

    for (int r = 0; r < plan->row_count; r++) {
        const struct qs_plan_row *row = &plan->rows[r];

        shown.use = shown.use || row->use->name[0] != '\0' ||
                    row->use->is_motion != plan->rows[0].use->is_motion;
        shown.filter = shown.filter || row->filter != plan->rows[0].filter;
        shown.light = shown.light || row->has_light;
        shown.saves = shown.saves || row->has_saves;
        shown.gap = shown.gap || row->has_short;
    }
    return shown;
}

static void
add_columns(struct qs_table *table, struct shown shown)
{
    if (shown.use)
        qs_table_column(table,
                        (struct qs_column){.top = "", .bottom = "use", .left = true});
    qs_table_column(table,
                    (struct qs_column){.top = "", .bottom = "size", .left = true});
    if (shown.filter)
        qs_table_column(
            table, (struct qs_column){.top = "", .bottom = "filter", .left = true});
    qs_table_column(table, (struct qs_column){.top = "highest", .bottom = "ISO"});
    qs_table_column(table, (struct qs_column){.top = "95 %", .bottom = "interval"});
    if (shown.light) {
        qs_table_column(table, (struct qs_column){.top = "lowest light",
                                                  .bottom = "lux",
                                                  .narrow_top = "light",
                                                  .narrow_bottom = "lux"});
        qs_table_column(table, (struct qs_column){.top = "EV at", .bottom = "ISO 100"});
        qs_table_column(table, (struct qs_column){.top = "grey", .bottom = "cd/m2"});
    }
    if (shown.saves)
        qs_table_column(table, (struct qs_column){.top = "saves", .bottom = "stops"});
    if (shown.gap)
        qs_table_column(table, (struct qs_column){.top = "short", .bottom = "stops"});
    qs_table_column(table, (struct qs_column){.top = "contrast", .bottom = "kept"});
}

static void
set_use(struct qs_table *table, int row, int column, const struct qs_use *use)
{
    char name[3 * QS_USE_NAME];

    qs_text_clean(use->name, true, name, sizeof name);
    if (name[0] == '\0')
        qs_table_set(table, row, column, "%s", use->is_motion ? "motion" : "stills");
    else
        qs_table_set(table, row, column, "%s%s", name,
                     use->is_motion ? " (motion)" : "");
}

static void
set_iso(struct qs_table *table, int r, int *column, const struct qs_plan_row *row)
{
    char iso[QS_WORDS], low[QS_WORDS] = "none", high[QS_WORDS] = "none";

    qs_words_figures(row->max_iso, 3, iso, sizeof iso);
    qs_table_set(table, r, (*column)++, "%s%s", row->has_max_iso ? iso : "none",
                 row->beyond_test ? "+" : "");
    if (row->has_max_low)
        qs_words_figures(row->max_low, 3, low, sizeof low);
    if (row->has_max_high)
        qs_words_figures(row->max_high, 3, high, sizeof high);
    if (row->beyond_test && row->has_max_low && row->max_low == row->max_iso)
        qs_table_set(table, r, (*column)++, "-");
    else if (!row->has_max_high)
        qs_table_set(table, r, (*column)++, "-");
    else
        qs_table_set(table, r, (*column)++, "%s to %s%s", low, high,
                     row->high_beyond_test ? "+" : "");
}

static void
set_light(struct qs_table *table, int r, int *column, const struct qs_plan_row *row)
{
    char text[QS_WORDS];

    if (!row->has_light) {
        for (int i = 0; i < 3; i++)
            qs_table_set(table, r, (*column)++, "-");
        return;
    }
    qs_words_figures(row->light_lx, 2, text, sizeof text);
    qs_table_set(table, r, (*column)++, "%s", text);
    qs_table_set(table, r, (*column)++, "%.1f", row->ev100);
    qs_words_figures(row->luminance_cd_m2, 2, text, sizeof text);
    qs_table_set(table, r, (*column)++, "%s", text);
}

static void
set_row(struct qs_table *table, int r, const struct qs_plan_row *row,
        struct shown shown)
{
    char size[QS_WORDS];
    int column = 0;

    qs_words_size(row->text, size, sizeof size);
    if (shown.use)
        set_use(table, r, column++, row->use);
    qs_table_set(table, r, column++, "%s", size);
    if (shown.filter)
        qs_table_set(table, r, column++, "%s", qs_filter_row(row->filter)->key);
    set_iso(table, r, &column, row);
    if (shown.light)
        set_light(table, r, &column, row);
    if (shown.saves && row->has_saves)
        qs_set_signed(table, r, column++, row->saves_stops, "");
    else if (shown.saves)
        qs_table_set(table, r, column++, "-");
    if (shown.gap && row->has_short)
        qs_set_signed(table, r, column++, row->short_stops, "");
    else if (shown.gap)
        qs_table_set(table, r, column++, "-");
    qs_table_set(table, r, column, "%.0f %%", 100.0 * row->contrast_kept);
}

static enum qs_status
put_rows(FILE *out, const struct qs_plan *plan, struct qs_error *err)
{
    struct shown shown = what_to_show(plan);
    struct qs_table table;
    enum qs_status status =
        qs_table_init(&table, plan->row_count, shown.use ? 2 : 1, err);

    if (status != QS_OK)
        return status;
    add_columns(&table, shown);
    for (int r = 0; r < plan->row_count; r++)
        set_row(&table, r, &plan->rows[r], shown);
    (void)fputs("\n  What each size allows\n", out);
    qs_table_print(&table, out);
    qs_table_clear(&table);
    return QS_OK;
}

enum {
    LONGEST_HEADING = 21 /* bytes, the closing zero counted; cut between letters */
};

/* A column of the table over ISO: the size, and the filter or use where they differ. */
static void
cell_heading(const struct qs_plan_row *row, struct shown shown, char top[QS_WORDS],
             char bottom[QS_WORDS])
{
    char use[3 * QS_USE_NAME];

    qs_words_size(row->text, bottom, QS_WORDS);
    qs_text_clean(row->use->name, true, use, sizeof use);
    if (shown.filter)
        (void)snprintf(top, QS_WORDS, "%s", qs_filter_row(row->filter)->key);
    else if (shown.use)
        qs_text_clean(use[0] != '\0'        ? use
                      : row->use->is_motion ? "motion"
                                            : "stills",
                      true, top, LONGEST_HEADING);
    else
        top[0] = '\0';
}

static void
set_cell(struct qs_table *table, int row, int column, bool as_seen,
         const struct qs_plan_cell *cell)
{
    double value = as_seen ? cell->seen : cell->snr;
    char text[QS_WORDS];

    if (as_seen ? !cell->has_seen : !cell->known) {
        qs_table_set(table, row, column, "-");
        return;
    }
    (void)snprintf(text, sizeof text, as_seen ? "%.2f" : "%.1f", value);
    qs_table_set(table, row, column, cell->meets ? "%s " : "(%s)", text);
}

enum {
    SIZES_IN_BLOCK = QS_TABLE_COLUMNS - 1
};

/* The table over ISO of rows from .. to - 1. */
static enum qs_status
put_block(FILE *out, const struct qs_plan_report *report, int from, int to,
          struct qs_error *err)
{
    const struct qs_plan *plan = report->plan;
    struct shown shown = what_to_show(plan);
    char top[SIZES_IN_BLOCK][QS_WORDS], bottom[SIZES_IN_BLOCK][QS_WORDS];
    struct qs_table table;
    enum qs_status status = qs_table_init(&table, plan->iso_count, 1, err);

    if (status != QS_OK)
        return status;
    qs_table_column(&table, (struct qs_column){.top = "", .bottom = "ISO"});
    for (int r = from; r < to; r++) {
        cell_heading(&plan->rows[r], shown, top[r - from], bottom[r - from]);
        qs_table_column(&table, (struct qs_column){.top = top[r - from],
                                                   .bottom = bottom[r - from]});
    }
    for (int i = 0; i < plan->iso_count; i++) {
        qs_table_set(&table, i, 0, "%g", report->sheet->isos[i].iso);
        for (int r = from; r < to; r++)
            set_cell(&table, i, r - from + 1, plan->criterion.is_viewed,
                     &plan->rows[r].cells[i]);
    }
    qs_table_print(&table, out);
    qs_table_clear(&table);
    return QS_OK;
}

static enum qs_status
put_cells(FILE *out, const struct qs_plan_report *report, struct qs_error *err)
{
    const struct qs_plan *plan = report->plan;
    enum qs_status status = QS_OK;

    (void)fputc('\n', out);
    qs_wrap(
        out, "  ", "  ",
        plan->criterion.is_viewed
            ? "Visible noise at each ISO and size, in CIELAB units; in brackets: not "
              "quiet enough"
            : "Signal-to-noise ratio at each ISO and size; in brackets: not quiet "
              "enough");
    for (int from = 0; from < plan->row_count && status == QS_OK;
         from += SIZES_IN_BLOCK) {
        int to = from + SIZES_IN_BLOCK;

        status = put_block(out, report, from,
                           to < plan->row_count ? to : plan->row_count, err);
    }
    return status;
}

static void
put_way(FILE *out, const struct qs_plan_row *row, enum qs_way_kind kind, bool is_viewed)
{
    const struct qs_way *way = &row->ways.way[kind];
    struct qs_phrase phrase = {.used = 0};
    char number[QS_WORDS];

    if (!way->known || !(way->stops > 0.005))
        return;
    switch (kind) {
    case QS_WAY_OPEN_UP:
        qs_say(&phrase, "open up to f/%.2g", way->value);
        break;
    case QS_WAY_SLOWER:
        qs_words_shutter(way->value, number, sizeof number);
        qs_say(&phrase, "slow the shutter to %s" QS_GLUE "s", number);
        break;
    case QS_WAY_MORE_LIGHT:
        qs_words_figures(way->value, 2, number, sizeof number);
        qs_say(&phrase,
               "light the subject with %s" QS_GLUE
               "lux: add lamps, or move a small one to %.0f" QS_GLUE
               "%% of its distance",
               number, 100.0 * way->other);
        break;
    case QS_WAY_RAISE_ISO:
        qs_words_figures(way->value, 2, number, sizeof number);
        qs_say(&phrase, "raise the ISO to %s, ", number);
        if (way->has_other)
            qs_say(&phrase,
                   "which leaves %s of %.3g: not quiet enough by the criterion",
                   is_viewed ? "visible noise" : "a signal-to-noise ratio", way->other);
        else
            qs_say(&phrase, "which was not tested");
        break;
    case QS_WAY_SMALLER:
        qs_words_figures(row->needed_iso, 2, number, sizeof number);
        qs_say(&phrase, "deliver %.0f x %.0f pixels or less, at ISO" QS_GLUE "%s",
               way->value, way->other, number);
        break;
    case QS_WAYS:
        break;
    }
    if (!way->is_enough && kind != QS_WAY_RAISE_ISO)
        qs_say(&phrase, " (closes %.1f of %.1f" QS_GLUE "stops)", way->stops,
               row->short_stops);
    qs_wrap(out, "    - ", "      ", phrase.text);
}

static void
put_ways(FILE *out, const struct qs_plan *plan)
{
    for (int r = 0; r < plan->row_count; r++) {
        const struct qs_plan_row *row = &plan->rows[r];
        struct qs_phrase title = {.used = 0};
        char size[QS_WORDS];

        if (!row->ways.known)
            continue;
        qs_words_plan_size(row, size, sizeof size);
        qs_say(&title,
               "%.1f" QS_GLUE
               "stop%s missing %s%s%s. Each of these closes the gap alone, "
               "unless it says otherwise; first what the trade tries first",
               row->short_stops, row->short_stops < 1.05 ? "" : "s", size,
               row->use->is_motion ? " in motion" : "",
               plan->rows[0].filter != row->filter ? " (other filter)" : "");
        (void)fputc('\n', out);
        qs_wrap(out, "  ", "  ", title.text);
        for (int w = 0; w < (int)QS_WAYS; w++)
            put_way(out, row, (enum qs_way_kind)w, plan->criterion.is_viewed);
    }
}

/* Whether any row goes beyond what was tested. */
static bool
goes_beyond(const struct qs_plan *plan)
{
    for (int r = 0; r < plan->row_count; r++)
        if (plan->rows[r].beyond_test || plan->rows[r].high_beyond_test)
            return true;
    return false;
}

static bool
shows_saving(const struct qs_plan *plan)
{
    return what_to_show(plan).saves;
}

static void
put_notes(FILE *out, const struct qs_plan *plan)
{
    struct qs_phrase phrase = {.used = 0};

    (void)fputc('\n', out);
    if (goes_beyond(plan))
        qs_wrap(out, "  ", "    ",
                "+ Still quiet enough at the highest ISO tested; what lies beyond was "
                "not tested.");
    if (!plan->tone_tested)
        qs_wrap(out, "  ", "    ",
                "This tone lies outside of what was tested at some ISO; there the "
                "figures rest on the fitted model alone, and intervals are wide where "
                "too few tones were tested.");
    if (shows_saving(plan))
        qs_wrap(
            out, "  ", "    ",
            "Saves: stops of light that the size saves against full size at the "
            "same ISO and the same noise. Where the grain of light rules, it is all "
            "that the size takes off the noise; where the camera's own noise rules, "
            "half of it.");
    if (plan->row_count > 0)
        qs_wrap(out, "  ", "    ",
                "Contrast kept: of detail at half the finest frequency that the size "
                "can show; above 100" QS_GLUE "% the filter sharpens a little.");
    if (fabs(log2(plan->light_factor)) > 0.005) {
        qs_say(&phrase,
               "Light is corrected by %+.1f" QS_GLUE
               "stops, as this camera's calibration says.",
               log2(plan->light_factor));
        qs_wrap(out, "  ", "    ", phrase.text);
    }
    if (plan->skipped > 0)
        qs_wrap(out, "  ", "    ",
                "A size larger than the camera's frames was left out: enlarging makes "
                "no noise finer.");
    qs_wrap(out, "  ", "    ",
            "Intervals count what the frames leave open, not how lamps, lenses and "
            "converters differ from day to day.");
}

enum qs_status
qs_plan_text(FILE *out, const struct qs_plan_report *report, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    put_title(out, report);
    if (report->plan != NULL) {
        put_sentence(out, report);
        if (report->plan->row_count > 0)
            status = put_rows(out, report->plan, err);
        if (status == QS_OK && report->plan->row_count > 0)
            status = put_cells(out, report, err);
        if (status != QS_OK)
            return status;
        put_ways(out, report->plan);
        put_notes(out, report->plan);
    }
    status = qs_plan_light_text(out, report, err);
    (void)fputc('\n', out);
    return status;
}
