/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text_sizes.h"

#include <math.h>

#include "report/field_cells.h"
#include "report/fields.h"
#include "report/words.h"
#include "report/wrap.h"

/* Filter names where one line is too wide. */
static const struct broken_name {
    const char *top, *bottom;
} broken_names[QS_FILTERS] = {
    [QS_FILTER_AREA] = {"", "area"},
    [QS_FILTER_TRIANGLE] = {"tri-", "angle"},
    [QS_FILTER_MITCHELL] = {"mit-", "chell"},
    [QS_FILTER_CATMULL_ROM] = {"catmull", "-rom"},
    [QS_FILTER_BSPLINE] = {"b-", "spline"},
    [QS_FILTER_GAUSSIAN] = {"gauss-", "ian"},
    [QS_FILTER_LANCZOS2] = {"lanczos", "2"},
    [QS_FILTER_LANCZOS3] = {"lanczos", "3"},
};

static struct qs_column
filter_column(enum qs_filter filter)
{
    return (struct qs_column){.top = "",
                              .bottom = qs_filter_row(filter)->key,
                              .narrow_top = broken_names[filter].top,
                              .narrow_bottom = broken_names[filter].bottom};
}

static void
set_megapixels(struct qs_table *table, int row, int column,
               const struct qs_delivery *delivery)
{
    double megapixels = (double)delivery->width * delivery->height / 1e6;

    qs_table_set(table, row, column, "%.*f", megapixels < 10.0 ? 2 : 1, megapixels);
}

static void
set_size(struct qs_table *table, int row, int column,
         const struct qs_delivery *delivery)
{
    char size[QS_WORDS];

    qs_words_size(delivery->text, size, sizeof size);
    qs_table_set(table, row, column, "%s", size);
}

static void
title_sizes(FILE *out, const struct qs_frame *frame, const char *what)
{
    char text[320];
    int used = snprintf(text, sizeof text, "%s (luminance, ", what);

    if (frame->patch_count == 1)
        (void)snprintf(text + used, sizeof text - (size_t)used, "one patch)");
    else
        (void)snprintf(text + used, sizeof text - (size_t)used, "%d patches together)",
                       frame->patch_count);
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", text);
}

enum size_column {
    SIZE_TEXT,
    SIZE_PIXELS,
    SIZE_MEGAPIXELS,
    SIZE_NOISE,
    SIZE_SNR,
    SIZE_WORTH,
    SIZE_IDEAL,
    SIZE_CHECK
};

static void
add_size_columns(struct qs_table *table)
{
    const struct qs_field *noise = qs_field(QS_FIELDS_FALL, "sd_measured");
    const struct qs_field *worth = qs_field(QS_FIELDS_FALL, "worth_stops");

    qs_table_column(table,
                    (struct qs_column){.top = "", .bottom = "size", .left = true});
    qs_table_column(table, (struct qs_column){.top = "", .bottom = "pixels"});
    qs_table_column(table, (struct qs_column){.top = "", .bottom = "MP"});
    qs_table_column(table,
                    (struct qs_column){.top = noise->label, .bottom = noise->unit});
    qs_table_column(table, qs_field_column(QS_FIELDS_FALL, "snr"));
    qs_table_column(table,
                    (struct qs_column){.top = worth->label, .bottom = "stops (95 %)"});
    qs_table_column(table, qs_field_column(QS_FIELDS_SIZE, "ideal_stops"));
    qs_table_column(table, (struct qs_column){.top = "", .bottom = "check"});
}

static void
set_worth(struct qs_table *table, int row, int column, struct qs_frame_worth worth)
{
    if (worth.patches == 0)
        qs_table_set(table, row, column, "-");
    else
        qs_table_set(table, row, column, "%.2f \xC2\xB1 %.2f", worth.worth_stops,
                     fmax(qs_worth_interval(worth), 0.01));
}

/* Where nothing could be measured, the predicted noise. */
static const char *
sd_key(const struct qs_subject *subject)
{
    return subject->fall->channel[QS_Y].has_measured ? "sd_measured" : "sd_predicted";
}

/* Measured noise over predicted noise, less 1; mean over the patches with both. */
static bool
check_of(const struct qs_frame *frame, int delivery, double *check)
{
    double sum = 0.0;
    int count = 0;

    for (int p = 0; p < frame->patch_count; p++) {
        const struct qs_fall_value *value =
            &qs_frame_fall(frame, delivery, 0, p)->channel[QS_Y];

        if (value->has_measured && value->has_predicted && value->sd_predicted > 0.0) {
            sum += value->sd_measured / value->sd_predicted - 1.0;
            count++;
        }
    }
    if (count == 0)
        return false;
    *check = sum / count;
    return true;
}

static void
set_pixels(struct qs_table *table, int row, const struct qs_delivery *delivery)
{
    set_size(table, row, SIZE_TEXT, delivery);
    qs_table_set(table, row, SIZE_PIXELS, "%d x %d", delivery->width, delivery->height);
    set_megapixels(table, row, SIZE_MEGAPIXELS, delivery);
}

/* What the others are held against. */
static void
set_native_row(struct qs_table *table, int row, const struct qs_frame *frame,
               const struct qs_digest *digest)
{
    const struct qs_delivery native = {.text = "native",
                                       .width = frame->crop.width,
                                       .height = frame->crop.height,
                                       .reduction = 1.0};
    const struct qs_subject subject = {
        .frame = frame, .patch = &frame->patches[digest->mid], .channel = QS_Y};

    set_pixels(table, row, &native);
    qs_set_field(table, row, SIZE_NOISE, QS_FIELDS_PATCH, "sd", &subject);
    qs_set_field(table, row, SIZE_SNR, QS_FIELDS_PATCH, "snr", &subject);
    for (int column = SIZE_WORTH; column <= SIZE_CHECK; column++)
        qs_table_set(table, row, column, "-");
}

static void
set_size_row(struct qs_table *table, int row, const struct qs_frame *frame,
             const struct qs_digest *digest, int delivery)
{
    const struct qs_subject subject = {
        .frame = frame,
        .patch = &frame->patches[digest->mid],
        .fall = qs_frame_fall(frame, delivery, 0, digest->mid),
        .channel = QS_Y};
    double check;

    set_pixels(table, row, &frame->deliveries[delivery]);
    qs_set_field(table, row, SIZE_NOISE, QS_FIELDS_FALL, sd_key(&subject), &subject);
    qs_set_field(table, row, SIZE_SNR, QS_FIELDS_FALL, "snr", &subject);
    set_worth(table, row, SIZE_WORTH, qs_frame_worth(frame, delivery, 0, QS_Y));
    qs_set_field(table, row, SIZE_IDEAL, QS_FIELDS_SIZE, "ideal_stops", &subject);
    if (check_of(frame, delivery, &check))
        qs_set_signed(table, row, SIZE_CHECK, 100.0 * check, " %");
    else
        qs_table_set(table, row, SIZE_CHECK, "-");
}

/* The native size first, whether it was asked for or not. */
static void
fill_sizes(struct qs_table *table, const struct qs_frame *frame,
           const struct qs_digest *digest)
{
    const int first = qs_is_native(&frame->deliveries[0]) ? 1 : 0;

    set_native_row(table, 0, frame, digest);
    for (int d = first; d < frame->delivery_count; d++)
        set_size_row(table, d - first + 1, frame, digest, d);
}

static enum qs_status
sizes_through_one(FILE *out, const struct qs_frame *frame,
                  const struct qs_digest *digest, struct qs_error *err)
{
    char text[320];
    struct qs_table table;
    const int rows =
        frame->delivery_count + (qs_is_native(&frame->deliveries[0]) ? 0 : 1);
    enum qs_status status = qs_table_init(&table, rows, 1, err);

    if (status != QS_OK)
        return status;
    add_size_columns(&table);
    fill_sizes(&table, frame, digest);
    (void)snprintf(text, sizeof text, "Noise by size through %s",
                   qs_filter_row(frame->filters[0])->key);
    title_sizes(out, frame, text);
    qs_table_print(&table, out);
    qs_table_clear(&table);
    (void)snprintf(text, sizeof text,
                   "Noise and SNR: patch %d, the nearest to middle grey. Check: noise "
                   "measured by shrinking, against noise predicted from full size.",
                   digest->mid + 1);
    qs_wrap(out, "  ", "  ", text);
    return QS_OK;
}

enum filter_table_column {
    FILTERS_SIZE,
    FILTERS_MEGAPIXELS,
    FILTERS_FIRST
};

static void
set_filters_row(struct qs_table *table, int row, const struct qs_frame *frame)
{
    struct qs_frame_worth worth = {0};
    const bool native = qs_is_native(&frame->deliveries[row]);

    set_size(table, row, FILTERS_SIZE, &frame->deliveries[row]);
    set_megapixels(table, row, FILTERS_MEGAPIXELS, &frame->deliveries[row]);
    for (int f = 0; f < frame->filter_count; f++) {
        worth = qs_frame_worth(frame, row, f, QS_Y);
        if (worth.patches == 0 || native)
            qs_table_set(table, row, FILTERS_FIRST + f, "-");
        else
            qs_table_set(table, row, FILTERS_FIRST + f, "%.2f", worth.worth_stops);
    }
    if (native)
        qs_table_set(table, row, FILTERS_FIRST + frame->filter_count, "-");
    else
        qs_table_set(table, row, FILTERS_FIRST + frame->filter_count, "%.2f",
                     worth.ideal_stops);
}

/* A noise figure misleads without the detail it costs: a last row says that. */
static void
set_contrast_row(struct qs_table *table, int row, const struct qs_frame *frame,
                 int delivery)
{
    qs_table_set(table, row, FILTERS_SIZE, "contrast");
    for (int f = 0; f < frame->filter_count; f++)
        qs_table_set(table, row, FILTERS_FIRST + f, "%.0f %%",
                     100.0 * qs_frame_fall(frame, delivery, f, 0)->contrast_kept);
}

/* Widest 95 % interval in the table, half of it. */
static double
widest(const struct qs_frame *frame)
{
    double most = 0.0;

    for (int d = 0; d < frame->delivery_count; d++)
        for (int f = 0; f < frame->filter_count; f++)
            if (!qs_is_native(&frame->deliveries[d]))
                most = fmax(most, qs_worth_interval(qs_frame_worth(frame, d, f, QS_Y)));
    return most;
}

static void
note_filters(FILE *out, const struct qs_frame *frame, const struct qs_digest *digest)
{
    char size[QS_WORDS], text[480];

    qs_words_size(frame->deliveries[digest->delivery].text, size, sizeof size);
    (void)snprintf(text, sizeof text,
                   "All within \xC2\xB1" QS_GLUE
                   "%.2f (95 %%). Contrast: what each filter "
                   "keeps, at %s, of detail twice as coarse as the finest the size can "
                   "hold: more noise gone is more detail gone.",
                   fmax(widest(frame), 0.01), size);
    qs_wrap(out, "  ", "  ", text);
}

static enum qs_status
sizes_through_many(FILE *out, const struct qs_frame *frame,
                   const struct qs_digest *digest, struct qs_error *err)
{
    struct qs_table table;
    enum qs_status status =
        qs_table_init(&table, frame->delivery_count + 1, FILTERS_FIRST, err);

    if (status != QS_OK)
        return status;
    qs_table_column(&table,
                    (struct qs_column){.top = "", .bottom = "size", .left = true});
    qs_table_column(&table, (struct qs_column){.top = "", .bottom = "MP"});
    for (int f = 0; f < frame->filter_count; f++)
        qs_table_column(&table, filter_column(frame->filters[f]));
    qs_table_column(&table, (struct qs_column){.top = "", .bottom = "ideal"});
    for (int d = 0; d < frame->delivery_count; d++)
        set_filters_row(&table, d, frame);
    set_contrast_row(&table, frame->delivery_count, frame, digest->delivery);
    title_sizes(out, frame, "Stops quieter than at full size, by size and filter");
    qs_table_print(&table, out);
    qs_table_clear(&table);
    note_filters(out, frame, digest);
    return QS_OK;
}

enum qs_status
qs_text_sizes(FILE *out, const struct qs_frame *frame, const struct qs_digest *digest,
              struct qs_error *err)
{
    if (frame->filter_count == 1)
        return sizes_through_one(out, frame, digest, err);
    return sizes_through_many(out, frame, digest, err);
}
