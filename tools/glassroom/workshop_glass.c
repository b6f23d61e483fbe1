/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Glass is drawn as turned bodies: what is behind, tinted by the thickness on the way.
 */
#include <math.h>
#include <stddef.h>

#include "texture.h"
#include "workshop.h"

struct body {
    double x;                      /* of the axis */
    double top;                    /* y of the lip */
    double height;                 /* from lip to foot */
    double width;                  /* scale of the radius */
    double (*radius)(double down); /* of width 1, `down` from 0 at the lip to 1 */
    struct gr_rgb tint;            /* share that a single pass lets through */
    double tilt;                   /* how round lip and foot look, seen from above */
};

#define SHELF_Y 0.335
#define SHELF_FROM (-0.135)
#define SHELF_TO 0.145

static const struct gr_rgb window_light = {0.16, 0.24, 0.42};
static const struct gr_rgb fire_light = {1.10, 0.48, 0.13};

static double
bell(double x, double middle, double spread)
{
    double t = (x - middle) / spread;

    return exp(-t * t);
}

static double
vase_radius(double down)
{
    return 0.42 + 0.58 * bell(down, 0.60, 0.24) - 0.20 * bell(down, 0.20, 0.13) +
           0.34 * bell(down, 0.0, 0.09);
}

static double
bottle_radius(double down)
{
    return 0.30 + 0.70 * gr_ramp(0.30, 0.48, down) + 0.08 * bell(down, 0.0, 0.04);
}

static double
flask_radius(double down)
{
    return 0.22 + 0.78 * sqrt(gr_ramp(0.30, 0.75, down)) + 0.07 * bell(down, 0.0, 0.05);
}

/* The light of the window and of the fire, mirrored in the side of a body. */
static struct gr_rgb
mirrored(double s, double down, double rim)
{
    double pane = gr_ramp(-0.70, -0.64, s) * gr_ramp(-0.38, -0.44, s);
    double panes = pane * gr_ramp(0.16, 0.24, down) * gr_ramp(0.74, 0.60, down);
    double bar = gr_ramp(0.0, 0.015, fabs(s + 0.545) - 0.008);
    double streak =
        bell(s, 0.66, 0.07) * gr_ramp(0.05, 0.35, down) * gr_ramp(0.98, 0.75, down);
    double spark = bell(s, 0.60, 0.05) * bell(down, 0.47, 0.035);
    struct gr_rgb light = gr_scaled(window_light, 0.55 * panes * bar + 0.35 * rim);

    light =
        gr_sum(light, gr_scaled(fire_light, 0.16 * streak + 1.2 * spark + 0.05 * rim));
    return light;
}

static struct gr_rgb
through(struct gr_rgb behind, struct gr_rgb tint, double passes)
{
    return gr_product(behind, (struct gr_rgb){pow(tint.r, passes), pow(tint.g, passes),
                                              pow(tint.b, passes)});
}

/* The rim of a lip seen from above: a bright line on its far and on its near side. */
static struct gr_rgb
lip_light(double bow, double below_top, double px)
{
    double line = gr_cover(fabs(fabs(below_top) - bow + 0.0022) - 0.0012, px);

    return gr_scaled(gr_sum(window_light, fire_light), bow > 0.0 ? 0.10 * line : 0.0);
}

static struct gr_rgb
paint_body(const struct body *body, struct gr_place at, struct gr_rgb under,
           struct gr_rgb (*behind)(struct gr_place at))
{
    double down = (at.y - body->top) / body->height, radius, s, slope, passes, bow;
    struct gr_place bent = at;
    struct gr_rgb seen;

    if (down < -0.1 || down > 1.1 || fabs(at.x - body->x) > 1.4 * body->width)
        return under;
    radius = body->width * body->radius(fmin(fmax(down, 0.0), 1.0));
    s = (at.x - body->x) / radius;
    if (fabs(s) > 1.0 + 3.0 * at.px / radius)
        return under;
    slope = 1.0 / sqrt(fmax(1.0 - s * s, 0.02));
    bow = body->tilt * radius * sqrt(fmax(1.0 - s * s, 0.0));
    passes = 0.55 + 0.45 * (slope - 1.0) + 1.2 * gr_ramp(0.93, 1.0, down);
    bent.x = body->x + radius * s * (1.0 - 0.35 * s * s);
    bent.y = fmin(at.y, GR_BENCH_Y + 0.14);
    seen = through(behind(bent), body->tint, passes);
    seen = gr_sum(seen, mirrored(s, down, pow(s * s, 6.0)));
    seen = gr_mix(under, seen, gr_cover((fabs(s) - 1.0) * radius, at.px));
    seen = gr_sum(seen, lip_light(bow, (at.y - body->top), at.px));
    down = fmax(-down, down - 1.0) * body->height - bow;
    return gr_mix(under, seen, gr_cover(down, at.px));
}

/* The board, and the shadow under it. */
static struct gr_rgb
paint_board(struct gr_place at, struct gr_rgb under)
{
    static const struct gr_rgb wood = {0.30, 0.20, 0.12};
    double half = 0.5 * (SHELF_TO - SHELF_FROM);
    double x = at.x - 0.5 * (SHELF_FROM + SHELF_TO), y = at.y - SHELF_Y;
    double board = gr_box_distance(x, y - 0.008, half, 0.008, 0.001);
    double shade = gr_box_distance(x - 0.008, y - 0.04, half, 0.022, 0.02);
    double rings = gr_grain(at.x * 9.0, at.y * 260.0, 4, 61);
    struct gr_rgb seen = gr_scaled(under, 1.0 - 0.45 * gr_ramp(0.015, -0.02, shade));

    return gr_mix(seen,
                  gr_scaled(gr_product(wood, gr_workshop_light(at)), 1.0 + 0.2 * rings),
                  gr_cover(board, at.px));
}

struct gr_rgb
gr_paint_shelf(struct gr_place at, struct gr_rgb under)
{
    static const struct body bottles[] = {
        {-0.105, SHELF_Y - 0.165, 0.165, 0.022, bottle_radius, {0.13, 0.42, 0.17}, 0.0},
        {-0.048, SHELF_Y - 0.120, 0.120, 0.026, flask_radius, {0.70, 0.36, 0.07}, 0.0},
        {0.006, SHELF_Y - 0.185, 0.185, 0.020, bottle_radius, {0.78, 0.84, 0.80}, 0.0},
        {0.060, SHELF_Y - 0.130, 0.130, 0.029, flask_radius, {0.12, 0.20, 0.55}, 0.0},
        {0.113, SHELF_Y - 0.150, 0.150, 0.021, bottle_radius, {0.46, 0.10, 0.08}, 0.0},
    };
    struct gr_rgb seen;

    if (at.x < SHELF_FROM - 0.03 || at.x > SHELF_TO + 0.05 || at.y > SHELF_Y + 0.1)
        return under;
    seen = paint_board(at, under);
    for (size_t i = 0; i < sizeof bottles / sizeof bottles[0]; i++)
        seen = paint_body(&bottles[i], at, seen, gr_paint_room);
    return seen;
}

struct gr_rgb
gr_paint_vase(struct gr_place at, struct gr_rgb under)
{
    static const struct body vase = {
        -0.04, 0.435, 0.405, 0.098, vase_radius, {0.20, 0.62, 0.66}, 0.17};
    double dx = (at.x + 0.11) / 0.13, dy = (at.y - 0.846) / 0.018;
    double shadow = exp(-(dx * dx + dy * dy)), core = exp(-4.0 * (dx * dx + dy * dy));
    struct gr_rgb seen = under;

    /* A shadow on the bench, and in its middle the light the glass gathers. */
    if (at.y > GR_BENCH_Y && at.y < 0.907) {
        seen = gr_scaled(under, 1.0 - 0.6 * shadow);
        seen = gr_sum(seen, gr_scaled((struct gr_rgb){0.006, 0.026, 0.027}, core));
    }
    return paint_body(&vase, at, seen, gr_paint_room);
}
