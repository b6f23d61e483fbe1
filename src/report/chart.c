/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "report/chart_axis.h"
#include "report/chart_page.h"

/* Room around the plot. */
#define LEFT 66.0
#define RIGHT 104.0
#define TOP 46.0
#define BOTTOM 76.0

#define TEXT_SIZE 11.0
#define TITLE_SIZE 13.0
#define LABEL_GAP 13.0 /* between the names of lines */
#define MARKER 3.2     /* half a marker's width */

static const double INK = 0.15, FAINT = 0.45, GRID = 0.88;

enum {
    LINES_MOST = 256
};

/* A chart being drawn. */
struct drawing {
    struct qs_page *page;
    cairo_t *cairo;
    const struct qs_chart *chart;
    double top; /* of the chart on the page */
    struct qs_axis_ticks x, y;
};

int
qs_chart_format_of(const char *path)
{
    static const char *const endings[QS_CHART_FORMATS] = {
        [QS_CHART_SVG] = ".svg", [QS_CHART_PNG] = ".png", [QS_CHART_PDF] = ".pdf"};
    const char *dot = strrchr(path, '.');

    for (int i = 0; dot != NULL && i < (int)QS_CHART_FORMATS; i++)
        if (strcasecmp(dot, endings[i]) == 0)
            return i;
    return -1;
}

static double
plot_bottom(const struct drawing *drawing)
{
    return drawing->top + QS_CHART_HEIGHT - BOTTOM;
}

static double
place_x(const struct drawing *drawing, double x)
{
    return LEFT + qs_axis_place(&drawing->x, drawing->chart->x.is_log, x) *
                      (QS_CHART_WIDTH - LEFT - RIGHT);
}

static double
place_y(const struct drawing *drawing, double y)
{
    return plot_bottom(drawing) -
           qs_axis_place(&drawing->y, drawing->chart->y.is_log, y) *
               (QS_CHART_HEIGHT - TOP - BOTTOM);
}

static bool
is_drawn(const struct qs_chart *chart, const struct qs_chart_point *point)
{
    return isfinite(point->x) && isfinite(point->y) &&
           (!chart->x.is_log || point->x > 0.0) && (!chart->y.is_log || point->y > 0.0);
}

static void
put(const struct drawing *drawing, double x, double y, double anchor, double grey,
    const char *text)
{
    struct qs_page_text one = {
        .x = x, .y = y, .size = TEXT_SIZE, .grey = grey, .anchor = anchor};

    (void)snprintf(one.text, sizeof one.text, "%s", text);
    qs_page_put(drawing->page, &one);
}

/* A number as an axis says it: a real minus sign, no needless digits. */
static void
number_words(double value, char *out, size_t size)
{
    (void)snprintf(out, size, "%s%.4g", value < 0.0 ? "\xE2\x88\x92" : "", fabs(value));
}

static void
draw_grid_line(const struct drawing *drawing, double x0, double y0, double x1,
               double y1)
{
    cairo_set_source_rgb(drawing->cairo, GRID, GRID, GRID);
    cairo_set_line_width(drawing->cairo, 0.7);
    cairo_move_to(drawing->cairo, x0, y0);
    cairo_line_to(drawing->cairo, x1, y1);
    cairo_stroke(drawing->cairo);
}

static void
draw_x_axis(const struct drawing *drawing)
{
    double bottom = plot_bottom(drawing), last = -1e9;
    char text[40];

    for (int i = 0; i < drawing->x.count; i++) {
        double x = place_x(drawing, drawing->x.value[i]), width;

        draw_grid_line(drawing, x, drawing->top + TOP, x, bottom);
        number_words(drawing->x.value[i], text, sizeof text);
        width = qs_page_text_width(drawing->page, text, TEXT_SIZE, false);
        if (x - 0.5 * width < last + 6.0)
            continue;
        put(drawing, x, bottom + 17.0, 0.5, INK, text);
        last = x + 0.5 * width;
    }
    put(drawing, 0.5 * (LEFT + QS_CHART_WIDTH - RIGHT), bottom + 36.0, 0.5, INK,
        drawing->chart->x.title);
}

static void
draw_y_axis(const struct drawing *drawing)
{
    double middle = drawing->top + 0.5 * (TOP + QS_CHART_HEIGHT - BOTTOM);
    struct qs_page_text title = {.x = 18.0,
                                 .y = middle,
                                 .size = TEXT_SIZE,
                                 .grey = INK,
                                 .anchor = 0.5,
                                 .upwards = true};
    char text[40];

    for (int i = 0; i < drawing->y.count; i++) {
        double y = place_y(drawing, drawing->y.value[i]);

        draw_grid_line(drawing, LEFT, y, QS_CHART_WIDTH - RIGHT, y);
        number_words(drawing->y.value[i], text, sizeof text);
        put(drawing, LEFT - 8.0, y + 4.0, 1.0, INK, text);
    }
    (void)snprintf(title.text, sizeof title.text, "%s", drawing->chart->y.title);
    qs_page_put(drawing->page, &title);
}

/* From a light blue to a blue that is nearly black. */
static void
use_ink(const struct drawing *drawing, const struct qs_chart_line *line)
{
    double share = line->ranks > 1 ? (double)line->rank / (line->ranks - 1) : 1.0;

    cairo_set_source_rgb(drawing->cairo, 0.50 - 0.46 * share, 0.68 - 0.60 * share,
                         0.86 - 0.64 * share);
}

/* Circle, square, triangle, diamond, in turn. */
static void
draw_marker(const struct drawing *drawing, double x, double y, int rank)
{
    cairo_t *cairo = drawing->cairo;

    cairo_new_path(cairo);
    switch (rank % 4) {
    case 0:
        cairo_arc(cairo, x, y, MARKER, 0.0, 8.0 * atan(1.0));
        break;
    case 1:
        cairo_rectangle(cairo, x - 0.9 * MARKER, y - 0.9 * MARKER, 1.8 * MARKER,
                        1.8 * MARKER);
        break;
    case 2:
        cairo_move_to(cairo, x, y - 1.2 * MARKER);
        cairo_line_to(cairo, x + 1.1 * MARKER, y + 0.8 * MARKER);
        cairo_line_to(cairo, x - 1.1 * MARKER, y + 0.8 * MARKER);
        cairo_close_path(cairo);
        break;
    default:
        cairo_move_to(cairo, x, y - 1.3 * MARKER);
        cairo_line_to(cairo, x + 1.3 * MARKER, y);
        cairo_line_to(cairo, x, y + 1.3 * MARKER);
        cairo_line_to(cairo, x - 1.3 * MARKER, y);
        cairo_close_path(cairo);
        break;
    }
    cairo_fill(cairo);
}

static void
draw_whisker(const struct drawing *drawing, const struct qs_chart_point *point)
{
    double x = place_x(drawing, point->x);

    if (!point->has_interval || (drawing->chart->y.is_log && !(point->low > 0.0)))
        return;
    cairo_set_line_width(drawing->cairo, 0.9);
    cairo_move_to(drawing->cairo, x, place_y(drawing, point->low));
    cairo_line_to(drawing->cairo, x, place_y(drawing, point->high));
    cairo_stroke(drawing->cairo);
}

static void
draw_line(const struct drawing *drawing, const struct qs_chart_line *line)
{
    cairo_t *cairo = drawing->cairo;

    use_ink(drawing, line);
    cairo_set_line_width(cairo, 1.4);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_new_path(cairo);
    for (int i = 0; i < line->count; i++)
        if (is_drawn(drawing->chart, &line->points[i]))
            cairo_line_to(cairo, place_x(drawing, line->points[i].x),
                          place_y(drawing, line->points[i].y));
    cairo_stroke(cairo);
    for (int i = 0; i < line->count; i++) {
        const struct qs_chart_point *point = &line->points[i];

        if (!is_drawn(drawing->chart, point))
            continue;
        draw_whisker(drawing, point);
        draw_marker(drawing, place_x(drawing, point->x), place_y(drawing, point->y),
                    line->rank);
    }
}

/* The point that lies farthest to the right, or NULL. */
static const struct qs_chart_point *
end_of(const struct drawing *drawing, const struct qs_chart_line *line)
{
    const struct qs_chart_point *end = NULL;

    for (int i = 0; i < line->count; i++)
        if (is_drawn(drawing->chart, &line->points[i]) &&
            (end == NULL || line->points[i].x > end->x))
            end = &line->points[i];
    return end;
}

/* Names at the ends of lines, with a thin line to those that had to move. */
static void
draw_names(const struct drawing *drawing)
{
    const struct qs_chart *chart = drawing->chart;
    const struct qs_chart_point *ends[LINES_MOST];
    const struct qs_chart_line *lines[LINES_MOST];
    double places[LINES_MOST], right = QS_CHART_WIDTH - RIGHT;
    int count = 0;

    for (int i = 0; i < chart->line_count && count < LINES_MOST; i++) {
        ends[count] = end_of(drawing, &chart->lines[i]);
        lines[count] = &chart->lines[i];
        if (ends[count] != NULL) {
            places[count] = place_y(drawing, ends[count]->y);
            count++;
        }
    }
    qs_axis_spread(places, count, LABEL_GAP, drawing->top + TOP, plot_bottom(drawing));
    for (int i = 0; i < count; i++) {
        use_ink(drawing, lines[i]);
        cairo_set_line_width(drawing->cairo, 0.6);
        cairo_move_to(drawing->cairo, place_x(drawing, ends[i]->x) + MARKER + 1.0,
                      place_y(drawing, ends[i]->y));
        cairo_line_to(drawing->cairo, right + 10.0, places[i]);
        cairo_line_to(drawing->cairo, right + 14.0, places[i]);
        cairo_stroke(drawing->cairo);
        put(drawing, right + 18.0, places[i] + 4.0, 0.0, INK, lines[i]->label);
    }
}

/* Widens a range by a value that can be drawn. */
static void
take_in(bool is_log, double value, bool *any, double *low, double *high)
{
    if (!isfinite(value) || (is_log && !(value > 0.0)))
        return;
    *low = *any ? fmin(*low, value) : value;
    *high = *any ? fmax(*high, value) : value;
    *any = true;
}

/* What the axes have to hold: what was asked for and all points. */
static bool
find_axes(struct drawing *drawing)
{
    const struct qs_chart *chart = drawing->chart;
    double x0 = 0.0, x1 = 0.0, y0 = 0.0, y1 = 0.0;
    bool any = false, any_y = false;

    for (int l = 0; l < chart->line_count; l++)
        for (int i = 0; i < chart->lines[l].count; i++) {
            const struct qs_chart_point *point = &chart->lines[l].points[i];

            if (!is_drawn(chart, point))
                continue;
            take_in(chart->x.is_log, point->x, &any, &x0, &x1);
            take_in(chart->y.is_log, point->y, &any_y, &y0, &y1);
        }
    if (!any)
        return false;
    if (chart->x.low < chart->x.high) {
        take_in(chart->x.is_log, chart->x.low, &any, &x0, &x1);
        take_in(chart->x.is_log, chart->x.high, &any, &x0, &x1);
    }
    if (chart->y.low < chart->y.high) {
        take_in(chart->y.is_log, chart->y.low, &any_y, &y0, &y1);
        take_in(chart->y.is_log, chart->y.high, &any_y, &y0, &y1);
    }
    drawing->x = qs_axis_ticks_of(x0, x1, chart->x.is_log);
    drawing->y = qs_axis_ticks_of(y0, y1, chart->y.is_log);
    return true;
}

static void
draw_title(const struct drawing *drawing)
{
    struct qs_page_text title = {.x = LEFT,
                                 .y = drawing->top + 26.0,
                                 .size = TITLE_SIZE,
                                 .grey = 0.1,
                                 .bold = true};

    (void)snprintf(title.text, sizeof title.text, "%s", drawing->chart->title);
    qs_page_put(drawing->page, &title);
    if (drawing->chart->note != NULL)
        put(drawing, LEFT, drawing->top + QS_CHART_HEIGHT - 14.0, 0.0, FAINT,
            drawing->chart->note);
}

static void
draw_chart(struct qs_page *page, const struct qs_chart *chart, double top)
{
    struct drawing drawing = {
        .page = page, .cairo = page->cairo, .chart = chart, .top = top};

    draw_title(&drawing);
    if (!find_axes(&drawing)) {
        put(&drawing, 0.5 * QS_CHART_WIDTH, top + 0.5 * QS_CHART_HEIGHT, 0.5, FAINT,
            "Nothing to draw: no figures.");
        return;
    }
    draw_x_axis(&drawing);
    draw_y_axis(&drawing);
    for (int i = 0; i < chart->line_count; i++)
        draw_line(&drawing, &chart->lines[i]);
    draw_names(&drawing);
}

enum qs_status
qs_chart_write(FILE *out, enum qs_chart_format format, const struct qs_chart *charts,
               int count, struct qs_error *err)
{
    struct qs_page page;

    qs_page_start(&page, out, format, QS_CHART_WIDTH, (double)count * QS_CHART_HEIGHT);
    for (int i = 0; i < count; i++)
        draw_chart(&page, &charts[i], (double)i * QS_CHART_HEIGHT);
    return qs_page_end(&page, count > 0 ? charts[0].title : "chart", err);
}
