/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scenes.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"

static const double PI = 3.14159265358979323846;

static size_t
at(const struct picture *p, int x, int y)
{
    return (size_t)y * (size_t)p->width + (size_t)x;
}

static double
between(struct qs_random *random, double low, double high)
{
    return low + (high - low) * qs_random_even(random);
}

/* Light that falls off by some per cent, towards a side and away from a middle. */
static void
shade(struct picture *p, struct qs_random *random)
{
    double sx = between(random, -0.06, 0.06), sy = between(random, -0.06, 0.06);
    double fall = between(random, 0.0, 0.06);

    for (int y = 0; y < p->height; y++) {
        for (int x = 0; x < p->width; x++) {
            double u = 2.0 * x / p->width - 1.0, v = 2.0 * y / p->height - 1.0;
            double light = 1.0 + sx * u + sy * v - fall * (u * u + v * v);

            for (int c = 0; c < p->channels; c++)
                p->plane[c][at(p, x, y)] *= (float)light;
        }
    }
}

/* A lens: everything a little soft. */
static void
soften(struct picture *p, double sigma)
{
    for (int c = 0; c < p->channels; c++)
        blur(p->plane[c], p->width, p->height, sigma);
}

static void
set_pixel(struct picture *p, int x, int y, const double colour[3], double light)
{
    for (int c = 0; c < p->channels; c++)
        p->plane[c][at(p, x, y)] = (float)(colour[c] * light);
}

static struct picture
draw_flat(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, true);
    double level = exp2(between(random, -6.0, -0.5));
    double colour[3] = {level * between(random, 0.8, 1.2), level,
                        level * between(random, 0.8, 1.2)};

    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++)
            set_pixel(&p, x, y, colour, 1.0);
    }
    shade(&p, random);
    return p;
}

/*
 * Grey steps in a row or two, a third or half a stop apart.  The label counts
 * the steps; dark lines between them, where drawn, have the label 0.
 */
static struct picture
draw_wedge(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, true);
    const int per_row = 5 + (int)(qs_random_even(random) * 6.0);
    const int rows = 1 + (int)(qs_random_even(random) * 2.0);
    const int line = qs_random_even(random) < 0.5 ? 0 : 3;
    const double stops = qs_random_even(random) < 0.5 ? 1.0 / 3.0 : 0.5;
    const double none[3] = {0.004, 0.004, 0.004};

    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            int i = x * per_row / width, j = y * rows / height, step = j * per_row + i;
            int from_left = x - (i * width + per_row - 1) / per_row;
            int from_top = y - (j * height + rows - 1) / rows;
            double level = 0.9 * exp2(-stops * step), grey[3] = {level, level, level};
            bool is_line = line > 0 && (from_left < line || from_top < line);

            set_pixel(&p, x, y, is_line ? none : grey, 1.0);
            p.label[at(&p, x, y)] = (unsigned short)(is_line ? 0 : step + 1);
        }
    }
    shade(&p, random);
    soften(&p, 0.7);
    return p;
}

/* Coloured tiles of 44 to 90 px with dark gaps. */
static struct picture
draw_chart(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, true);
    const int tile = 44 + (int)(qs_random_even(random) * 46.0), gap = 4 + tile / 12;
    const int pitch = tile + gap, across = width / pitch + 1;
    const int left = (int)(qs_random_even(random) * pitch);
    const double board[3] = {0.02, 0.02, 0.022};
    double(*colour)[3] =
        qs_alloc((size_t)across * (size_t)(height / pitch + 1) + 1, sizeof *colour);

    if (colour == NULL)
        exit(1);
    for (int i = 0; i < across * (height / pitch + 1); i++) {
        for (int c = 0; c < 3; c++)
            colour[i][c] = exp2(between(random, -4.5, -0.4));
    }
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            int u = x + left, i = u / pitch, j = y / pitch;
            bool in_tile = u % pitch >= gap && y % pitch >= gap && i < across;
            int index = j * across + i;

            set_pixel(&p, x, y, in_tile ? colour[index] : board, 1.0);
            p.label[at(&p, x, y)] = (unsigned short)(in_tile ? index + 1 : 0);
        }
    }
    qs_free(colour);
    shade(&p, random);
    soften(&p, 1.0);
    return p;
}

/* Noise summed over octaves: clouds of 1/f amplitude, about 0, sd about 1. */
static void
clouds(float *field, int width, int height, double coarsest_px, double finest_px,
       double roughness, struct qs_random *random)
{
    const size_t count = (size_t)width * (size_t)height;
    double total = 0.0, strength = 1.0;

    for (double px = coarsest_px; px >= finest_px; px /= 2.0, strength *= roughness) {
        int columns = (int)(width / px) + 4, rows = (int)(height / px) + 4;
        float *knot = qs_alloc((size_t)columns * (size_t)rows, sizeof *knot);

        if (knot == NULL)
            exit(1);
        for (int i = 0; i < columns * rows; i++)
            knot[i] = (float)qs_random_normal(random);
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                double u = x / px, v = y / px;
                int i = (int)u, j = (int)v;
                double s = u - i, t = v - j;
                const float *k = knot + (ptrdiff_t)j * columns + i;

                s = s * s * (3.0 - 2.0 * s);
                t = t * t * (3.0 - 2.0 * t);
                field[(size_t)y * (size_t)width + (size_t)x] +=
                    (float)(strength *
                            ((1.0 - t) * ((1.0 - s) * k[0] + s * k[1]) +
                             t * ((1.0 - s) * k[columns] + s * k[columns + 1])));
            }
        }
        qs_free(knot);
        total += 0.5 * strength * strength;
    }
    for (size_t i = 0; i < count; i++)
        field[i] = (float)(field[i] / sqrt(total));
}

static float *
new_field(int width, int height)
{
    float *field = qs_alloc((size_t)width * (size_t)height, sizeof *field);

    if (field == NULL)
        exit(1);
    return field;
}

/* One thing in a photograph: an ellipse lit from a side, smooth or rough. */
static void
draw_thing(struct picture *p, const float *rough, struct qs_random *random)
{
    double cx = between(random, 0.0, p->width), cy = between(random, 0.0, p->height);
    double rx = between(random, 0.06, 0.25) * p->width;
    double ry = between(random, 0.06, 0.25) * p->width;
    double lit = between(random, 0.1, 0.9), level = exp2(between(random, -5.0, -0.7));
    double colour[3] = {level * between(random, 0.5, 1.3), level,
                        level * between(random, 0.5, 1.3)};
    double depth = qs_random_even(random) < 0.5 ? 0.0 : between(random, 0.03, 0.3);

    for (int y = 0; y < p->height; y++) {
        for (int x = 0; x < p->width; x++) {
            double u = (x - cx) / rx, v = (y - cy) / ry;
            double light = 1.0 - lit * 0.25 * (u + 1.0 + v);

            if (u * u + v * v > 1.0)
                continue;
            set_pixel(p, x, y, colour, light * exp(depth * rough[at(p, x, y)]));
        }
    }
}

/* A sky above, rough ground below, things in front: partly flat, as photographs are. */
static struct picture
draw_photo(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, false);
    float *soft = new_field(width, height), *rough = new_field(width, height);
    double horizon = between(random, 0.3, 0.7) * height;
    double sky[3] = {0.25, 0.32, 0.45}, ground[3] = {0.12, 0.13, 0.07};
    double haze = between(random, 0.0, 0.05);

    clouds(soft, width, height, 256.0, 64.0, 0.4, random);
    clouds(rough, width, height, 64.0, 1.5, 0.7, random);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            double s = soft[at(&p, x, y)], r = rough[at(&p, x, y)];

            if (y < horizon)
                set_pixel(&p, x, y, sky, (0.6 + 0.8 * y / height) * exp(haze * s));
            else
                set_pixel(&p, x, y, ground, exp(0.35 * r));
        }
    }
    for (int i = 0; i < 7; i++)
        draw_thing(&p, rough, random);
    qs_free(soft);
    qs_free(rough);
    soften(&p, 0.7);
    return p;
}

/* A thing in focus before a background far out of focus, which is nowhere level. */
static struct picture
draw_defocused(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, false);
    float *soft = new_field(width, height), *rough = new_field(width, height);
    double depth = between(random, 0.2, 0.7);
    double colour[3] = {between(random, 0.05, 0.3), 0.15, between(random, 0.03, 0.3)};

    clouds(soft, width, height, 256.0, 48.0, 0.5, random);
    clouds(rough, width, height, 64.0, 1.5, 0.7, random);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++)
            set_pixel(&p, x, y, colour, exp(depth * soft[at(&p, x, y)]));
    }
    for (int i = 0; i < 5; i++)
        draw_thing(&p, rough, random);
    soften(&p, between(random, 8.0, 16.0));
    for (int i = 0; i < 2; i++)
        draw_thing(&p, rough, random);
    qs_free(soft);
    qs_free(rough);
    soften(&p, 0.7);
    return p;
}

/* Blades: short bright strokes over dark, leaning about. */
static struct picture
draw_grass(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, false);
    const double earth[3] = {0.03, 0.04, 0.02};
    long blades = (long)width * height / 18;

    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++)
            set_pixel(&p, x, y, earth, 1.0);
    }
    for (long i = 0; i < blades; i++) {
        double x = between(random, 0.0, width), y = between(random, 0.0, height);
        double lean = 0.5 * qs_random_normal(random),
               length = between(random, 6.0, 22.0);
        double light = exp2(between(random, -2.0, 0.3));
        const double green[3] = {0.13, 0.22, 0.06};

        for (double t = 0.0; t < length; t += 0.7) {
            int u = (int)(x + lean * t), v = (int)(y - t);

            if (u >= 0 && u < width && v >= 0 && v < height)
                set_pixel(&p, u, v, green, light * (0.6 + 0.6 * t / length));
        }
    }
    soften(&p, 0.6);
    return p;
}

struct stone {
    double x, y, level;
};

/* Stones: the cells about scattered points, rounded by the light, dark between. */
static struct picture
draw_gravel(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, false);
    const double px = between(random, 7.0, 22.0);
    const int columns = (int)(width / px) + 3, rows = (int)(height / px) + 3;
    struct stone *stone = qs_alloc((size_t)columns * (size_t)rows, sizeof *stone);

    if (stone == NULL)
        exit(1);
    for (int i = 0; i < columns * rows; i++) {
        stone[i].x = (i % columns - 1 + qs_random_even(random)) * px;
        stone[i].y = (i / columns - 1 + qs_random_even(random)) * px;
        stone[i].level = exp2(between(random, -3.5, -1.0));
    }
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            int ci = (int)(x / px) + 1, cj = (int)(y / px) + 1;
            double near = HUGE_VAL, next = HUGE_VAL, level = 0.0;
            double grey[3];

            for (int j = cj - 1; j <= cj + 1; j++) {
                for (int i = ci - 1; i <= ci + 1; i++) {
                    const struct stone *s;
                    double d;

                    if (i < 0 || j < 0 || i >= columns || j >= rows)
                        continue;
                    s = &stone[j * columns + i];
                    d = hypot(s->x - x, s->y - y);
                    if (d < near) {
                        next = near;
                        near = d;
                        level = s->level * (1.0 + 0.5 * (s->x - x + s->y - y) / px);
                    } else if (d < next) {
                        next = d;
                    }
                }
            }
            grey[0] = grey[1] = grey[2] =
                fmax(level, 0.02) * (next - near < 1.5 ? 0.25 : 1.0);
            set_pixel(&p, x, y, grey, 1.0);
        }
    }
    qs_free(stone);
    soften(&p, 0.7);
    return p;
}

/* Knitwear: columns of slanted stitches in yarn that is lit from above. */
static struct picture
draw_knit(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, false);
    const double px = between(random, 6.0, 18.0);
    const double wool[3] = {0.3, 0.12, 0.1};
    float *rough = new_field(width, height);

    clouds(rough, width, height, 256.0, 1.5, 0.75, random);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            double r = rough[at(&p, x, y)];
            double u = x / px + 0.08 * r, v = y / px + 0.05 * r;
            double side = u - floor(u), slant = fabs(side - 0.5);
            double row = v + slant - floor(v + slant);
            double yarn = sin(PI * row) * sin(PI * fmod(2.0 * side, 1.0));

            set_pixel(&p, x, y, wool, 0.25 + 0.9 * yarn * exp(0.15 * r));
        }
    }
    qs_free(rough);
    soften(&p, 0.6);
    return p;
}

/* Brickwork: rough bricks of some tones, pale joints. */
static struct picture
draw_brick(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, false);
    const double high = between(random, 16.0, 30.0), wide = 3.0 * high;
    const double joint[3] = {0.35, 0.33, 0.3};
    float *rough = new_field(width, height);

    clouds(rough, width, height, 32.0, 1.5, 0.8, random);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            int row = (int)(y / high);
            double u = x + (row % 2) * 0.5 * wide;
            double in_x = fmod(u, wide), in_y = y - row * high;
            double tone =
                0.13 * (1.0 + 0.25 * sin(12.9898 * floor(u / wide) + 78.233 * row));
            double brick[3] = {tone, 0.5 * tone, 0.4 * tone};
            bool is_joint = in_x < 0.12 * high || in_y < 0.12 * high;

            set_pixel(&p, x, y, is_joint ? joint : brick,
                      exp(0.12 * rough[at(&p, x, y)]));
        }
    }
    qs_free(rough);
    soften(&p, 0.6);
    return p;
}

/* Nothing but clouds of detail at every size, as foliage or rock. */
static struct picture
draw_rock(int width, int height, struct qs_random *random)
{
    struct picture p = picture_new(width, height, 3, false);
    float *rough = new_field(width, height), *where = new_field(width, height);
    double roughness = between(random, 0.55, 0.85);

    clouds(rough, width, height, 128.0, 1.0, roughness, random);
    clouds(where, width, height, 128.0, 16.0, 0.6, random);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            double depth = 0.35 * exp(0.5 * where[at(&p, x, y)]);
            const double stone[3] = {0.2, 0.19, 0.16};

            set_pixel(&p, x, y, stone, exp(depth * rough[at(&p, x, y)]));
        }
    }
    qs_free(rough);
    qs_free(where);
    soften(&p, 0.5);
    return p;
}

const struct scene scene_table[] = {
    {"plainly flat", draw_flat, false},   {"step wedge", draw_wedge, false},
    {"chart", draw_chart, false},         {"photograph", draw_photo, false},
    {"defocused", draw_defocused, false}, {"grass", draw_grass, true},
    {"gravel", draw_gravel, true},        {"knitwear", draw_knit, true},
    {"brickwork", draw_brick, true},      {"rock", draw_rock, true},
};
const int scene_count = (int)(sizeof scene_table / sizeof scene_table[0]);
