/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text_patches.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "report/field_cells.h"
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

static void
set_patch_row(struct qs_table *table, int row, const struct qs_frame *frame, int patch)
{
    const struct qs_patch *own = &frame->patches[patch];
    const struct qs_noise *noise = &own->channel[QS_Y].noise;
    const struct qs_subject subject = {.frame = frame, .patch = own, .channel = QS_Y};
    double tone;

    qs_table_set(table, row, PATCH_NUMBER, "%d", patch + 1);
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

struct toned {
    double mean;
    int patch;
};

static int
by_mean(const void *a, const void *b)
{
    const struct toned *x = a, *y = b;

    if (x->mean != y->mean)
        return x->mean < y->mean ? -1 : 1;
    return x->patch - y->patch;
}

static int
by_number(const void *a, const void *b)
{
    const struct toned *x = a, *y = b;

    return x->patch - y->patch;
}

/* Makes sure that the patch which the report speaks of is among those shown: it takes
   the place of the one nearest to it in tone. */
static void
include(struct toned *shown, int count, struct toned must)
{
    int nearest = 0;

    for (int i = 0; i < count; i++)
        if (fabs(shown[i].mean - must.mean) < fabs(shown[nearest].mean - must.mean))
            nearest = i;
    for (int i = 0; i < count; i++)
        if (shown[i].patch == must.patch)
            return;
    shown[nearest] = must;
}

/*
 * Fills shown[0 .. frame->patch_count) with the patches, and brings `most` of them,
 * from the darkest to the brightest in even steps of rank, to its front, patch
 * `must` among them.
 */
static void
choose_patches(const struct qs_frame *frame, int most, int must, struct toned *shown)
{
    for (int p = 0; p < frame->patch_count; p++)
        shown[p] = (struct toned){frame->patches[p].channel[QS_Y].noise.mean, p};
    if (most >= frame->patch_count)
        return;
    qsort(shown, (size_t)frame->patch_count, sizeof *shown, by_mean);
    for (int i = 0; i < most; i++)
        shown[i] = shown[(long)i * (frame->patch_count - 1) / (most - 1)];
    include(shown, most,
            (struct toned){frame->patches[must].channel[QS_Y].noise.mean, must});
    qsort(shown, (size_t)most, sizeof *shown, by_number);
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
    int rows = most < frame->patch_count ? most : frame->patch_count;
    struct toned *shown = qs_alloc((size_t)frame->patch_count, sizeof *shown);
    struct qs_table table = {0};
    enum qs_status status = QS_ERR_MEMORY;

    if (shown == NULL)
        status = qs_fail_memory(err);
    else
        status = qs_table_init(&table, rows, 1, err);
    if (status == QS_OK) {
        choose_patches(frame, most, mid, shown);
        add_patch_columns(&table);
        for (int i = 0; i < rows; i++)
            set_patch_row(&table, i, frame, shown[i].patch);
        title_patches(out, frame, rows);
        qs_table_print(&table, out);
    }
    qs_table_clear(&table);
    qs_free(shown);
    return status;
}
