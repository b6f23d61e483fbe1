/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_draw.h"

#include <cairo.h>
#include <math.h>

#include "report/chart_lines.h"
#include "report/chart_names.h"
#include "report/chart_clean.h"

static const double GRID_WIDTH = 0.8;
static const double AXIS_WIDTH = 1.0;
static const double TICK_LENGTH = 4.0;

/* Blank between the labels of own ticks. */
static const double LABEL_BLANK = 6.0;

static void
choose_ink(cairo_t *cairo, struct qs_chart_ink ink)
{
    cairo_set_source_rgb(cairo, ink.red, ink.green, ink.blue);
}

/* Text from the left margin, as many lines as it takes. */
static void
set_lines(const struct qs_chart_pen *pen, enum qs_chart_font font, const char *text,
          double y, struct qs_chart_ink ink, double width)
{
    char clean[QS_CHART_TEXT_BYTES], line[QS_CHART_TEXT_BYTES];

    qs_chart_clean(text, clean, sizeof clean);
    for (const char *rest = clean; *rest != '\0'; y += qs_chart_line_px(font)) {
        rest = qs_chart_text_line(pen->cairo, font, rest,
                                  width - 2.0 * QS_CHART_MARGIN_PX, line);
        qs_chart_text_set(pen, font, QS_CHART_MARGIN_PX, y + qs_chart_capital_px(font),
                          QS_CHART_START, ink, line);
    }
}

static void
draw_grid(cairo_t *cairo, const struct qs_chart_layout *layout)
{
    for (int i = 0; i < layout->y.count; i++) {
        struct qs_chart_spot at =
            qs_chart_spot_of(layout, layout->x.low, layout->y.marks[i].value);

        cairo_move_to(cairo, layout->left, at.y);
        cairo_line_to(cairo, layout->right, at.y);
    }
    choose_ink(cairo, qs_chart_grid_ink);
    cairo_set_line_width(cairo, GRID_WIDTH);
    cairo_stroke(cairo);
}

/* Labels beside the plot; own ticks that come too near to the last one have none. */
static void
label_y(const struct qs_chart_pen *pen, const struct qs_chart_layout *layout)
{
    const double half = qs_chart_capital_px(QS_CHART_FONT_TICK) / 2.0;
    const double apart = qs_chart_line_px(QS_CHART_FONT_TICK);
    const double most = layout->left - QS_CHART_MARGIN_PX - QS_CHART_TICK_GAP_PX + 0.01;
    double last = HUGE_VAL;

    for (int i = 0; i < layout->y.count; i++) {
        const struct qs_chart_mark *mark = &layout->y.marks[i];
        struct qs_chart_spot at = qs_chart_spot_of(layout, layout->x.low, mark->value);
        char text[QS_CHART_TEXT_BYTES];

        if (fabs(at.y - last) < apart)
            continue;
        last = at.y;
        qs_chart_text_fit(pen->cairo, QS_CHART_FONT_TICK, mark->label, most, text);
        qs_chart_text_set(pen, QS_CHART_FONT_TICK, layout->left - QS_CHART_TICK_GAP_PX,
                          at.y + half, QS_CHART_END, qs_chart_soft_ink, text);
    }
}

static void
draw_x_ticks(cairo_t *cairo, const struct qs_chart_layout *layout)
{
    cairo_move_to(cairo, layout->left, layout->bottom);
    cairo_line_to(cairo, layout->right, layout->bottom);
    for (int i = 0; i < layout->x.count; i++) {
        struct qs_chart_spot at =
            qs_chart_spot_of(layout, layout->x.marks[i].value, layout->y.low);

        cairo_move_to(cairo, at.x, layout->bottom);
        cairo_line_to(cairo, at.x, layout->bottom + TICK_LENGTH);
    }
    choose_ink(cairo, qs_chart_soft_ink);
    cairo_set_line_width(cairo, AXIS_WIDTH);
    cairo_stroke(cairo);
}

/* Where the middle of a label goes that belongs at x: not beyond the page's rim. */
static double
on_page(const struct qs_chart_layout *layout, double x, double width)
{
    const double least = QS_CHART_MARGIN_PX / 2.0 + width / 2.0;

    return fmin(fmax(x, least), layout->width - least);
}

/* Labels below the plot, from the left; one that would touch the last is left out. */
static void
label_x(const struct qs_chart_pen *pen, const struct qs_chart_layout *layout)
{
    const double y =
        layout->bottom + QS_CHART_TICK_GAP_PX + qs_chart_capital_px(QS_CHART_FONT_TICK);
    double free_from = 0.0;

    for (int n = 0; n < layout->x.count; n++) {
        const struct qs_chart_mark *mark =
            &layout->x.marks[layout->x.is_reversed ? layout->x.count - 1 - n : n];
        char text[QS_CHART_TEXT_BYTES];
        double width, x;

        qs_chart_text_fit(pen->cairo, QS_CHART_FONT_TICK, mark->label,
                          layout->width - 2.0 * QS_CHART_MARGIN_PX, text);
        width = qs_chart_text_px(pen->cairo, QS_CHART_FONT_TICK, text);
        x = on_page(layout, qs_chart_spot_of(layout, mark->value, layout->y.low).x,
                    width);
        if (x - width / 2.0 < free_from)
            continue;
        free_from = x + width / 2.0 + LABEL_BLANK;
        qs_chart_text_set(pen, QS_CHART_FONT_TICK, x, y, QS_CHART_MIDDLE,
                          qs_chart_soft_ink, text);
    }
}

static void
set_axis_title(const struct qs_chart_pen *pen, const struct qs_chart_layout *layout,
               const char *title, double x, double y)
{
    char text[QS_CHART_TEXT_BYTES];

    if (!qs_chart_says(title))
        return;
    qs_chart_text_fit(pen->cairo, QS_CHART_FONT_LABEL, title,
                      layout->width - QS_CHART_MARGIN_PX - x, text);
    qs_chart_text_set(pen, QS_CHART_FONT_LABEL, x,
                      y + qs_chart_capital_px(QS_CHART_FONT_LABEL), QS_CHART_START,
                      qs_chart_text_ink, text);
}

/* Everything within and around the plot. */
static void
draw_plot(const struct qs_chart_pen *pen, const struct qs_chart *chart,
          const struct qs_chart_layout *layout)
{
    draw_grid(pen->cairo, layout);
    draw_x_ticks(pen->cairo, layout);
    qs_chart_draw_rules(pen->cairo, chart, layout);
    qs_chart_draw_lines(pen->cairo, chart, layout);
    qs_chart_draw_names(pen, chart, layout);
    label_y(pen, layout);
    label_x(pen, layout);
}

static void
draw_nothing(const struct qs_chart_pen *pen, const struct qs_chart_layout *layout)
{
    cairo_rectangle(pen->cairo, layout->left, layout->top, layout->right - layout->left,
                    layout->bottom - layout->top);
    choose_ink(pen->cairo, qs_chart_grid_ink);
    cairo_set_line_width(pen->cairo, GRID_WIDTH);
    cairo_stroke(pen->cairo);
    qs_chart_text_set(pen, QS_CHART_FONT_LABEL, layout->width / 2.0,
                      (layout->top + layout->bottom) / 2.0, QS_CHART_MIDDLE,
                      qs_chart_soft_ink, "nothing to draw");
}

void
qs_chart_draw(const struct qs_chart_pen *pen, const struct qs_chart *chart,
              const struct qs_chart_layout *layout)
{
    set_lines(pen, QS_CHART_FONT_TITLE, chart->title, QS_CHART_MARGIN_PX,
              qs_chart_text_ink, layout->width);
    set_axis_title(pen, layout, chart->y.title, QS_CHART_MARGIN_PX, layout->y_title);
    if (layout->is_empty)
        draw_nothing(pen, layout);
    else
        draw_plot(pen, chart, layout);
    set_axis_title(pen, layout, chart->x.title, layout->left, layout->x_title);
    set_lines(pen, QS_CHART_FONT_NOTE, chart->note, layout->note, qs_chart_soft_ink,
              layout->width);
}
