/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sheet_text.h"

#include <math.h>
#include <string.h>

#include "base/plain_text.h"
#include "plan/criterion.h"
#include "report/phrase.h"
#include "report/plan_words.h"
#include "report/table.h"
#include "report/words.h"
#include "report/wrap.h"

/* Fits whose points scatter this much more than chance are worth a word. */
static const double POOR_SCATTER = 4.0;

/* Variance of luminance at middle grey, and what it is made of. */
struct parts {
    bool known;
    double variance, photons, read, pattern;
    bool apart;       /* light and camera were told apart: from two tones and more */
    bool has_pattern; /* pattern too */
};

static struct parts
parts_of(const struct qs_sheet_iso *iso)
{
    const struct qs_sheet_signal *y = &iso->signals[QS_Y];
    const double *v = y->model.value;
    struct parts parts = {.known = y->fitted};

    parts.apart = y->model.fitted[QS_MODEL_READ2];
    parts.has_pattern = y->model.fitted[QS_MODEL_PATTERN2];
    parts.read = v[QS_MODEL_READ2];
    parts.photons = v[QS_MODEL_GAIN] * QS_GREY_TONE;
    parts.pattern = v[QS_MODEL_PATTERN2] * QS_GREY_TONE * QS_GREY_TONE;
    parts.variance = parts.read + parts.photons + parts.pattern;
    parts.known = parts.known && parts.variance > 0.0;
    return parts;
}

static double
snr_of(const struct parts *parts)
{
    return QS_GREY_TONE / sqrt(parts->variance);
}

static void
put_title(FILE *out, const struct qs_sheet *sheet)
{
    struct qs_phrase title = {.used = 0};
    char camera[3 * QS_SHEET_TEXT];

    qs_text_clean(sheet->camera, true, camera, sizeof camera);
    qs_say(&title, "Camera sheet: %s, %d x %d pixels%s",
           camera[0] != '\0' ? camera : "camera unknown", sheet->width, sheet->height,
           sheet->channels == 1 ? ", grey" : "");
    qs_wrap(out, "", "  ", title.text);
}

/* "from a signal-to-noise ratio of 74 at ISO 100 to 11 at ISO 6400" */
static void
put_sentence(FILE *out, const struct qs_sheet *sheet)
{
    const struct qs_sheet_iso *first = &sheet->isos[0];
    const struct qs_sheet_iso *last = &sheet->isos[sheet->iso_count - 1];
    struct parts low = parts_of(first), high = parts_of(last);
    struct qs_phrase phrase = {.used = 0};

    (void)fputc('\n', out);
    if (!low.known || !high.known) {
        qs_wrap(out, "  ", "  ",
                "Some ISO values hold too little to tell how noise goes with tone; see "
                "the table.");
        return;
    }
    if (sheet->iso_count == 1)
        qs_say(&phrase,
               "At full size an 18" QS_GLUE
               "%% grey has a signal-to-noise ratio of %.3g in luminance at "
               "ISO" QS_GLUE "%g, the only one tested.",
               snr_of(&low), first->iso);
    else
        qs_say(&phrase,
               "At full size an 18" QS_GLUE
               "%% grey has a signal-to-noise ratio of %.3g in luminance at "
               "ISO" QS_GLUE "%g, and of %.3g at ISO" QS_GLUE "%g.",
               snr_of(&low), first->iso, snr_of(&high), last->iso);
    qs_wrap(out, "  ", "  ", phrase.text);
}

static void
add_columns(struct qs_table *table)
{
    static const struct qs_column columns[] = {
        {.top = "", .bottom = "ISO"},
        {.top = "", .bottom = "frames", .left = true},
        {.top = "tones tested",
         .bottom = "stops from grey",
         .narrow_top = "tones",
         .narrow_bottom = "tested"},
        {.top = "noise", .bottom = "% of white"},
        {.top = "SNR", .bottom = "at grey"},
        {.top = "light", .bottom = "%"},
        {.top = "camera", .bottom = "%"},
        {.top = "pattern", .bottom = "%"},
        {.top = "", .bottom = "fit", .left = true},
    };

    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
        qs_table_column(table, columns[i]);
}

static int
repeats_of(const struct qs_sheet_iso *iso)
{
    int count = 0;

    for (int f = 0; f < iso->frame_count; f++)
        count += iso->frames[f].repeat;
    return count;
}

static bool
needs_care(const struct qs_sheet_iso *iso)
{
    for (int f = 0; f < iso->frame_count; f++)
        if (iso->frames[f].with_care)
            return true;
    return false;
}

/* "good", "scattered", or what of the three parts can't be told. */
static const char *
fit_word(const struct qs_sheet_signal *y)
{
    const struct qs_model *model = &y->model;

    if (!y->fitted)
        return "none";
    if (!model->fitted[QS_MODEL_READ2])
        return "one tone";
    if (!model->fitted[QS_MODEL_PATTERN2])
        return "no pattern";
    return model->scatter > POOR_SCATTER ? "scattered" : "good";
}

static void
set_tones(struct qs_table *table, int row, int column, const struct qs_sheet_iso *iso)
{
    /* + 0.0 after rounding: no minus sign before a nought */
    if (iso->tone_low > 0.0 && iso->tone_high > 0.0)
        qs_table_set(table, row, column, "%+.1f to %+.1f",
                     round(10.0 * log2(iso->tone_low / QS_GREY_TONE)) / 10.0 + 0.0,
                     round(10.0 * log2(iso->tone_high / QS_GREY_TONE)) / 10.0 + 0.0);
    else
        qs_table_set(table, row, column, "-");
}

/* A dash where it was not tested. */
static void
set_share(struct qs_table *table, int row, int column, double share, bool known)
{
    if (known)
        qs_table_set(table, row, column, "%.0f", 100.0 * share);
    else
        qs_table_set(table, row, column, "-");
}

static void
set_row(struct qs_table *table, int row, const struct qs_sheet_iso *iso)
{
    struct parts parts = parts_of(iso);
    int repeats = repeats_of(iso), column = 0;

    qs_table_set(table, row, column++, "%g", iso->iso);
    if (repeats > 0 && repeats == iso->frame_count)
        qs_table_set(table, row, column++, "%d repeats%s", repeats,
                     needs_care(iso) ? " *" : "");
    else
        qs_table_set(table, row, column++, "%d%s", iso->frame_count,
                     needs_care(iso) ? " *" : "");
    set_tones(table, row, column++, iso);
    if (parts.known) {
        qs_table_set(table, row, column++, "%#.3g", 100.0 * sqrt(parts.variance));
        qs_table_set(table, row, column++, "%.1f", snr_of(&parts));
        set_share(table, row, column++, parts.photons / parts.variance, parts.apart);
        set_share(table, row, column++, parts.read / parts.variance, parts.apart);
        set_share(table, row, column++, parts.pattern / parts.variance,
                  parts.has_pattern);
    } else {
        for (int i = 0; i < 5; i++)
            qs_table_set(table, row, column++, "-");
    }
    qs_table_set(table, row, column, "%s", fit_word(&iso->signals[QS_Y]));
}

static enum qs_status
put_table(FILE *out, const struct qs_sheet *sheet, struct qs_error *err)
{
    struct qs_table table;
    enum qs_status status = qs_table_init(&table, sheet->iso_count, 1, err);

    if (status != QS_OK)
        return status;
    add_columns(&table);
    for (int i = 0; i < sheet->iso_count; i++)
        set_row(&table, i, &sheet->isos[i]);
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ",
            "Noise of an 18" QS_GLUE
            "% grey at full size, in luminance, and what its power is made of");
    qs_table_print(&table, out);
    qs_table_clear(&table);
    return QS_OK;
}

/* Noise of the colours at middle grey and the highest ISO: the worst one is named. */
static void
put_worst_colour(FILE *out, const struct qs_sheet *sheet)
{
    const struct qs_sheet_iso *last = &sheet->isos[sheet->iso_count - 1];
    struct qs_phrase phrase = {.used = 0};
    double worst = 0.0, best = HUGE_VAL;
    int channel = -1;

    for (int c = (int)QS_R; sheet->channels == 3 && c < (int)QS_Y; c++) {
        double variance = qs_model_variance(&last->signals[c].model, QS_GREY_TONE);

        if (!last->signals[c].fitted)
            return;
        best = fmin(best, variance);
        if (variance > worst) {
            worst = variance;
            channel = c;
        }
    }
    if (channel < 0 || !(best > 0.0))
        return;
    qs_say(&phrase,
           "Of the colours, %s is the noisiest: at ISO" QS_GLUE
           "%g its signal-to-noise ratio at that grey is %.3g, %.1f" QS_GLUE
           "times the noise of the cleanest. quietsize plan --channel judges by it.",
           qs_words_channel((enum qs_channel)channel), last->iso,
           QS_GREY_TONE / sqrt(worst), sqrt(worst / best));
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", phrase.text);
}

static void
put_key(FILE *out, const struct qs_sheet *sheet)
{
    bool care = false;

    for (int i = 0; i < sheet->iso_count; i++)
        care = care || needs_care(&sheet->isos[i]);
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "    ",
            "Light: the grain of the light itself, which more light makes finer. "
            "Camera: the "
            "camera's own noise, there in the dark too. Pattern: unevenness of the "
            "sensor, the same in every frame, which grows with the light.");
    if (care)
        qs_wrap(out, "  ", "    ",
                "* A frame is to be used with care; quietsize measure says why.");
}

/* Where the parts can't be told apart, once. */
static void
put_doubts(FILE *out, const struct qs_sheet *sheet)
{
    bool unsure = false, scattered = false, few = false;

    for (int i = 0; i < sheet->iso_count; i++) {
        const struct qs_sheet_signal *y = &sheet->isos[i].signals[QS_Y];

        if (!y->fitted)
            continue;
        few = few || !y->model.fitted[QS_MODEL_READ2] ||
              !y->model.fitted[QS_MODEL_PATTERN2];
        scattered = scattered || y->model.scatter > POOR_SCATTER;
        for (int p = 0; p < (int)QS_MODEL_PARTS; p++)
            unsure = unsure ||
                     (y->model.fitted[p] && !y->model.held[p] && !y->model.told[p]);
    }
    if (few)
        qs_wrap(out, "  ", "    ",
                "At some ISO values there are too few tones to tell all three apart; a "
                "dash stands for what was not tested, and a plan for tones off those "
                "tested has a wide interval. Shoot a grey surface at 3 or more levels, "
                "down to 4 stops below middle grey.");
    if (unsure)
        qs_wrap(out, "  ", "    ",
                "At some ISO values one of the three is so small that it can't be told "
                "from none; the sum is sure all the same.");
    if (scattered)
        qs_wrap(out, "  ", "    ",
                "Scattered: the patches do not follow one curve over tone, as with a "
                "wrong --black or --encoding, texture or lens corrections. Intervals "
                "are widened by that, but a wrong black level shifts every figure: "
                "check it first.");
}

static void
put_calibration(FILE *out, const struct qs_sheet_calibration *calibration)
{
    struct qs_phrase phrase = {.used = 0};
    double stops = fabs(calibration->stops);
    char lux[QS_WORDS];

    if (!calibration->known)
        return;
    qs_words_figures(calibration->light_lx, 2, lux, sizeof lux);
    qs_say(&phrase, "Calibrated: in %s" QS_GLUE "lux this camera comes out ", lux);
    if (stops < 0.05)
        qs_say(&phrase, "as bright as the formula says.");
    else
        qs_say(&phrase,
               "%.1f" QS_GLUE "stop%s %s than the formula says, so it needs %s light.",
               stops, stops < 1.05 ? "" : "s",
               calibration->stops > 0.0 ? "brighter" : "darker",
               calibration->stops > 0.0 ? "less" : "more");
    (void)fputc('\n', out);
    qs_wrap(out, "  ", "  ", phrase.text);
}

static void
put_refused(FILE *out, const struct qs_sheet *sheet)
{
    if (sheet->refused_count == 0)
        return;
    (void)fputs("\n  Left out\n", out);
    for (int i = 0; i < sheet->refused_count; i++) {
        struct qs_phrase phrase = {.used = 0};
        char file[640], why[640];

        qs_text_clean(sheet->refused[i].file, true, file, sizeof file);
        qs_text_clean(sheet->refused[i].why, true, why, sizeof why);
        qs_say(&phrase, "%s: %s", file, why);
        qs_wrap(out, "    ", "      ", phrase.text);
    }
}

enum qs_status
qs_sheet_text(FILE *out, const struct qs_sheet *sheet, struct qs_error *err)
{
    enum qs_status status;

    put_title(out, sheet);
    put_sentence(out, sheet);
    status = put_table(out, sheet, err);
    if (status != QS_OK)
        return status;
    put_worst_colour(out, sheet);
    put_key(out, sheet);
    put_doubts(out, sheet);
    put_calibration(out, &sheet->calibration);
    put_refused(out, sheet);
    (void)fputc('\n', out);
    return QS_OK;
}

void
qs_sheet_text_unkept(FILE *out)
{
    qs_wrap(out, "  ", "  ",
            "The sheet was not kept; write --out sheet.json to keep it for quietsize "
            "plan.");
    (void)fputc('\n', out);
}
