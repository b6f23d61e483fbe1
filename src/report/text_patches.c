/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text_patches.h"

#include "base/memory.h"
#include "report/field_cells.h"
#include "report/patch_choice.h"
#include "report/wrap.h"

enum patch_column {
    PATCH_NUMBER,
    PATCH_PLACE,
    PATCH_SIZE,
    PATCH_TONE,
    PATCH_MEAN,
    PATCH_NOISE,
    PATCH_INTERVAL,
    PATCH_SNR,
    PATCH_DB,
    PATCH_GRAIN
};

static void
add_patch_columns(struct qs_table *table)
{
    qs_table_column(table, (struct qs_column){.top = "", .bottom = "patch"});
    qs_table_column(table, (struct qs_column){.top = "", .bottom = "at x,y"});
    qs_table_column(table, (struct qs_column){.top = "", .bottom = "size"});
    qs_table_column(table, (struct qs_column){.top = "tone", .bottom = "stops"});
    qs_table_column(table, qs_field_column(QS_FIELDS_PATCH, "mean"));
    qs_table_column(table, qs_field_column(QS_FIELDS_PATCH, "sd"));
    qs_table_column(table, (struct qs_column){.top = "", .bottom = "\xC2\xB1 %"});
    qs_table_column(table, qs_field_column(QS_FIELDS_PATCH, "snr"));
    qs_table_column(table, qs_field_column(QS_FIELDS_PATCH, "snr_db"));
    qs_table_column(table, qs_field_column(QS_FIELDS_PATCH, "grain_px"));
}

static bool
is_any_cut(const struct qs_frame *frame, const int *shown, int rows)
{
    for (int i = 0; i < rows; i++)
        if (qs_patch_is_cut(frame, &frame->patches[shown[i]]))
            return true;
    return false;
}

static void
set_patch_row(struct qs_table *table, int row, const struct qs_frame *frame, int patch,
              bool any_cut)
{
    const char *mark = qs_patch_is_cut(frame, &frame->patches[patch]) ? "*"
                       : any_cut                                      ? " "
                                                                      : "";
    const struct qs_patch *own = &frame->patches[patch];
    const struct qs_noise *noise = &own->channel[QS_Y].noise;
    const struct qs_subject subject = {.frame = frame, .patch = own, .channel = QS_Y};
    double tone;

    qs_table_set(table, row, PATCH_NUMBER, "%d%s", patch + 1, mark);
    qs_table_set(table, row, PATCH_PLACE, "%d,%d", own->box.x, own->box.y);
    qs_table_set(table, row, PATCH_SIZE, "%dx%d", own->box.width, own->box.height);
    qs_table_set(table, row, PATCH_TONE, "-");
    if (qs_tone_stops(own, &tone))
        qs_set_signed(table, row, PATCH_TONE, tone, "");
    qs_set_field(table, row, PATCH_MEAN, QS_FIELDS_PATCH, "mean", &subject);
    qs_set_field(table, row, PATCH_NOISE, QS_FIELDS_PATCH, "sd", &subject);
    qs_table_set(table, row, PATCH_INTERVAL, "-");
    if (noise->sd > 0.0)
        qs_table_set(table, row, PATCH_INTERVAL, "%.1f",
                     50.0 * (noise->sd_high - noise->sd_low) / noise->sd);
    qs_set_field(table, row, PATCH_SNR, QS_FIELDS_PATCH, "snr", &subject);
    qs_set_field(table, row, PATCH_DB, QS_FIELDS_PATCH, "snr_db", &subject);
    qs_set_field(table, row, PATCH_GRAIN, QS_FIELDS_PATCH, "grain_px", &subject);
}

static void
title_patches(FILE *out, const struct qs_frame *frame, int shown)
{
    char text[240];

    if (shown < frame->patch_count)
        (void)snprintf(text, sizeof text,
                       "Patches at full size, luminance: %d of %d, spread over tone "
                       "(--all-patches shows all, --json and --csv give all)",
                       shown, frame->patch_count);
    else
        (void)snprintf(text, sizeof text, "Patches at full size, luminance");
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", text);
}

enum qs_status
qs_text_patches(FILE *out, const struct qs_frame *frame, int most, int mid,
                struct qs_error *err)
{
    int *shown = qs_alloc((size_t)frame->patch_count, sizeof *shown);
    struct qs_table table = {0};
    int rows = 0;
    enum qs_status status =
        shown == NULL ? qs_fail_memory(err)
                      : qs_choose_patches(frame, most, mid, shown, &rows, err);

    if (status == QS_OK)
        status = qs_table_init(&table, rows, 1, err);
    if (status == QS_OK) {
        bool any_cut = is_any_cut(frame, shown, rows);

        add_patch_columns(&table);
        for (int i = 0; i < rows; i++)
            set_patch_row(&table, i, frame, shown[i], any_cut);
        title_patches(out, frame, rows);
        qs_table_print(&table, out);
        if (any_cut)
            qs_wrap(
                out, "  ", "  ",
                "* Within 3 sd of black or white in some channel: part of its noise "
                "is cut off.");
    }
    qs_table_clear(&table);
    qs_free(shown);
    return status;
}
