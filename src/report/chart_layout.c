/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_layout.h"

#include <math.h>
#include <string.h>

#include "report/chart_range.h"
#include "report/chart_clean.h"

static const double ROW_GAP = 5.0;
static const double TITLE_GAP = 8.0;
static const double NOTE_GAP = 8.0;
static const double LEADER = 24.0; /* between the plot and the lines' names */
static const double LEAST_PLOT = 90.0;

/* The lines' names take no more than this share of the width. */
static const double MOST_COLUMN = 0.36;

/* Room for one tick. */
static const double TICK_ROW = 24.0;
static const double TICK_COLUMN = 44.0;
static const double TICK_BLANK = 12.0;

bool
qs_chart_says(const char *text)
{
    return text != NULL && text[0] != '\0';
}

int
qs_chart_lines_of(cairo_t *cairo, enum qs_chart_font font, const char *text,
                  double most_px)
{
    char clean[QS_CHART_TEXT_BYTES], line[QS_CHART_TEXT_BYTES];
    int lines = 0;

    qs_chart_clean(text, clean, sizeof clean);
    for (const char *rest = clean; *rest != '\0'; lines++)
        rest = qs_chart_text_line(cairo, font, rest, most_px, line);
    return lines;
}

static bool
has_upright_names(const struct qs_chart *chart)
{
    for (int i = 0; i < chart->rule_count; i++)
        if (chart->rules[i].vertical && qs_chart_says(chart->rules[i].label))
            return true;
    return false;
}

/* Everything above the plot. */
static void
lay_top(cairo_t *cairo, const struct qs_chart *chart, struct qs_chart_layout *out)
{
    const double inner = out->width - 2.0 * QS_CHART_MARGIN_PX;
    const double row = qs_chart_line_px(QS_CHART_FONT_LABEL) + ROW_GAP;
    int titles = qs_chart_lines_of(cairo, QS_CHART_FONT_TITLE, chart->title, inner);
    double y = QS_CHART_MARGIN_PX + titles * qs_chart_line_px(QS_CHART_FONT_TITLE);

    if (titles > 0)
        y += TITLE_GAP;
    out->y_title = y;
    if (qs_chart_says(chart->y.title))
        y += row;
    if (has_upright_names(chart))
        y += row;
    out->rule_row = y - 2.0 * ROW_GAP;
    out->top = y + ROW_GAP;
}

/* Everything below the plot; the rows' tops are counted from its foot.  Returns how
   much room they take. */
static double
lay_below(cairo_t *cairo, const struct qs_chart *chart, struct qs_chart_layout *out)
{
    const double inner = out->width - 2.0 * QS_CHART_MARGIN_PX;
    int notes = qs_chart_lines_of(cairo, QS_CHART_FONT_NOTE, chart->note, inner);
    double y = QS_CHART_TICK_GAP_PX + qs_chart_line_px(QS_CHART_FONT_TICK);

    out->x_title = y + ROW_GAP;
    if (qs_chart_says(chart->x.title))
        y = out->x_title + qs_chart_line_px(QS_CHART_FONT_LABEL);
    out->note = y + NOTE_GAP;
    if (notes > 0)
        y = out->note + notes * qs_chart_line_px(QS_CHART_FONT_NOTE);
    return y + QS_CHART_MARGIN_PX;
}

/* How tall the names beside the plot are together. */
static double
height_beside(const struct qs_chart *chart)
{
    int names = 0;

    for (int i = 0; i < chart->line_count; i++)
        names += qs_chart_says(chart->lines[i].label);
    for (int i = 0; i < chart->rule_count; i++)
        names += !chart->rules[i].vertical && qs_chart_says(chart->rules[i].label);
    return (names + 1) * qs_chart_line_px(QS_CHART_FONT_LABEL);
}

static double
name_px(cairo_t *cairo, const char *name, double most_px)
{
    char fitted[QS_CHART_TEXT_BYTES];

    qs_chart_text_fit(cairo, QS_CHART_FONT_LABEL, name, most_px, fitted);
    return qs_chart_text_px(cairo, QS_CHART_FONT_LABEL, fitted);
}

/* How wide the widest name beside the plot is. */
static double
width_beside(cairo_t *cairo, const struct qs_chart *chart, double most_px)
{
    double widest = 0.0;

    for (int i = 0; i < chart->line_count; i++)
        widest = fmax(widest, name_px(cairo, chart->lines[i].label, most_px));
    for (int i = 0; i < chart->rule_count; i++)
        if (!chart->rules[i].vertical)
            widest = fmax(widest, name_px(cairo, chart->rules[i].label, most_px));
    return widest;
}

static double
widest_mark(cairo_t *cairo, const struct qs_chart_scale *scale)
{
    double widest = 0.0;

    for (int i = 0; i < scale->count; i++)
        widest = fmax(
            widest, qs_chart_text_px(cairo, QS_CHART_FONT_TICK, scale->marks[i].label));
    return widest;
}

/* Whether the labels of made ticks stand clear of each other over `length`. */
static bool
marks_fit(cairo_t *cairo, const struct qs_chart_scale *scale, double length)
{
    double least = length;

    for (int i = 1; i < scale->count; i++)
        least =
            fmin(least,
                 length * fabs(qs_chart_scale_place(scale, scale->marks[i].value) -
                               qs_chart_scale_place(scale, scale->marks[i - 1].value)));
    return widest_mark(cairo, scale) + TICK_BLANK <= least;
}

static int
ticks_for(double length, double room)
{
    return (int)fmax(QS_CHART_TICKS_LEAST, fmin(length / room, QS_CHART_TICKS_MOST));
}

static void
fit_x(cairo_t *cairo, const struct qs_chart_axis *axis,
      const struct qs_chart_range *range, double length, struct qs_chart_scale *out)
{
    int most = ticks_for(length, TICK_COLUMN);

    do
        qs_chart_scale_fit(axis, range->low, range->high, most, out);
    while (axis->ticks == NULL && !marks_fit(cairo, out, length) &&
           most-- > QS_CHART_TICKS_LEAST);
}

static void
lay_sides(cairo_t *cairo, const struct qs_chart *chart, struct qs_chart_layout *out)
{
    double marks = fmin(widest_mark(cairo, &out->y), out->width / 4.0);
    double names = width_beside(cairo, chart, MOST_COLUMN * out->width);

    out->left = QS_CHART_MARGIN_PX + marks + QS_CHART_TICK_GAP_PX;
    out->right = out->width - QS_CHART_MARGIN_PX - names -
                 (names > 0.0 ? LEADER : QS_CHART_TICK_GAP_PX);
    out->column = out->right + LEADER;
}

void
qs_chart_lay_out(cairo_t *cairo, const struct qs_chart *chart,
                 struct qs_chart_size size, struct qs_chart_layout *out)
{
    struct qs_chart_range x, y;
    double below;

    memset(out, 0, sizeof *out);
    out->width = size.width_px;
    lay_top(cairo, chart, out);
    below = lay_below(cairo, chart, out);
    out->is_empty = !qs_chart_range_of(chart, &x, &y);
    out->height = ceil(fmax(size.height_px, out->top + below + LEAST_PLOT));
    if (!out->is_empty)
        out->height = ceil(fmax(out->height, out->top + below + height_beside(chart)));
    out->bottom = out->height - below;
    out->x_title += out->bottom;
    out->note += out->bottom;
    if (out->is_empty) {
        out->left = QS_CHART_MARGIN_PX;
        out->right = out->width - QS_CHART_MARGIN_PX;
        return;
    }
    qs_chart_scale_fit(&chart->y, y.low, y.high,
                       ticks_for(out->bottom - out->top, TICK_ROW), &out->y);
    lay_sides(cairo, chart, out);
    fit_x(cairo, &chart->x, &x, out->right - out->left, &out->x);
}

bool
qs_chart_shows(const struct qs_chart *chart, const struct qs_chart_point *point)
{
    return qs_chart_can_show(point->x, chart->x.is_log) &&
           qs_chart_can_show(point->y, chart->y.is_log);
}

struct qs_chart_spot
qs_chart_spot_of(const struct qs_chart_layout *layout, double x, double y)
{
    return (struct qs_chart_spot){
        layout->left +
            (layout->right - layout->left) * qs_chart_scale_place(&layout->x, x),
        layout->bottom -
            (layout->bottom - layout->top) * qs_chart_scale_place(&layout->y, y)};
}

bool
qs_chart_is_inside(const struct qs_chart_layout *layout, struct qs_chart_spot spot)
{
    const double slack = 1e-6;

    return spot.x >= layout->left - slack && spot.x <= layout->right + slack &&
           spot.y >= layout->top - slack && spot.y <= layout->bottom + slack;
}
