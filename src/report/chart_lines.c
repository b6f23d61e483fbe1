/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_lines.h"

#include <cairo.h>
#include <math.h>

static const double LINE_WIDTH = 1.6;
static const double RULE_WIDTH = 1.1;
static const double WHISKER_WIDTH = 0.9;
static const double OPEN_WIDTH = 1.3;
static const double MARKER_RADIUS = 3.1;
static const double LONE_RADIUS = 1.7; /* a point without neighbours or marker */
static const double BAND_COVER = 0.13;
static const double TURN = 6.283185307179586;

static void
choose_ink(cairo_t *cairo, struct qs_chart_ink ink, double cover)
{
    cairo_set_source_rgba(cairo, ink.red, ink.green, ink.blue, cover);
}

/* One side of the plot: keeps the part of from .. to where at + part x step <= 0. */
static bool
clip_side(double at, double step, double *from, double *to)
{
    if (step == 0.0)
        return at <= 0.0;
    if (step > 0.0)
        *to = fmin(*to, -at / step);
    else
        *from = fmax(*from, -at / step);
    return *from <= *to;
}

bool
qs_chart_clip(const struct qs_chart_layout *layout, struct qs_chart_spot *a,
              struct qs_chart_spot *b)
{
    const double dx = b->x - a->x, dy = b->y - a->y;
    double from = 0.0, to = 1.0;
    struct qs_chart_spot start = *a;

    if (qs_chart_is_inside(layout, *a) && qs_chart_is_inside(layout, *b))
        return true;
    if (!clip_side(layout->left - a->x, -dx, &from, &to) ||
        !clip_side(a->x - layout->right, dx, &from, &to) ||
        !clip_side(layout->top - a->y, -dy, &from, &to) ||
        !clip_side(a->y - layout->bottom, dy, &from, &to))
        return false;
    *a = (struct qs_chart_spot){start.x + from * dx, start.y + from * dy};
    *b = (struct qs_chart_spot){start.x + to * dx, start.y + to * dy};
    return true;
}

/* Adds the line's segments to the path, joined where the plot holds them. */
static void
trace_line(cairo_t *cairo, const struct qs_chart *chart,
           const struct qs_chart_layout *layout, const struct qs_chart_line *line)
{
    bool is_joined = false;

    for (int i = 1; i < line->count; i++) {
        const struct qs_chart_point *p = &line->points[i - 1], *q = &line->points[i];
        struct qs_chart_spot a, b, end;

        if (!qs_chart_shows(chart, p) || !qs_chart_shows(chart, q)) {
            is_joined = false;
            continue;
        }
        a = qs_chart_spot_of(layout, p->x, p->y);
        b = end = qs_chart_spot_of(layout, q->x, q->y);
        if (!qs_chart_clip(layout, &a, &b)) {
            is_joined = false;
            continue;
        }
        if (!is_joined)
            cairo_move_to(cairo, a.x, a.y);
        cairo_line_to(cairo, b.x, b.y);
        is_joined = b.x == end.x && b.y == end.y;
    }
}

static void
draw_line(cairo_t *cairo, const struct qs_chart *chart,
          const struct qs_chart_layout *layout, const struct qs_chart_line *line,
          const struct qs_chart_look *look)
{
    trace_line(cairo, chart, layout, line);
    choose_ink(cairo, look->ink, 1.0);
    cairo_set_dash(cairo, look->dash_px, look->dashes, 0.0);
    cairo_set_line_width(cairo, LINE_WIDTH);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0.0);
}

/*
 * The two ends of a point's interval on the page, cut at the plot's rim: what lies
 * beyond it, or below the foot of a logarithmic axis, has no place.
 */
static bool
interval_of(const struct qs_chart *chart, const struct qs_chart_layout *layout,
            const struct qs_chart_point *point, struct qs_chart_spot *low,
            struct qs_chart_spot *high)
{
    const double foot = chart->y.is_reversed ? layout->top : layout->bottom;

    if (!point->has_interval || !qs_chart_shows(chart, point) ||
        !qs_chart_can_show(point->low, false) ||
        !qs_chart_can_show(point->high, chart->y.is_log))
        return false;
    *high = qs_chart_spot_of(layout, point->x, point->high);
    *low = (struct qs_chart_spot){high->x, foot};
    if (qs_chart_can_show(point->low, chart->y.is_log))
        *low = qs_chart_spot_of(layout, point->x, point->low);
    return qs_chart_clip(layout, low, high);
}

static void
draw_whiskers(cairo_t *cairo, const struct qs_chart *chart,
              const struct qs_chart_layout *layout, const struct qs_chart_line *line,
              int first, int last, const struct qs_chart_look *look)
{
    for (int i = first; i <= last; i++) {
        struct qs_chart_spot low, high;

        if (!interval_of(chart, layout, &line->points[i], &low, &high))
            continue;
        cairo_move_to(cairo, low.x, low.y);
        cairo_line_to(cairo, high.x, high.y);
    }
    choose_ink(cairo, look->ink, 1.0);
    cairo_set_line_width(cairo, WHISKER_WIDTH);
    cairo_stroke(cairo);
}

/* The band over points first .. last, which all have intervals in the plot. */
static void
draw_band(cairo_t *cairo, const struct qs_chart *chart,
          const struct qs_chart_layout *layout, const struct qs_chart_line *line,
          int first, int last, const struct qs_chart_look *look)
{
    struct qs_chart_spot low, high;

    for (int i = first; i <= last; i++)
        if (interval_of(chart, layout, &line->points[i], &low, &high))
            cairo_line_to(cairo, high.x, high.y);
    for (int i = last; i >= first; i--)
        if (interval_of(chart, layout, &line->points[i], &low, &high))
            cairo_line_to(cairo, low.x, low.y);
    cairo_close_path(cairo);
    choose_ink(cairo, look->ink, BAND_COVER);
    cairo_fill(cairo);
}

/* A point alone has no band to lie in: its interval is a stroke. */
static void
draw_bands(cairo_t *cairo, const struct qs_chart *chart,
           const struct qs_chart_layout *layout, const struct qs_chart_line *line,
           const struct qs_chart_look *look)
{
    int first = 0;

    for (int i = 0; i <= line->count; i++) {
        struct qs_chart_spot low, high;

        if (i < line->count &&
            interval_of(chart, layout, &line->points[i], &low, &high))
            continue;
        if (i - first > 1)
            draw_band(cairo, chart, layout, line, first, i - 1, look);
        else if (i - first == 1)
            draw_whiskers(cairo, chart, layout, line, first, i - 1, look);
        first = i + 1;
    }
}

/* Corners on a circle, the first one `turned` from the right, as shares of a turn. */
static void
trace_corners(cairo_t *cairo, struct qs_chart_spot at, double radius, int corners,
              double turned)
{
    for (int i = 0; i < corners; i++) {
        double angle = TURN * (turned + (double)i / corners);

        cairo_line_to(cairo, at.x + radius * cos(angle), at.y + radius * sin(angle));
    }
    cairo_close_path(cairo);
}

static void
trace_disc(cairo_t *cairo, struct qs_chart_spot at, double radius)
{
    cairo_arc(cairo, at.x, at.y, radius, 0.0, TURN);
    cairo_close_path(cairo);
}

/* Shapes of equal area to the eye; a disc has no corners. */
static const struct shape {
    int corners;
    double turned, size;
} shapes[QS_CHART_MARKERS] = {
    [QS_CHART_DISC] = {0, 0.0, 1.0},
    [QS_CHART_SQUARE] = {4, 0.125, 1.25},
    [QS_CHART_TRIANGLE] = {3, 0.75, 1.4},
    [QS_CHART_DIAMOND] = {4, 0.0, 1.35},
};

static void
draw_marker(cairo_t *cairo, struct qs_chart_spot at, const struct qs_chart_look *look)
{
    const struct shape *shape = &shapes[look->marker];
    double radius = MARKER_RADIUS * shape->size;

    cairo_new_path(cairo);
    if (shape->corners == 0)
        trace_disc(cairo, at, radius);
    else
        trace_corners(cairo, at, radius, shape->corners, shape->turned);
    choose_ink(cairo, look->is_open ? qs_chart_paper : look->ink, 1.0);
    cairo_fill_preserve(cairo);
    choose_ink(cairo, look->is_open ? look->ink : qs_chart_paper, 1.0);
    cairo_set_line_width(cairo, look->is_open ? OPEN_WIDTH : WHISKER_WIDTH);
    cairo_stroke(cairo);
}

/* Whether no segment of the line reaches the point. */
static bool
is_alone(const struct qs_chart *chart, const struct qs_chart_line *line, int i)
{
    return (i == 0 || !qs_chart_shows(chart, &line->points[i - 1])) &&
           (i + 1 == line->count || !qs_chart_shows(chart, &line->points[i + 1]));
}

static void
draw_markers(cairo_t *cairo, const struct qs_chart *chart,
             const struct qs_chart_layout *layout, const struct qs_chart_line *line,
             const struct qs_chart_look *look)
{
    for (int i = 0; i < line->count; i++) {
        const struct qs_chart_point *point = &line->points[i];
        struct qs_chart_spot at;

        if (!qs_chart_shows(chart, point))
            continue;
        at = qs_chart_spot_of(layout, point->x, point->y);
        if (!qs_chart_is_inside(layout, at))
            continue;
        if (line->has_markers) {
            draw_marker(cairo, at, look);
        } else if (is_alone(chart, line, i)) {
            choose_ink(cairo, look->ink, 1.0);
            trace_disc(cairo, at, LONE_RADIUS);
            cairo_fill(cairo);
        }
    }
}

void
qs_chart_draw_lines(cairo_t *cairo, const struct qs_chart *chart,
                    const struct qs_chart_layout *layout)
{
    for (int i = 0; i < chart->line_count; i++) {
        const struct qs_chart_line *line = &chart->lines[i];
        const struct qs_chart_look look = qs_chart_look_of(line->rank, line->ranks);

        if (!line->has_markers)
            draw_bands(cairo, chart, layout, line, &look);
    }
    for (int i = 0; i < chart->line_count; i++) {
        const struct qs_chart_line *line = &chart->lines[i];
        const struct qs_chart_look look = qs_chart_look_of(line->rank, line->ranks);

        if (line->has_markers)
            draw_whiskers(cairo, chart, layout, line, 0, line->count - 1, &look);
        draw_line(cairo, chart, layout, line, &look);
        draw_markers(cairo, chart, layout, line, &look);
    }
}

bool
qs_chart_rule_at(const struct qs_chart *chart, const struct qs_chart_layout *layout,
                 const struct qs_chart_rule *rule, struct qs_chart_spot *from,
                 struct qs_chart_spot *to)
{
    const struct qs_chart_axis *axis = rule->vertical ? &chart->x : &chart->y;

    if (!qs_chart_can_show(rule->value, axis->is_log))
        return false;
    if (rule->vertical) {
        from->x = to->x = qs_chart_spot_of(layout, rule->value, layout->y.low).x;
        from->y = layout->top;
        to->y = layout->bottom;
    } else {
        from->y = to->y = qs_chart_spot_of(layout, layout->x.low, rule->value).y;
        from->x = layout->left;
        to->x = layout->right;
    }
    return qs_chart_is_inside(layout, *from);
}

void
qs_chart_draw_rules(cairo_t *cairo, const struct qs_chart *chart,
                    const struct qs_chart_layout *layout)
{
    for (int i = 0; i < chart->rule_count; i++) {
        struct qs_chart_spot from, to;

        if (!qs_chart_rule_at(chart, layout, &chart->rules[i], &from, &to))
            continue;
        cairo_move_to(cairo, from.x, from.y);
        cairo_line_to(cairo, to.x, to.y);
    }
    choose_ink(cairo, qs_chart_rule_ink, 1.0);
    cairo_set_line_width(cairo, RULE_WIDTH);
    cairo_stroke(cairo);
}
