/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "texture.h"

#include <math.h>

static uint32_t
stir(uint32_t h)
{
    h ^= h >> 16;
    h *= UINT32_C(0x7feb352d);
    h ^= h >> 15;
    h *= UINT32_C(0x846ca68b);
    return h ^ (h >> 16);
}

double
gr_lattice(int64_t x, int64_t y, uint32_t seed)
{
    uint32_t h = stir((uint32_t)x * UINT32_C(0x9e3779b1) + seed);

    return stir(h ^ ((uint32_t)y * UINT32_C(0x85ebca6b))) * 0x1.0p-32;
}

static double
fade(double t)
{
    return t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
}

double
gr_cloud(double x, double y, uint32_t seed)
{
    double x0 = floor(x), y0 = floor(y);
    double u = fade(x - x0), v = fade(y - y0);
    int64_t i = (int64_t)x0, j = (int64_t)y0;
    double top = (1.0 - u) * gr_lattice(i, j, seed) + u * gr_lattice(i + 1, j, seed);
    double low =
        (1.0 - u) * gr_lattice(i, j + 1, seed) + u * gr_lattice(i + 1, j + 1, seed);

    return 2.0 * ((1.0 - v) * top + v * low) - 1.0;
}

double
gr_grain(double x, double y, int octaves, uint32_t seed)
{
    double sum = 0.0, strength = 1.0;

    for (int i = 0; i < octaves; i++) {
        sum += strength * gr_cloud(x, y, seed + (uint32_t)i);
        x *= 2.0;
        y *= 2.0;
        strength *= 0.5;
    }
    return sum;
}

double
gr_ramp(double from, double to, double x)
{
    double t = (x - from) / (to - from);

    if (t <= 0.0)
        return 0.0;
    if (t >= 1.0)
        return 1.0;
    return t * t * (3.0 - 2.0 * t);
}

double
gr_cover(double outside, double px)
{
    /* Two pixels wide: a lens does not draw a harder edge. */
    return 1.0 - gr_ramp(-px, px, outside);
}

double
gr_box_distance(double x, double y, double half_width, double half_height,
                double corner)
{
    double dx = fabs(x) - half_width + corner, dy = fabs(y) - half_height + corner;
    double outside = hypot(fmax(dx, 0.0), fmax(dy, 0.0));

    return outside + fmin(fmax(dx, dy), 0.0) - corner;
}

double
gr_line_distance(double x, double y, double x0, double y0, double x1, double y1)
{
    double ax = x - x0, ay = y - y0, bx = x1 - x0, by = y1 - y0;
    double t = (ax * bx + ay * by) / (bx * bx + by * by);

    t = fmin(fmax(t, 0.0), 1.0);
    return hypot(ax - t * bx, ay - t * by);
}
