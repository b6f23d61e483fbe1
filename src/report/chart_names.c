/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_names.h"

#include <assert.h>
#include <cairo.h>
#include <math.h>

#include "report/chart_lines.h"

static const double LEADER_WIDTH = 0.8;
static const double RISER_WIDTH = 1.1;  /* that of the rule it goes on from */
static const double LEADER_GAP = 4.0;   /* to the line's end, and to the name */
static const double LEADER_LEVEL = 5.0; /* it arrives at the name level */
static const double BLANK = 10.0;       /* between names of a row */
static const double RISE = 5.0;         /* from the plot to the row of names */

/* The last point on the page, from the left, that lies in the plot. */
static bool
find_end(const struct qs_chart *chart, const struct qs_chart_layout *layout,
         const struct qs_chart_line *line, struct qs_chart_spot *end)
{
    bool found = false;

    for (int i = 0; i < line->count; i++) {
        const struct qs_chart_point *point = &line->points[i];
        struct qs_chart_spot at;

        if (!qs_chart_shows(chart, point))
            continue;
        at = qs_chart_spot_of(layout, point->x, point->y);
        if (!qs_chart_is_inside(layout, at) || (found && at.x < end->x))
            continue;
        *end = at;
        found = true;
    }
    return found;
}

static int
gather_names(const struct qs_chart *chart, const struct qs_chart_layout *layout,
             struct qs_chart_name *names)
{
    struct qs_chart_spot from, end;
    int count = 0;

    for (int i = 0; i < chart->line_count; i++) {
        const struct qs_chart_line *line = &chart->lines[i];

        if (qs_chart_says(line->label) && find_end(chart, layout, line, &end))
            names[count++] = (struct qs_chart_name){
                line->label, end, qs_chart_look_of(line->rank, line->ranks).ink, false};
    }
    for (int i = 0; i < chart->rule_count; i++) {
        const struct qs_chart_rule *rule = &chart->rules[i];

        if (!rule->vertical && qs_chart_says(rule->label) &&
            qs_chart_rule_at(chart, layout, rule, &from, &end))
            names[count++] =
                (struct qs_chart_name){rule->label, end, qs_chart_rule_ink, true};
    }
    return count;
}

int
qs_chart_name_places(const struct qs_chart *chart, const struct qs_chart_layout *layout,
                     struct qs_chart_name *names, struct qs_chart_place *places)
{
    const double line_px = qs_chart_line_px(QS_CHART_FONT_LABEL);
    const int count = gather_names(chart, layout, names);
    bool fits;

    for (int i = 0; i < count; i++)
        places[i] = (struct qs_chart_place){names[i].end.y, line_px, 0.0};
    fits = qs_chart_spread(places, count, layout->top - line_px / 2.0,
                           layout->bottom + line_px / 2.0);
    assert(fits); /* the layout made the plot tall enough */
    (void)fits;
    return count;
}

/* From the end of the line to its name; dotted as far as it crosses the plot. */
static void
draw_leader(cairo_t *cairo, const struct qs_chart_layout *layout,
            const struct qs_chart_name *name, double y)
{
    static const double dots[] = {1.0, 2.5};
    const double arrives = layout->column - LEADER_GAP;
    const double leaves = layout->right + LEADER_GAP;

    cairo_set_source_rgb(cairo, name->ink.red, name->ink.green, name->ink.blue);
    cairo_set_line_width(cairo, LEADER_WIDTH);
    if (name->end.x + 2.0 * LEADER_GAP < layout->right) {
        cairo_set_dash(cairo, dots, 2, 0.0);
        cairo_move_to(cairo, name->end.x + LEADER_GAP, name->end.y);
        cairo_line_to(cairo, layout->right, name->end.y);
        cairo_stroke(cairo);
        cairo_set_dash(cairo, NULL, 0, 0.0);
    }
    cairo_move_to(cairo, leaves, name->end.y);
    cairo_line_to(cairo, arrives - LEADER_LEVEL, y);
    cairo_line_to(cairo, arrives, y);
    cairo_stroke(cairo);
}

static void
draw_column(const struct qs_chart_pen *pen, const struct qs_chart *chart,
            const struct qs_chart_layout *layout)
{
    struct qs_chart_name names[QS_CHART_NAMES_MOST];
    struct qs_chart_place places[QS_CHART_NAMES_MOST];
    const double room = layout->width - QS_CHART_MARGIN_PX - layout->column;
    const double half = qs_chart_capital_px(QS_CHART_FONT_LABEL) / 2.0;
    int count = qs_chart_name_places(chart, layout, names, places);

    for (int i = 0; i < count; i++) {
        char text[QS_CHART_TEXT_BYTES];

        draw_leader(pen->cairo, layout, &names[i], places[i].at);
        qs_chart_text_fit(pen->cairo, QS_CHART_FONT_LABEL, names[i].text, room + 0.01,
                          text);
        qs_chart_text_set(pen, QS_CHART_FONT_LABEL, layout->column, places[i].at + half,
                          QS_CHART_START,
                          names[i].is_rule ? names[i].ink : qs_chart_text_ink, text);
    }
}

/* The row's names and places; each has an equal share of the width at most. */
static int
row_places(cairo_t *cairo, const struct qs_chart *chart,
           const struct qs_chart_layout *layout,
           char texts[QS_CHART_RULES_MOST][QS_CHART_TEXT_BYTES],
           struct qs_chart_place *places)
{
    const double room = layout->width - 2.0 * QS_CHART_MARGIN_PX;
    int named = 0, count = 0;

    for (int i = 0; i < chart->rule_count; i++)
        named += chart->rules[i].vertical;
    for (int i = 0; i < chart->rule_count; i++) {
        const struct qs_chart_rule *rule = &chart->rules[i];
        struct qs_chart_spot from, to;
        double width;

        if (!rule->vertical || !qs_chart_says(rule->label) ||
            !qs_chart_rule_at(chart, layout, rule, &from, &to))
            continue;
        qs_chart_text_fit(cairo, QS_CHART_FONT_LABEL, rule->label, room / named - BLANK,
                          texts[count]);
        width = qs_chart_text_px(cairo, QS_CHART_FONT_LABEL, texts[count]);
        places[count++] = (struct qs_chart_place){from.x, width + BLANK, 0.0};
    }
    return count;
}

static void
draw_row(const struct qs_chart_pen *pen, const struct qs_chart *chart,
         const struct qs_chart_layout *layout)
{
    char texts[QS_CHART_RULES_MOST][QS_CHART_TEXT_BYTES];
    struct qs_chart_place places[QS_CHART_RULES_MOST];
    const struct qs_chart_ink ink = qs_chart_rule_ink;
    int count = row_places(pen->cairo, chart, layout, texts, places);
    bool fits = qs_chart_spread(places, count, QS_CHART_MARGIN_PX,
                                layout->width - QS_CHART_MARGIN_PX);

    assert(fits);
    (void)fits;
    for (int i = 0; i < count; i++)
        qs_chart_text_set(pen, QS_CHART_FONT_LABEL, places[i].at, layout->rule_row,
                          QS_CHART_MIDDLE, ink, texts[i]);
    for (int i = 0; i < count; i++) {
        cairo_move_to(pen->cairo, places[i].wanted, layout->top);
        cairo_line_to(pen->cairo, places[i].at, layout->top - RISE);
    }
    cairo_set_source_rgb(pen->cairo, ink.red, ink.green, ink.blue);
    cairo_set_line_width(pen->cairo, RISER_WIDTH);
    cairo_stroke(pen->cairo);
}

void
qs_chart_draw_names(const struct qs_chart_pen *pen, const struct qs_chart *chart,
                    const struct qs_chart_layout *layout)
{
    draw_column(pen, chart, layout);
    draw_row(pen, chart, layout);
}
