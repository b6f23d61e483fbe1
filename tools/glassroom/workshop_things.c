/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cloth, wool and steel: what lies and hangs about in the workshop. */
#include <math.h>

#include "texture.h"
#include "workshop.h"

#define APRON_X (-0.262)
#define APRON_TOP 0.265
#define APRON_HEIGHT 0.43

#define MITTEN_X 0.30
#define MITTEN_Y 0.815

/* Half the width of the apron: a bib above, the skirt below. */
static double
apron_half_width(double down)
{
    return 0.034 + 0.040 * gr_ramp(0.22, 0.46, down) + 0.012 * down;
}

/* Canvas: warp over weft, every thread a little different. */
static double
canvas(double x, double y)
{
    const double pi = acos(-1.0);
    double u = x * 420.0, v = y * 420.0;
    double over = cos(pi * u) * cos(pi * v);
    double thread = gr_cloud(floor(u), y * 25.0, 71) + gr_cloud(x * 25.0, floor(v), 72);

    return 1.0 + 0.22 * over + 0.12 * thread;
}

struct gr_rgb
gr_paint_apron(struct gr_place at, struct gr_rgb under)
{
    static const struct gr_rgb cloth = {0.26, 0.225, 0.175};
    static const struct gr_rgb iron = {0.05, 0.05, 0.05};
    double down = (at.y - APRON_TOP) / APRON_HEIGHT, x = at.x - APRON_X;
    double side, fold, edge, hook, strap;
    struct gr_rgb light, seen = under;

    if (fabs(x) > 0.13 || down < -0.12 || down > 1.05)
        return under;
    side = apron_half_width(fmin(fmax(down, 0.0), 1.0)) + 0.003 * sin(9.0 * down);
    edge = fmax(fabs(x) - side,
                fmax(-down, down - 1.0 - 0.02 * cos(x * 60.0)) * APRON_HEIGHT);
    strap = fabs(fabs(x) - 0.30 * (at.y - APRON_TOP + 0.04) - 0.002) - 0.0035;
    hook = gr_box_distance(x, at.y - APRON_TOP + 0.043, 0.004, 0.009, 0.003);
    fold = sin(x * 95.0 + 3.0 * gr_cloud(x * 10.0, down * 3.0, 73)) *
           gr_ramp(0.1, 0.7, down);
    light = gr_workshop_light(at);
    seen = gr_scaled(under, 1.0 - 0.35 * gr_ramp(0.014, -0.01, edge));
    if (down < 0.0 && at.y > APRON_TOP - 0.042)
        seen = gr_mix(seen, gr_scaled(gr_product(cloth, light), 0.8),
                      gr_cover(strap, at.px));
    seen = gr_mix(seen, gr_product(iron, light), gr_cover(hook, at.px));
    light = gr_scaled(gr_product(cloth, light), (1.0 + 0.26 * fold) * canvas(x, at.y));
    return gr_mix(seen, light, gr_cover(edge, at.px));
}

/* Distance from a straight steel tube; paints it with one bright line along it. */
static struct gr_rgb
paint_tube(struct gr_place at, struct gr_rgb under, const double end[4], double radius)
{
    static const struct gr_rgb steel = {0.20, 0.20, 0.21};
    double away = gr_line_distance(at.x, at.y, end[0], end[1], end[2], end[3]);
    double side, bright;
    struct gr_rgb seen;

    if (away > radius + 3.0 * at.px)
        return under;
    side = (at.y - end[1]) * (end[2] - end[0]) - (at.x - end[0]) * (end[3] - end[1]);
    side = (side > 0.0 ? away : -away) / radius;
    bright = 0.35 + 1.8 * exp(-(side + 0.35) * (side + 0.35) / 0.06);
    seen = gr_scaled(gr_product(steel, gr_workshop_light(at)), bright);
    return gr_mix(under, seen, gr_cover(away - radius, at.px));
}

struct gr_rgb
gr_paint_pipe(struct gr_place at, struct gr_rgb under)
{
    static const double pipe[4] = {0.05, 0.585, 0.435, 0.390};
    static const double forks[2][4] = {{0.105, 0.566, 0.105, 0.75},
                                       {0.255, 0.490, 0.255, 0.75}};
    static const struct gr_rgb hot = {2.6, 1.15, 0.26}, skin = {1.5, 0.42, 0.06};
    double dx, dy, away;
    struct gr_rgb seen = under;

    if (at.x < 0.03 || at.x > 0.54 || at.y < 0.3 || at.y > 0.78)
        return under;
    for (int i = 0; i < 2; i++)
        seen = paint_tube(at, seen, forks[i], 0.0045);
    seen = paint_tube(at, seen, pipe, 0.0055);
    dx = (at.x - 0.448) / 0.034;
    dy = (at.y - 0.384 + 0.35 * (at.x - 0.448)) / 0.024;
    away = hypot(dx, dy);
    return gr_mix(seen, gr_mix(hot, skin, gr_ramp(0.2, 1.0, away)),
                  gr_cover((away - 1.0) * 0.024, at.px));
}

/* Stockinette: columns of V, each made of two leaning loops of yarn. */
static double
knit(double x, double y)
{
    double column = floor(x / 0.0105), half = fabs(x / 0.0105 - column - 0.5);
    double row = y / 0.0085 + 0.9 * half, bow = row - floor(row) - 0.5;
    double yarn =
        sqrt(fmax(1.0 - 3.6 * bow * bow, 0.0)) * (0.55 + 1.8 * half * (1.05 - half));
    double fuzz = gr_grain(x * 420.0, y * 420.0, 3, 81);
    double loop = gr_lattice((int64_t)column, (int64_t)floor(row), 82);

    return (0.25 + 0.85 * yarn) * (0.9 + 0.2 * loop) * (1.0 + 0.14 * fuzz);
}

static double
least(double a, double b, double soft)
{
    double t = fmax(soft - fabs(a - b), 0.0) / soft;

    return fmin(a, b) - 0.25 * soft * t * t;
}

/* Palm and fingers, thumb and cuff run into one another. */
static double
mitten_distance(double x, double y)
{
    double hand = gr_box_distance(x + 0.018, y, 0.105, 0.046, 0.044);
    double cuff = gr_box_distance(x - 0.105, y, 0.034, 0.040, 0.008);
    double thumb = gr_line_distance(x, y, 0.035, -0.02, -0.045, -0.066) - 0.020;

    return least(least(hand, cuff, 0.01), thumb, 0.025);
}

struct gr_rgb
gr_paint_mitten(struct gr_place at, struct gr_rgb under)
{
    static const struct gr_rgb wool = {0.50, 0.40, 0.27}, stripe = {0.30, 0.075, 0.06};
    double x = at.x - MITTEN_X, y = at.y - MITTEN_Y;
    double edge, round;
    struct gr_rgb yarn, seen;

    if (fabs(x) > 0.2 || fabs(y) > 0.13)
        return under;
    edge = mitten_distance(x, y);
    seen =
        gr_scaled(under, 1.0 - 0.55 * gr_ramp(0.018, -0.01,
                                              mitten_distance(x + 0.006, y - 0.012)));
    round = gr_ramp(0.0, 0.03, -edge);
    yarn = x > 0.085 && x < 0.115 ? stripe : wool;
    yarn = gr_product(yarn, gr_scaled(gr_workshop_light(at), 1.25));
    yarn = gr_scaled(yarn, (0.45 + 0.55 * round) * (1.0 - 3.5 * y) * knit(y, x));
    return gr_mix(seen, yarn, gr_cover(edge, at.px));
}
