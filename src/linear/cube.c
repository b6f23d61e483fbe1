/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/cube.h"

#include <math.h>

void
qs_cube_measure(struct qs_cube *cube, struct qs_matrix3 *primaries)
{
    static const float corners[15] = {0.0F, 0.0F, 0.0F, 1.0F, 0.0F, 0.0F, 0.0F, 1.0F,
                                      0.0F, 0.0F, 0.0F, 1.0F, 1.0F, 1.0F, 1.0F};
    float xyz[15];

    cube->to_xyz(cube->table, corners, xyz, 5);
    for (int i = 0; i < 3; i++) {
        cube->black_xyz[i] = (double)xyz[i];
        for (int j = 0; j < 3; j++)
            primaries->at[i][j] = (double)xyz[3 * (j + 1) + i] - cube->black_xyz[i];
        cube->white_xyz[i] = (double)xyz[12 + i] - cube->black_xyz[i];
    }
}

/* L9 */
bool
qs_cube_prepare(struct qs_cube *cube, struct qs_matrix3 *primaries)
{
    struct qs_matrix3 inverse;
    double scale[3];

    if (!qs_matrix3_invert(primaries, &inverse))
        return false;
    qs_matrix3_apply(&inverse, cube->white_xyz, scale);
    if (!(scale[0] > 0.0 && scale[1] > 0.0 && scale[2] > 0.0))
        return false;
    qs_matrix3_scale_columns(primaries, scale);
    return qs_matrix3_invert(primaries, &cube->to_rgb);
}

/* Light of pixels r, g, b whose fractions all lie in [0, 1]. */
static void
look_up(const struct qs_cube *cube, const float *rgb, int count, double *light)
{
    float xyz[3 * QS_CUBE_CHUNK_PX];

    cube->to_xyz(cube->table, rgb, xyz, count);
    for (int i = 0; i < 3 * count; i += 3) {
        double above[3];

        for (int c = 0; c < 3; c++)
            above[c] = (double)xyz[i + c] - cube->black_xyz[c];
        qs_matrix3_apply(&cube->to_rgb, above, light + i);
    }
}

static float
nearest_inside(float fraction)
{
    if (fraction > 1.0F)
        return 1.0F;
    return fraction > 0.0F ? fraction : 0.0F;
}

static bool
is_inside(const float rgb[3])
{
    return rgb[0] >= 0.0F && rgb[0] <= 1.0F && rgb[1] >= 0.0F && rgb[1] <= 1.0F &&
           rgb[2] >= 0.0F && rgb[2] <= 1.0F;
}

/*
 * L10: `light` is that of the nearest point of the table.  It goes on from there as
 * it went from as far inside; beyond 1 full range, at the rate of the last range.
 */
static void
go_on_outside(const struct qs_cube *cube, const float rgb[3], double light[3])
{
    float beyond[3], inside[3];
    double before[3];
    float ranges = 1.0F;

    for (int c = 0; c < 3; c++) {
        beyond[c] = rgb[c] - nearest_inside(rgb[c]);
        ranges = fmaxf(ranges, fabsf(beyond[c]));
    }
    for (int c = 0; c < 3; c++)
        inside[c] = nearest_inside(nearest_inside(rgb[c]) - beyond[c] / ranges);
    look_up(cube, inside, 1, before);
    for (int c = 0; c < 3; c++) {
        light[c] += (double)ranges * (light[c] - before[c]);
        if (isnan(beyond[0]) || isnan(beyond[1]) || isnan(beyond[2]))
            light[c] = (double)NAN;
    }
}

static void
light_chunk(const struct qs_cube *cube, const float *rgb, int count, double *light)
{
    float nearest[3 * QS_CUBE_CHUNK_PX];

    for (int i = 0; i < 3 * count; i++)
        nearest[i] = nearest_inside(rgb[i]);
    look_up(cube, nearest, count, light);
    for (int i = 0; i < 3 * count; i += 3) {
        if (!is_inside(rgb + i))
            go_on_outside(cube, rgb + i, light + i);
    }
}

void
qs_cube_light(const struct qs_cube *cube, const float *const in[3], int count,
              float *const out[3])
{
    for (int first = 0; first < count; first += QS_CUBE_CHUNK_PX) {
        const int left = count - first;
        const int part = left < QS_CUBE_CHUNK_PX ? left : QS_CUBE_CHUNK_PX;
        float rgb[3 * QS_CUBE_CHUNK_PX];
        double light[3 * QS_CUBE_CHUNK_PX];

        for (int i = 0; i < 3 * part; i++)
            rgb[i] = in[i % 3][first + i / 3];
        light_chunk(cube, rgb, part, light);
        for (int i = 0; i < 3 * part; i++)
            out[i % 3][first + i / 3] = (float)light[i];
    }
}
