/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * colour.h - a colour of the scene, and the 3x3 matrices between colours
 *
 * Units: linear light, scene colours in BT.709 primaries, 0.18 = mid grey,
 * 1.0 = what just fills the sensor.  Values above 1.0 are light that clips.
 */
#ifndef GLASSROOM_COLOUR_H
#define GLASSROOM_COLOUR_H

struct gr_rgb {
    double r;
    double g;
    double b;
};

struct gr_matrix {
    double m[3][3];
};

/* Luminance weights of BT.709 (CIE XYZ of its primaries at D65), as in IEC 61966-2-1.
 */
#define GR_LUMA_R 0.2126390
#define GR_LUMA_G 0.7151687
#define GR_LUMA_B 0.0721923

static inline struct gr_rgb
gr_scaled(struct gr_rgb a, double k)
{
    return (struct gr_rgb){a.r * k, a.g * k, a.b * k};
}

static inline struct gr_rgb
gr_sum(struct gr_rgb a, struct gr_rgb b)
{
    return (struct gr_rgb){a.r + b.r, a.g + b.g, a.b + b.b};
}

static inline struct gr_rgb
gr_product(struct gr_rgb a, struct gr_rgb b)
{
    return (struct gr_rgb){a.r * b.r, a.g * b.g, a.b * b.b};
}

/* `under` where cover is 0, `over` where it is 1. */
static inline struct gr_rgb
gr_mix(struct gr_rgb under, struct gr_rgb over, double cover)
{
    return gr_sum(gr_scaled(under, 1.0 - cover), gr_scaled(over, cover));
}

static inline double
gr_luma(struct gr_rgb a)
{
    return GR_LUMA_R * a.r + GR_LUMA_G * a.g + GR_LUMA_B * a.b;
}

static inline struct gr_rgb
gr_apply(const struct gr_matrix *a, struct gr_rgb v)
{
    return (struct gr_rgb){a->m[0][0] * v.r + a->m[0][1] * v.g + a->m[0][2] * v.b,
                           a->m[1][0] * v.r + a->m[1][1] * v.g + a->m[1][2] * v.b,
                           a->m[2][0] * v.r + a->m[2][1] * v.g + a->m[2][2] * v.b};
}

/* a after b. */
struct gr_matrix
gr_matrix_product(const struct gr_matrix *a, const struct gr_matrix *b);

/* The inverse of `a`, which must have one. */
struct gr_matrix
gr_matrix_inverse(const struct gr_matrix *a);

#endif
