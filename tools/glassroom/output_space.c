/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output_space.h"

#include <math.h>
#include <stddef.h>

#define WHITE_D65                                                                      \
    {                                                                                  \
        0.3127, 0.3290                                                                 \
    }
#define WHITE_D50                                                                      \
    {                                                                                  \
        0.3457, 0.3585                                                                 \
    }
#define PRIMARIES_709                                                                  \
    {                                                                                  \
        {0.64, 0.33}, {0.30, 0.60},                                                    \
        {                                                                              \
            0.15, 0.06                                                                 \
        }                                                                              \
    }
#define PRIMARIES_ROMM                                                                 \
    {                                                                                  \
        {0.734699, 0.265301}, {0.159597, 0.840403},                                    \
        {                                                                              \
            0.036598, 0.000105                                                         \
        }                                                                              \
    }

const struct gr_space gr_spaces[] = {
    {"srgb", "sRGB primaries and curve", false, WHITE_D65, PRIMARIES_709, 2.4,
     1.0 / 1.055, 0.055 / 1.055, 12.92, 0.04045},
    {"linear", "sRGB primaries, linear light", true, WHITE_D65, PRIMARIES_709, 1.0, 1.0,
     0.0, 1.0, 0.0},
    {"romm", "ROMM (ProPhoto) primaries and curve", false, WHITE_D50, PRIMARIES_ROMM,
     1.8, 1.0, 0.0, 16.0, 0.03125},
    {NULL, NULL, false, {0.0}, {{0.0}}, 0.0, 0.0, 0.0, 0.0, 0.0},
};

double
gr_space_encode(const struct gr_space *space, double light)
{
    if (light * space->slope < space->break_code)
        return light * space->slope;
    return (pow(light, 1.0 / space->power) - space->b) / space->a;
}

static struct gr_rgb
xyz_of(const double xy[2])
{
    return (struct gr_rgb){xy[0] / xy[1], 1.0, (1.0 - xy[0] - xy[1]) / xy[1]};
}

static void
set_column(struct gr_matrix *matrix, int column, struct gr_rgb value)
{
    matrix->m[0][column] = value.r;
    matrix->m[1][column] = value.g;
    matrix->m[2][column] = value.b;
}

/* Linear RGB of the space to XYZ, its white having Y = 1. */
static struct gr_matrix
to_xyz(const struct gr_space *space)
{
    struct gr_matrix raw, inverse;
    struct gr_rgb share;

    for (int i = 0; i < 3; i++)
        set_column(&raw, i, xyz_of(space->primaries[i]));
    inverse = gr_matrix_inverse(&raw);
    share = gr_apply(&inverse, xyz_of(space->white));
    set_column(&raw, 0, gr_scaled(xyz_of(space->primaries[0]), share.r));
    set_column(&raw, 1, gr_scaled(xyz_of(space->primaries[1]), share.g));
    set_column(&raw, 2, gr_scaled(xyz_of(space->primaries[2]), share.b));
    return raw;
}

/* XYZ seen under one white to XYZ seen under another (Bradford, as in ICC.1). */
static struct gr_matrix
adapted(const double from[2], const double to[2])
{
    static const struct gr_matrix cones = {{{0.8951, 0.2664, -0.1614},
                                            {-0.7502, 1.7135, 0.0367},
                                            {0.0389, -0.0685, 1.0296}}};
    struct gr_rgb a = gr_apply(&cones, xyz_of(from)), b = gr_apply(&cones, xyz_of(to));
    struct gr_matrix scale = {
        {{b.r / a.r, 0, 0}, {0, b.g / a.g, 0}, {0, 0, b.b / a.b}}};
    struct gr_matrix back = gr_matrix_inverse(&cones),
                     scaled = gr_matrix_product(&scale, &cones);

    return gr_matrix_product(&back, &scaled);
}

struct gr_matrix
gr_space_from_scene(const struct gr_space *space)
{
    const struct gr_space *scene = &gr_spaces[0];
    struct gr_matrix in = to_xyz(scene), out = to_xyz(space);
    struct gr_matrix adapt = adapted(scene->white, space->white);
    struct gr_matrix back = gr_matrix_inverse(&out),
                     seen = gr_matrix_product(&adapt, &in);

    return gr_matrix_product(&back, &seen);
}
