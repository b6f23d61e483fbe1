/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

#include <math.h>
#include <stddef.h>

#include "texture.h"

/* Where in a grid of patches a pixel lies. */
struct cell {
    int column;
    int row;
    double gap_px; /* from the nearest side of the patch, inside positive */
};

#define SURROUND_STOPS (-6.5) /* the dark card between patches */
#define GAP_SHARE 0.02        /* of the patch, on each side */

static struct gr_rgb
grey(double stops)
{
    double value = GR_MID_GREY * exp2(stops);

    return (struct gr_rgb){value, value, value};
}

static struct cell
cell_at(const struct gr_view *view, int x, int y, int columns, int rows)
{
    double width = (double)view->width / columns, height = (double)view->height / rows;
    double cx = (x + 0.5) / width, cy = (y + 0.5) / height;
    double dx = (0.5 - GAP_SHARE - fabs(cx - floor(cx) - 0.5)) * width;
    double dy = (0.5 - GAP_SHARE - fabs(cy - floor(cy) - 0.5)) * height;
    struct cell cell = {(int)cx, (int)cy, fmin(dx, dy)};

    return cell;
}

/* Lamps never light a wall evenly: 3 % from left to right and 2 % into the corners. */
static double
uneven(const struct gr_view *view, int x, int y)
{
    double u = 2.0 * (x + 0.5) / view->width - 1.0;
    double v = 2.0 * (y + 0.5) / view->height - 1.0;

    return 1.0 + 0.015 * u - 0.01 * (u * u + v * v);
}

static struct gr_rgb
on_card(const struct gr_view *view, int x, int y, struct cell cell, struct gr_rgb patch)
{
    struct gr_rgb seen =
        gr_mix(grey(SURROUND_STOPS), patch, gr_cover(-cell.gap_px, 1.0));

    return gr_scaled(seen, uneven(view, x, y));
}

static struct gr_rgb
flat_shade(const struct gr_view *view, int x, int y)
{
    (void)view;
    (void)x;
    (void)y;
    return grey(0.0);
}

double
gr_wedge_stops(int step)
{
    return GR_WEDGE_FIRST_STOPS + GR_WEDGE_STEP_STOPS * step;
}

static struct gr_rgb
wedge_shade(const struct gr_view *view, int x, int y)
{
    struct cell cell = cell_at(view, x, y, GR_WEDGE_COLUMNS, GR_WEDGE_ROWS);
    int step = cell.row * GR_WEDGE_COLUMNS + cell.column;

    return on_card(view, x, y, cell, grey(gr_wedge_stops(step)));
}

/* Hues a third of a circle apart give red, green and blue. */
static struct gr_rgb
hue_colour(double turns, double depth, double stops)
{
    double third = 2.0 * acos(-1.0) / 3.0, angle = 3.0 * third * turns;
    struct gr_rgb colour = {1.0 + depth * cos(angle), 1.0 + depth * cos(angle - third),
                            1.0 + depth * cos(angle + third)};

    return gr_scaled(colour, GR_MID_GREY * exp2(stops) / gr_luma(colour));
}

static struct gr_rgb
chart_shade(const struct gr_view *view, int x, int y)
{
    static const double depth[3] = {0.85, 0.5, 0.25};
    static const double stops[3] = {-1.0, 0.0, 1.0};
    struct cell cell = cell_at(view, x, y, 6, 4);
    struct gr_rgb patch = cell.row == 3
                              ? grey(1.5 - 1.1 * cell.column)
                              : hue_colour((cell.column + 0.33 * cell.row) / 6.0,
                                           depth[cell.row], stops[cell.row]);

    return on_card(view, x, y, cell, patch);
}

const struct gr_scene gr_scenes[] = {
    {"wedge", "14 grey steps, half a stop apart, from -5 to +1.5 stops", wedge_shade},
    {"workshop", "a glass-blowing workshop at dusk, flat and textured parts",
     gr_workshop_shade},
    {"flat", "mid grey everywhere", flat_shade},
    {"chart", "6 x 4 patches: 18 colours and 6 greys", chart_shade},
    {NULL, NULL, NULL},
};
