/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/scene_tables.h"

#include <math.h>

#include "base/memory.h"
#include "report/digest.h"
#include "report/field_cells.h"
#include "report/patch_choice.h"
#include "report/scene_words.h"
#include "report/wrap.h"

enum {
    FEW_TONES = 6 /* classes; fewer say little of how noise goes with tone */
};

/* Share of a tone's samples; its noise comes out about as much too low. */
static const double MUCH_CLIPPED = 0.02;

#define PLUS_MINUS "\xC2\xB1"

static void
set_percent(struct qs_table *table, int row, int column, double value)
{
    qs_table_set(table, row, column, "%.3f", 100.0 * value);
}

/* Half of the 95 % interval, as a share of the value. */
static void
set_doubt(struct qs_table *table, int row, int column, double value, double low,
          double high)
{
    qs_table_set(table, row, column, "-");
    if (value > 0.0)
        qs_table_set(table, row, column, "%.1f", 50.0 * (high - low) / value);
}

static void
set_tone(struct qs_table *table, int row, int column, double mean)
{
    qs_table_set(table, row, column, "-");
    if (mean > 0.0)
        qs_set_signed(table, row, column, log2(mean / QS_MID_GREY), "");
}

enum part_column {
    PART_PATCH,
    PART_PLACE,
    PART_TONE,
    PART_MEAN,
    PART_TOTAL,
    PART_RANDOM,
    PART_RANDOM_DOUBT,
    PART_FIXED,
    PART_FIXED_RANGE,
    PART_SHARE
};

static void
add_part_columns(struct qs_table *table)
{
    static const struct qs_column columns[] = {
        [PART_PATCH] = {.top = "", .bottom = "patch"},
        [PART_PLACE] = {.top = "", .bottom = "at x,y"},
        [PART_TONE] = {.top = "tone", .bottom = "stops"},
        [PART_MEAN] = {.top = "mean", .bottom = "% white"},
        [PART_TOTAL] = {.top = "noise", .bottom = "% white"},
        [PART_RANDOM] = {.top = "random", .bottom = "% white"},
        [PART_RANDOM_DOUBT] = {.top = "", .bottom = PLUS_MINUS " %"},
        [PART_FIXED] = {.top = "fixed", .bottom = "% white"},
        [PART_FIXED_RANGE] = {.top = "", .bottom = "(95 %)"},
        [PART_SHARE] = {.top = "random", .bottom = "share"},
    };

    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
        qs_table_column(table, columns[i]);
}

static void
set_part_row(struct qs_table *table, int row, const struct qs_same_scene *scene, int p)
{
    const struct qs_box *box = &scene->random.patches[p].box;
    const struct qs_repeats *repeats = &scene->patches[p].channel[QS_Y];
    const struct qs_repeats_part *random = &repeats->random, *fixed = &repeats->fixed;

    qs_table_set(table, row, PART_PATCH, "%d", p + 1);
    qs_table_set(table, row, PART_PLACE, "%d,%d", box->x, box->y);
    set_tone(table, row, PART_TONE, repeats->mean);
    qs_table_set(table, row, PART_MEAN, "%.2f", 100.0 * repeats->mean);
    set_percent(table, row, PART_TOTAL, repeats->total.sd);
    set_percent(table, row, PART_RANDOM, random->sd);
    set_doubt(table, row, PART_RANDOM_DOUBT, random->sd, random->sd_low,
              random->sd_high);
    set_percent(table, row, PART_FIXED, fixed->sd);
    qs_table_set(table, row, PART_FIXED_RANGE, "%.3f-%.3f", 100.0 * fixed->sd_low,
                 100.0 * fixed->sd_high);
    qs_table_set(table, row, PART_SHARE, "%.0f %%", 100.0 * qs_random_share(repeats));
}

enum stripe_column {
    STRIPE_PATCH,
    STRIPE_RANDOM_ROWS,
    STRIPE_RANDOM_COLUMNS,
    STRIPE_FIXED_ROWS,
    STRIPE_FIXED_COLUMNS,
    STRIPE_AVERAGES /* first of QS_AVERAGES */
};

static void
add_stripe_columns(struct qs_table *table)
{
    static const struct qs_column columns[] = {
        [STRIPE_PATCH] = {.top = "", .bottom = "patch"},
        [STRIPE_RANDOM_ROWS] = {.top = "random", .bottom = "rows"},
        [STRIPE_RANDOM_COLUMNS] = {.top = "random", .bottom = "columns"},
        [STRIPE_FIXED_ROWS] = {.top = "fixed", .bottom = "rows"},
        [STRIPE_FIXED_COLUMNS] = {.top = "fixed", .bottom = "columns"},
        {.top = "mean of", .bottom = "2"},
        {.top = "", .bottom = "4"},
        {.top = "", .bottom = "8"},
        {.top = "", .bottom = "16 frames"},
    };

    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
        qs_table_column(table, columns[i]);
}

static void
set_stripe_row(struct qs_table *table, int row, const struct qs_same_scene *scene,
               int p)
{
    const struct qs_repeats *repeats = &scene->patches[p].channel[QS_Y];

    qs_table_set(table, row, STRIPE_PATCH, "%d", p + 1);
    set_percent(table, row, STRIPE_RANDOM_ROWS, repeats->random.row_sd);
    set_percent(table, row, STRIPE_RANDOM_COLUMNS, repeats->random.column_sd);
    set_percent(table, row, STRIPE_FIXED_ROWS, repeats->fixed.row_sd);
    set_percent(table, row, STRIPE_FIXED_COLUMNS, repeats->fixed.column_sd);
    for (int i = 0; i < QS_AVERAGES; i++)
        set_percent(table, row, STRIPE_AVERAGES + i,
                    qs_repeats_averaged(repeats, qs_averages[i]));
}

/* A table over the patches that are shown. */
static enum qs_status
put_table(FILE *out, const struct qs_same_scene *scene, const int *shown, int rows,
          void (*add)(struct qs_table *table),
          void (*set)(struct qs_table *table, int row,
                      const struct qs_same_scene *scene, int p),
          struct qs_error *err)
{
    struct qs_table table;
    enum qs_status status = qs_table_init(&table, rows, 1, err);

    if (status != QS_OK)
        return status;
    add(&table);
    for (int i = 0; i < rows; i++)
        set(&table, i, scene, shown[i]);
    qs_table_print(&table, out);
    qs_table_clear(&table);
    return QS_OK;
}

static void
title_parts(FILE *out, const struct qs_frame *random, int shown)
{
    char text[240];

    (void)fputc('\n', out);
    if (shown < random->patch_count)
        (void)snprintf(text, sizeof text,
                       "Random and fixed noise at full size, luminance: %d of %d "
                       "patches, spread over tone (--all-patches shows all, --json "
                       "gives all, and the colours)",
                       shown, random->patch_count);
    else
        (void)snprintf(text, sizeof text,
                       "Random and fixed noise at full size, luminance");
    qs_wrap(out, "  ", "  ", text);
}

/* Where the fixed part is not seen, nought is not the last word. */
static void
note_lost(FILE *out, const struct qs_same_scene *scene)
{
    int lost = 0;
    char text[240];

    for (int p = 0; p < scene->random.patch_count; p++)
        lost += scene->patches[p].channel[QS_Y].fixed_lost;
    if (lost == 0)
        return;
    (void)snprintf(text, sizeof text,
                   "In %d of %d patches fixed noise is too weak to be seen beside the "
                   "random one, and given as 0; it may be anything up to the second "
                   "figure of its 95" QS_GLUE "%% interval.",
                   lost, scene->random.patch_count);
    qs_wrap(out, "  ", "  ", text);
}

static enum qs_status
put_patches(FILE *out, const struct qs_same_scene *scene, const int *shown, int rows,
            struct qs_error *err)
{
    enum qs_status status;

    title_parts(out, &scene->random, rows);
    status = put_table(out, scene, shown, rows, add_part_columns, set_part_row, err);
    if (status != QS_OK)
        return status;
    note_lost(out, scene);
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ",
            "What whole rows and columns share, and the noise left in the mean of "
            "several frames, all in % of white");
    return put_table(out, scene, shown, rows, add_stripe_columns, set_stripe_row, err);
}

enum qs_status
qs_scene_patches(FILE *out, const struct qs_same_scene *scene, int most, int mid,
                 struct qs_error *err)
{
    int *shown = qs_alloc((size_t)scene->random.patch_count, sizeof *shown);
    int rows = 0;
    enum qs_status status =
        shown == NULL ? qs_fail_memory(err)
                      : qs_choose_patches(&scene->random, most, mid, shown, &rows, err);

    if (status == QS_OK)
        status = put_patches(out, scene, shown, rows, err);
    qs_free(shown);
    return status;
}

enum tone_column {
    TONE_STOPS,
    TONE_MEAN,
    TONE_NOISE,
    TONE_DOUBT,
    TONE_SNR,
    TONE_DB,
    TONE_PIXELS,
    TONE_CLIPPED
};

static void
add_tone_columns(struct qs_table *table)
{
    static const struct qs_column columns[] = {
        [TONE_STOPS] = {.top = "tone", .bottom = "stops"},
        [TONE_MEAN] = {.top = "mean", .bottom = "% white"},
        [TONE_NOISE] = {.top = "random", .bottom = "% white"},
        [TONE_DOUBT] = {.top = "", .bottom = PLUS_MINUS " %"},
        [TONE_SNR] = {.top = "", .bottom = "SNR"},
        [TONE_DB] = {.top = "SNR", .bottom = "dB"},
        [TONE_PIXELS] = {.top = "", .bottom = "pixels"},
        [TONE_CLIPPED] = {.top = "clipped", .bottom = "%"},
    };

    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
        qs_table_column(table, columns[i]);
}

static void
set_tone_row(struct qs_table *table, int row, const struct qs_tone_class *tone)
{
    double snr = tone->sd > 0.0 ? tone->mean / tone->sd : 0.0;

    set_tone(table, row, TONE_STOPS, tone->mean);
    qs_table_set(table, row, TONE_MEAN, "%.3f", 100.0 * tone->mean);
    set_percent(table, row, TONE_NOISE, tone->sd);
    set_doubt(table, row, TONE_DOUBT, tone->sd, tone->sd_low, tone->sd_high);
    qs_table_set(table, row, TONE_SNR, "-");
    qs_table_set(table, row, TONE_DB, "-");
    if (snr > 0.0) {
        qs_table_set(table, row, TONE_SNR, "%.1f", snr);
        qs_table_set(table, row, TONE_DB, "%.1f", 20.0 * log10(snr));
    }
    qs_table_set(table, row, TONE_PIXELS, "%.0f", tone->pixels);
    qs_table_set(table, row, TONE_CLIPPED, "%.1f", 100.0 * tone->clipped);
}

static void
title_tones(FILE *out, int classes)
{
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ",
            classes < FEW_TONES
                ? "Random noise over tone, from all of the scene, textured or not "
                  "(luminance; --json has the colours); this scene has few tones"
                : "Random noise over tone, from all of the scene, textured or not "
                  "(luminance; --json has the colours)");
}

static void
note_clipped(FILE *out, const struct qs_tone_class *tones, int classes)
{
    bool clipped = false;

    for (int i = 0; i < classes; i++)
        clipped = clipped || tones[i].clipped > MUCH_CLIPPED;
    if (clipped)
        qs_wrap(out, "  ", "  ",
                "Where samples are clipped their noise is cut off: random noise and "
                "SNR of such a tone are not to be trusted.");
}

enum qs_status
qs_scene_tones(FILE *out, const struct qs_same_scene *scene, struct qs_error *err)
{
    const struct qs_tone_class *tones = scene->tones[QS_Y];
    int classes = scene->tone_count[QS_Y];
    struct qs_table table;
    enum qs_status status = qs_table_init(&table, classes, 1, err);

    if (status != QS_OK)
        return status;
    add_tone_columns(&table);
    for (int i = 0; i < classes; i++)
        set_tone_row(&table, i, &tones[i]);
    title_tones(out, classes);
    qs_table_print(&table, out);
    qs_table_clear(&table);
    note_clipped(out, tones, classes);
    return QS_OK;
}
