/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sheet_charts.h"

#include <math.h>

#include "base/memory.h"
#include "plan/criterion.h"
#include "plan/forecast.h"
#include "resample/size.h"

/* Two-sided 95 % of a normal distribution. */
static const double SIGMAS_95 = 1.959963984540054;

enum {
    TONES = 26, /* a quarter stop apart, at most */
    POINTS = 40
};

/* One chart's lines, a line for each ISO, with room for their points. */
struct family {
    struct qs_chart_line *lines;
    struct qs_chart_point *points; /* [iso][POINTS] */
    char (*labels)[32];
};

static void
family_clear(struct family *family)
{
    qs_free(family->lines);
    qs_free(family->points);
    qs_free(family->labels);
}

static enum qs_status
family_init(struct family *family, const struct qs_sheet *sheet, struct qs_error *err)
{
    size_t count = (size_t)sheet->iso_count;

    family->lines = qs_alloc(count, sizeof *family->lines);
    family->points = qs_alloc(count * POINTS, sizeof *family->points);
    family->labels = qs_alloc(count, sizeof *family->labels);
    if (family->lines == NULL || family->points == NULL || family->labels == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < sheet->iso_count; i++) {
        (void)snprintf(family->labels[i], sizeof family->labels[i], "ISO %g",
                       sheet->isos[i].iso);
        family->lines[i] =
            (struct qs_chart_line){.label = family->labels[i],
                                   .points = family->points + (ptrdiff_t)i * POINTS,
                                   .has_markers = true,
                                   .rank = i,
                                   .ranks = sheet->iso_count};
    }
    return QS_OK;
}

static void
add_point(struct family *family, int line, double x, const struct qs_forecast *forecast)
{
    double noise = 100.0 * sqrt(forecast->variance); /* per cent of white */
    double factor = exp(0.5 * SIGMAS_95 * sqrt(forecast->spread));

    if (!forecast->known || family->lines[line].count >= POINTS)
        return;
    family->points[(ptrdiff_t)line * POINTS + family->lines[line].count++] =
        (struct qs_chart_point){x, noise, true, noise / factor, noise * factor};
}

/* Over the tones that were tested, half a stop apart. */
static enum qs_status
fill_tones(struct family *family, const struct qs_sheet *sheet, struct qs_error *err)
{
    struct qs_shrinking native;
    enum qs_status status =
        qs_shrinking_init(&native, QS_FILTER_LANCZOS3, 1, 1, 1, 1, err);

    if (status != QS_OK)
        return status;
    for (int i = 0; i < sheet->iso_count; i++) {
        const struct qs_sheet_iso *iso = &sheet->isos[i];
        double low, high;

        if (!(iso->tone_low > 0.0))
            continue;
        low = log2(iso->tone_low / QS_GREY_TONE);
        high = log2(iso->tone_high / QS_GREY_TONE);
        for (int k = 0; k < TONES; k++) {
            double stops = -8.0 + 0.5 * k, tone = QS_GREY_TONE * exp2(stops);
            struct qs_forecast forecast;

            if (stops < low - 0.25 || stops > high + 0.25)
                continue;
            forecast = qs_forecast_at(iso, (int)QS_Y, tone, &native);
            add_point(family, i, stops, &forecast);
        }
    }
    qs_shrinking_clear(&native);
    return QS_OK;
}

/* Over the usual ladder of sizes. */
static enum qs_status
fill_sizes(struct family *family, const struct qs_sheet *sheet, struct qs_error *err)
{
    for (int step = QS_SIZE_LADDER - 1; step >= 0; step--) {
        double share = qs_size_ladder_share(step);
        int width = (int)(share * sheet->width + 0.5);
        int height = (int)(share * sheet->height + 0.5);
        struct qs_shrinking shrinking;
        enum qs_status status;

        if (width < 1 || height < 1)
            continue;
        status = qs_shrinking_init(&shrinking, QS_FILTER_LANCZOS3, sheet->width,
                                   sheet->height, width, height, err);
        if (status != QS_OK)
            return status;
        for (int i = 0; i < sheet->iso_count; i++) {
            struct qs_forecast forecast =
                qs_forecast_at(&sheet->isos[i], (int)QS_Y, QS_GREY_TONE, &shrinking);

            add_point(family, i, (double)width * height / 1e6, &forecast);
        }
        qs_shrinking_clear(&shrinking);
    }
    return QS_OK;
}

enum qs_status
qs_sheet_charts(FILE *out, enum qs_chart_format format, const struct qs_sheet *sheet,
                struct qs_error *err)
{
    struct family tones = {.lines = NULL}, sizes = {.lines = NULL};
    struct qs_chart charts[2] = {
        {.title = "Noise over tone, at full size",
         .note = "Luminance. Whiskers: 95 % intervals, often smaller than the marks.",
         .x = {.title = "tone, stops from an 18 % grey"},
         .y = {.title = "noise (sd), % of white", .is_log = true}},
        {.title = "Noise of an 18 % grey over delivery size",
         .note = "Luminance, through lanczos3. To the left: smaller deliveries.",
         .x = {.title = "delivered, megapixels", .is_log = true},
         .y = {.title = "noise (sd), % of white", .is_log = true}}};
    enum qs_status status = family_init(&tones, sheet, err);

    if (status == QS_OK)
        status = family_init(&sizes, sheet, err);
    if (status == QS_OK)
        status = fill_tones(&tones, sheet, err);
    if (status == QS_OK)
        status = fill_sizes(&sizes, sheet, err);
    charts[0].lines = tones.lines;
    charts[1].lines = sizes.lines;
    charts[0].line_count = charts[1].line_count = sheet->iso_count;
    if (status == QS_OK)
        status = qs_chart_write(out, format, charts, 2,
                                (struct qs_chart_size){0.0, 0.0}, err);
    family_clear(&tones);
    family_clear(&sizes);
    return status;
}
