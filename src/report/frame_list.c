/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/frame_list.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/field_cells.h"
#include "base/plain_text.h"
#include "report/words.h"
#include "report/wrap.h"

enum {
    FILE_COLUMNS = 26 /* of a file name */
};

struct qs_frame_line {
    char file[QS_TABLE_CELL]; /* the end of its name */
    double iso;               /* 0 = unknown */
    bool has_tone;
    double tone_stops;
    char noise[32];
    char snr[32];
    char size[QS_WORDS];
    char worth[QS_WORDS];
};

static void
fill_line(struct qs_frame_line *line, const char *path, const struct qs_frame *frame,
          const struct qs_digest *digest)
{
    const struct qs_subject subject = {
        .frame = frame, .patch = &frame->patches[digest->mid], .channel = QS_Y};
    char name[2048];

    qs_text_clean(path, true, name, sizeof name);
    qs_text_tail(name, FILE_COLUMNS, line->file, sizeof line->file);
    line->iso = frame->shot.iso;
    line->has_tone = qs_tone_stops(subject.patch, &line->tone_stops);
    qs_field_text(QS_FIELDS_PATCH, "sd", &subject, line->noise, sizeof line->noise);
    qs_field_text(QS_FIELDS_PATCH, "snr", &subject, line->snr, sizeof line->snr);
    (void)snprintf(line->size, sizeof line->size, "-");
    (void)snprintf(line->worth, sizeof line->worth, "-");
    if (digest->delivery < 0)
        return;
    qs_words_size(frame->deliveries[digest->delivery].text, line->size,
                  sizeof line->size);
    if (!qs_is_native(&frame->deliveries[digest->delivery]) &&
        digest->worth.patches > 0)
        (void)snprintf(line->worth, sizeof line->worth, "%.2f \xC2\xB1 %.2f",
                       digest->worth.worth_stops, fmax(digest->interval_stops, 0.01));
}

enum qs_status
qs_frame_list_add(struct qs_frame_list *list, const char *path,
                  const struct qs_frame *frame, const struct qs_digest *digest,
                  struct qs_error *err)
{
    struct qs_frame_line *grown;

    if (digest->mid < 0)
        return QS_OK;
    grown = qs_realloc(list->lines, (size_t)list->count + 1, sizeof *grown);
    if (grown == NULL)
        return qs_fail_memory(err);
    list->lines = grown;
    fill_line(&grown[list->count++], path, frame, digest);
    return QS_OK;
}

/* By ISO, unknown ones last; those alike by name. */
static int
by_iso(const void *a, const void *b)
{
    const struct qs_frame_line *x = a, *y = b;
    double x_iso = x->iso > 0.0 ? x->iso : HUGE_VAL;
    double y_iso = y->iso > 0.0 ? y->iso : HUGE_VAL;

    if (x_iso != y_iso)
        return x_iso < y_iso ? -1 : 1;
    return strcmp(x->file, y->file);
}

static void
set_line(struct qs_table *table, int row, const struct qs_frame_line *line)
{
    int column = 0;

    qs_table_set(table, row, column++, "%s", line->file);
    if (line->iso > 0.0)
        qs_table_set(table, row, column++, "%.0f", line->iso);
    else
        qs_table_set(table, row, column++, "-");
    if (line->has_tone)
        qs_set_signed(table, row, column++, line->tone_stops, "");
    else
        qs_table_set(table, row, column++, "-");
    qs_table_set(table, row, column++, "%s", line->noise);
    qs_table_set(table, row, column++, "%s", line->snr);
    qs_table_set(table, row, column++, "%s", line->size);
    qs_table_set(table, row, column, "%s", line->worth);
}

enum qs_status
qs_frame_list_print(struct qs_frame_list *list, FILE *out, struct qs_error *err)
{
    static const struct qs_column columns[] = {
        {.top = "", .bottom = "frame", .left = true},
        {.top = "", .bottom = "ISO"},
        {.top = "tone", .bottom = "stops"},
        {.top = "noise", .bottom = "% white"},
        {.top = "", .bottom = "SNR"},
        {.top = "", .bottom = "size"},
        {.top = "quieter", .bottom = "stops (95 %)"},
    };
    struct qs_table table;
    enum qs_status status = qs_table_init(&table, list->count, 1, err);

    if (status != QS_OK)
        return status;
    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
        qs_table_column(&table, columns[i]);
    qsort(list->lines, (size_t)list->count, sizeof *list->lines, by_iso);
    for (int i = 0; i < list->count; i++)
        set_line(&table, i, &list->lines[i]);
    (void)fputs("All frames by ISO\n", out);
    qs_wrap(out, "  ", "  ",
            "Noise and SNR at full size, luminance, in each frame's patch nearest to "
            "middle grey; tone says how near that is.");
    qs_table_print(&table, out);
    (void)fputc('\n', out);
    qs_table_clear(&table);
    return QS_OK;
}

void
qs_frame_list_clear(struct qs_frame_list *list)
{
    qs_free(list->lines);
    *list = (struct qs_frame_list){0};
}
