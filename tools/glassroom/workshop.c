/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"

#include <math.h>

#include "scene.h"
#include "texture.h"

static const struct gr_rgb dusk = {0.055, 0.085, 0.150};
static const struct gr_rgb glow = {0.900, 0.330, 0.070};
static const struct gr_rgb lamp = {0.300, 0.225, 0.150};

#define WINDOW_X (-0.545)
#define WINDOW_Y 0.30
#define WINDOW_HALF_WIDTH 0.150
#define WINDOW_HALF_HEIGHT 0.205

static double
square(double x)
{
    return x * x;
}

/* Light that falls off with the distance from a source standing off the wall. */
static double
reach(struct gr_place at, double x, double y, double off)
{
    return 1.0 / (1.0 + (square(at.x - x) + square(at.y - y)) / square(off));
}

struct gr_rgb
gr_workshop_light(struct gr_place at)
{
    struct gr_rgb light = gr_scaled(lamp, 0.26 + 2.0 * reach(at, -0.02, -0.12, 0.36));

    light = gr_sum(light, gr_scaled(dusk, 0.35 + 1.1 * reach(at, WINDOW_X, 0.5, 0.45)));
    return gr_sum(light,
                  gr_scaled(glow, 1.1 * reach(at, GR_FURNACE_X, GR_FURNACE_Y, 0.19)));
}

/* Plaster: nearly even, with stains far wider than a patch. */
static struct gr_rgb
plaster(struct gr_place at)
{
    static const struct gr_rgb paint = {0.50, 0.47, 0.43};

    return gr_scaled(paint, 1.0 + 0.02 * gr_cloud(at.x * 5.0, at.y * 5.0, 11));
}

/* Bricks in running bond; each has a tone of its own, and grit. */
static struct gr_rgb
bricks(struct gr_place at)
{
    static const struct gr_rgb clay = {0.34, 0.170, 0.115}, mortar = {0.34, 0.31, 0.28};
    double row = floor(at.y / 0.036), shift = fmod(row, 2.0) * 0.05;
    double column = floor((at.x + shift) / 0.1);
    double dx = (at.x + shift) - (column + 0.5) * 0.1, dy = at.y - (row + 0.5) * 0.036;
    double rough = 0.0012 * gr_cloud(at.x * 160.0, at.y * 160.0, 21);
    double edge = gr_box_distance(dx, dy, 0.0465, 0.0148, 0.004) + rough;
    double tone = 0.75 + 0.5 * gr_lattice((int64_t)column, (int64_t)row, 22);
    double grit = 1.0 + 0.16 * gr_grain(at.x * 120.0, at.y * 120.0, 4, 23);
    struct gr_rgb brick = gr_scaled(clay, tone * grit * (1.0 - 6.0 * (dy + 0.004)));
    struct gr_rgb joint =
        gr_scaled(mortar, 0.62 + 0.12 * gr_grain(at.x * 200.0, at.y * 200.0, 3, 24));

    return gr_mix(joint, brick, gr_ramp(0.0012, -0.0012, edge));
}

/* The sky over the roofs across the yard, and one lit window there. */
static struct gr_rgb
outside(struct gr_place at)
{
    static const struct gr_rgb high = {0.050, 0.090, 0.230},
                               low = {0.330, 0.210, 0.200};
    static const struct gr_rgb roofs = {0.010, 0.013, 0.022}, lit = {0.85, 0.55, 0.22};
    double top = WINDOW_Y - WINDOW_HALF_HEIGHT;
    double fall = (at.y - top) / (2.0 * WINDOW_HALF_HEIGHT);
    double house = floor(at.x / 0.058), gable = fabs(at.x / 0.058 - house - 0.5);
    double ridge = 0.405 + 0.035 * gr_lattice((int64_t)house, 0, 31) + 0.035 * gable;
    struct gr_rgb sky = gr_mix(high, low, gr_ramp(0.1, 0.95, fall));
    double pane = gr_box_distance(at.x + 0.605, at.y - 0.468, 0.006, 0.008, 0.001);

    sky = gr_mix(sky, roofs, gr_cover(ridge - at.y, 1.5 * at.px));
    return gr_mix(sky, lit, gr_cover(pane, 1.5 * at.px));
}

static struct gr_rgb
paint_window(struct gr_place at, struct gr_rgb under)
{
    static const struct gr_rgb paint = {0.23, 0.19, 0.15};
    double x = at.x - WINDOW_X, y = at.y - WINDOW_Y;
    double hole = gr_box_distance(x, y, WINDOW_HALF_WIDTH, WINDOW_HALF_HEIGHT, 0.002);
    double bars = fmin(fabs(x), fabs(y + 0.05)) - 0.006;
    struct gr_rgb frame, seen;

    if (hole > 0.03)
        return under;
    frame = gr_product(paint, gr_workshop_light(at));
    frame = gr_scaled(frame, 1.0 + 0.10 * gr_grain(at.x * 12.0, at.y * 90.0, 3, 35));
    seen = gr_mix(outside(at), frame, gr_cover(bars, at.px));
    seen = gr_mix(frame, seen, gr_cover(hole, at.px));
    hole = gr_box_distance(x, y, WINDOW_HALF_WIDTH + 0.022, WINDOW_HALF_HEIGHT + 0.022,
                           0.001);
    return gr_mix(under, seen, gr_cover(hole, at.px));
}

/* The glory hole: a ring of pale stones, and the fire in it, hottest in the middle. */
static struct gr_rgb
paint_furnace(struct gr_place at, struct gr_rgb under)
{
    static const struct gr_rgb fire = {1.9, 0.62, 0.10}, heart = {3.2, 1.9, 0.62};
    static const struct gr_rgb stone = {0.42, 0.36, 0.30};
    double x = at.x - GR_FURNACE_X, y = at.y - GR_FURNACE_Y, away = hypot(x, y);
    double turn = atan2(y, x) * 18.0 / (2.0 * acos(-1.0));
    double joint = fabs(turn - floor(turn) - 0.5);
    double grit = 1.0 + 0.12 * gr_grain(at.x * 150.0, at.y * 150.0, 4, 41);
    struct gr_rgb ring, hot, seen = under;

    if (away < GR_FURNACE_RADIUS + 0.06) {
        ring = gr_scaled(gr_product(stone, gr_workshop_light(at)),
                         grit * (1.0 - 0.55 * gr_ramp(0.465, 0.495, joint)));
        seen = gr_mix(under, ring, gr_cover(away - GR_FURNACE_RADIUS - 0.048, at.px));
        hot = gr_mix(heart, fire, gr_ramp(0.0, GR_FURNACE_RADIUS, away - 0.15 * y));
        seen = gr_mix(seen, hot, gr_cover(away - GR_FURNACE_RADIUS, 2.0 * at.px));
    }
    /* Light scattered in the lens lies over everything around. */
    return gr_sum(seen, gr_scaled(glow, 0.16 / (1.0 + square(away / 0.09))));
}

/* Boards seen from above, worn by work; the glow lies on them as a long streak. */
static struct gr_rgb
bench_top(struct gr_place at)
{
    static const struct gr_rgb wood = {0.36, 0.235, 0.135};
    double depth = (at.y - GR_BENCH_Y) / 0.17 + 0.25;
    double across = 1.6 * log(depth), along = at.x / depth;
    double board = floor(across * 3.0), seam = fabs(across * 3.0 - board - 0.5);
    double wave = across * 55.0 + 2.0 * gr_cloud(along * 3.0, across * 6.0, 51);
    double rings = gr_grain(along * 2.2 + 7.0 * board, wave, 5, 52);
    double tone = 0.85 + 0.3 * gr_lattice((int64_t)board, 0, 53);
    double gloss = exp(-square((at.x - GR_FURNACE_X) / 0.14)) * (0.5 + 0.2 * rings);
    struct gr_rgb light = gr_workshop_light(at);
    struct gr_rgb seen =
        gr_scaled(gr_product(wood, light), tone * (1.0 + 0.22 * rings));

    seen = gr_scaled(seen, 1.0 - 0.6 * gr_ramp(0.485, 0.499, seam));
    return gr_sum(seen, gr_scaled(glow, 0.10 * gloss));
}

static struct gr_rgb
bench_front(struct gr_place at)
{
    static const struct gr_rgb wood = {0.20, 0.13, 0.08};
    double rings = gr_grain(at.x * 4.0, at.y * 130.0, 5, 56);
    double dim = 0.75 - 2.5 * (at.y - 0.915);

    return gr_scaled(gr_product(wood, gr_workshop_light(at)),
                     dim * (1.0 + 0.25 * rings));
}

static struct gr_rgb
paint_bench(struct gr_place at, struct gr_rgb under)
{
    static const struct gr_rgb edge = {0.45, 0.33, 0.22};
    struct gr_rgb top;

    if (at.y < GR_BENCH_Y - 2.0 * at.px)
        return gr_scaled(under, 1.0 - 0.45 * gr_ramp(-0.05, 0.0, at.y - GR_BENCH_Y));
    if (at.y > 0.915)
        return bench_front(at);
    top = bench_top(at);
    if (at.y > 0.907)
        top = gr_product(edge, gr_scaled(gr_workshop_light(at), 1.2));
    return gr_mix(gr_scaled(under, 0.55), top, gr_cover(GR_BENCH_Y - at.y, at.px));
}

struct gr_rgb
gr_paint_room(struct gr_place at)
{
    double toothed = 0.215 - 0.05 * fmod(floor(at.y / 0.036), 2.0);
    struct gr_rgb wall = plaster(at);

    if (at.y > GR_BENCH_Y + 0.01)
        return paint_bench(at, wall);
    if (at.x > toothed - 0.01)
        wall = gr_mix(wall, bricks(at), gr_cover(toothed - at.x, 2.0 * at.px));
    wall = gr_product(wall, gr_workshop_light(at));
    return paint_bench(at, paint_furnace(at, paint_window(at, wall)));
}

struct gr_rgb
gr_workshop_shade(const struct gr_view *view, int x, int y)
{
    double px = 1.0 / view->height;
    struct gr_place at = {(x + 0.5 - 0.5 * view->width) * px, (y + 0.5) * px, px};
    struct gr_rgb seen = gr_paint_room(at);

    seen = gr_paint_shelf(at, seen);
    seen = gr_paint_apron(at, seen);
    seen = gr_paint_pipe(at, seen);
    seen = gr_paint_mitten(at, seen);
    return gr_paint_vase(at, seen);
}
