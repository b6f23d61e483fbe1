/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_text.h"

#include <cairo.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/chart_clean.h"
#include "base/plain_text.h"

#define ELLIPSIS "\xE2\x80\xA6"

static const char FAMILY[] = "sans-serif";
static const double LINE_SHARE = 1.36;
static const double CAPITAL_SHARE = 0.73;

static const struct font {
    double size_px;
    bool is_bold;
} fonts[QS_CHART_FONTS] = {
    [QS_CHART_FONT_TITLE] = {15.0, true},
    [QS_CHART_FONT_LABEL] = {11.5, false},
    [QS_CHART_FONT_TICK] = {11.0, false},
    [QS_CHART_FONT_NOTE] = {11.0, false},
};

void
qs_chart_text_start(cairo_t *cairo)
{
    cairo_font_options_t *options = cairo_font_options_create();

    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(cairo, options);
    cairo_font_options_destroy(options);
}

double
qs_chart_line_px(enum qs_chart_font font)
{
    return fonts[font].size_px * LINE_SHARE;
}

double
qs_chart_capital_px(enum qs_chart_font font)
{
    return fonts[font].size_px * CAPITAL_SHARE;
}

static void
choose(cairo_t *cairo, enum qs_chart_font font)
{
    cairo_select_font_face(cairo, FAMILY, CAIRO_FONT_SLANT_NORMAL,
                           fonts[font].is_bold ? CAIRO_FONT_WEIGHT_BOLD
                                               : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cairo, fonts[font].size_px);
}

double
qs_chart_text_px(cairo_t *cairo, enum qs_chart_font font, const char *text)
{
    cairo_text_extents_t extents;

    choose(cairo, font);
    cairo_text_extents(cairo, text, &extents);
    return extents.x_advance;
}

/* The longest beginning of `text`, at most `bytes` long, that ends between characters.
 */
static size_t
whole_characters(const char *text, size_t bytes)
{
    size_t used = 0;

    while (text[used] != '\0') {
        uint32_t unused;
        size_t next = used + qs_text_next(text + used, &unused);

        if (next > bytes)
            break;
        used = next;
    }
    return used;
}

/*
 * The longest beginning of `text` that, with `ending` after it, is no wider than
 * `most_px` and has room in `out`, where both are copied.
 */
static size_t
longest_fit(cairo_t *cairo, enum qs_chart_font font, const char *text,
            const char *ending, double most_px, char *out)
{
    size_t fits = 0, fails = QS_CHART_TEXT_BYTES - strlen(ending);

    if (fails > strlen(text) + 1)
        fails = strlen(text) + 1;
    while (fits + 1 < fails) {
        size_t middle = fits + (fails - fits) / 2;

        (void)snprintf(out, QS_CHART_TEXT_BYTES, "%.*s%s",
                       (int)whole_characters(text, middle), text, ending);
        if (qs_chart_text_px(cairo, font, out) <= most_px)
            fits = middle;
        else
            fails = middle;
    }
    fits = whole_characters(text, fits);
    (void)snprintf(out, QS_CHART_TEXT_BYTES, "%.*s%s", (int)fits, text, ending);
    return fits;
}

void
qs_chart_text_fit(cairo_t *cairo, enum qs_chart_font font, const char *text,
                  double most_px, char *out)
{
    char clean[QS_CHART_TEXT_BYTES];

    qs_chart_clean(text, clean, sizeof clean);
    if (longest_fit(cairo, font, clean, "", most_px, out) < strlen(clean))
        (void)longest_fit(cairo, font, clean, ELLIPSIS, most_px, out);
}

/* The last place before `end` at which a line may be broken, or 0. */
static size_t
last_blank(const char *text, size_t end)
{
    while (end > 0 && text[end] != ' ')
        end--;
    return end;
}

const char *
qs_chart_text_line(cairo_t *cairo, enum qs_chart_font font, const char *text,
                   double most_px, char *out)
{
    size_t end = longest_fit(cairo, font, text, "", most_px, out);
    size_t blank = last_blank(text, end);
    uint32_t unused;

    if (text[end] != '\0' && blank > 0)
        end = blank;
    if (end == 0) /* not even one character fits, yet the text must get shorter */
        end = qs_text_next(text, &unused);
    (void)snprintf(out, QS_CHART_TEXT_BYTES, "%.*s", (int)end, text);
    return text + end + strspn(text + end, " ");
}

static int
as_byte(double share)
{
    return (int)lround(255.0 * share);
}

static void
add_element(const struct qs_chart_pen *pen, enum qs_chart_font font, double x, double y,
            enum qs_chart_anchor anchor, struct qs_chart_ink ink, const char *text)
{
    static const char *const anchors[] = {"", " text-anchor=\"middle\"",
                                          " text-anchor=\"end\""};

    qs_chart_bytes_say(
        pen->elements,
        "<text x=\"%.2f\" y=\"%.2f\" font-size=\"%g\"%s%s "
        "fill=\"#%02x%02x%02x\">",
        x, y, fonts[font].size_px, fonts[font].is_bold ? " font-weight=\"bold\"" : "",
        anchors[anchor], as_byte(ink.red), as_byte(ink.green), as_byte(ink.blue));
    qs_chart_escape(pen->elements, text);
    qs_chart_bytes_say(pen->elements, "</text>\n");
}

void
qs_chart_text_set(const struct qs_chart_pen *pen, enum qs_chart_font font, double x,
                  double y, enum qs_chart_anchor anchor, struct qs_chart_ink ink,
                  const char *text)
{
    static const double before[] = {0.0, 0.5, 1.0};

    if (pen->elements != NULL) {
        add_element(pen, font, x, y + pen->shift_px, anchor, ink, text);
        return;
    }
    x -= before[anchor] * qs_chart_text_px(pen->cairo, font, text);
    cairo_set_source_rgb(pen->cairo, ink.red, ink.green, ink.blue);
    cairo_move_to(pen->cairo, x, y);
    cairo_show_text(pen->cairo, text);
    cairo_new_path(pen->cairo);
}
