/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "demosaic.h"

#include <stddef.h>

static int
mirror(int i, int size)
{
    if (i < 0)
        return -i;
    return i >= size ? 2 * size - 2 - i : i;
}

/*
 * White-balanced light of the photosite at (x, y), mirrored into the frame.  It is
 * cut where green is full: beyond that, white would turn magenta.
 */
static inline float
at(const struct gr_mosaic *m, int x, int y)
{
    int mx = mirror(x, m->width), my = mirror(y, m->height);
    float dn = m->dn[(size_t)my * (size_t)m->width + (size_t)mx];
    float light = (dn - m->black_dn) * m->per_dn[(mx & 1) + 2 * (my & 1)];

    return light < 1.0f ? light : 1.0f;
}

static inline float
beside(const struct gr_mosaic *m, int x, int y)
{
    return at(m, x - 1, y) + at(m, x + 1, y);
}

static inline float
above(const struct gr_mosaic *m, int x, int y)
{
    return at(m, x, y - 1) + at(m, x, y + 1);
}

static inline float
corners(const struct gr_mosaic *m, int x, int y)
{
    return beside(m, x, y - 1) + beside(m, x, y + 1);
}

static inline float
two_beside(const struct gr_mosaic *m, int x, int y)
{
    return at(m, x - 2, y) + at(m, x + 2, y);
}

static inline float
two_above(const struct gr_mosaic *m, int x, int y)
{
    return at(m, x, y - 2) + at(m, x, y + 2);
}

static void
grey_row(const struct gr_mosaic *m, int y, float *out)
{
    for (int x = 0; x < m->width; x++)
        out[x] = at(m, x, y);
}

/* Every missing value is the mean of its nearest neighbours of that colour. */
static void
bilinear_row(const struct gr_mosaic *m, int y, float *out)
{
    int row_colour = (y & 1) * 2, other = 2 - row_colour;

    for (int x = 0; x < m->width; x++, out += 3) {
        float here = at(m, x, y);

        if (gr_mosaic_channel(x, y) == 1) {
            out[1] = here;
            out[row_colour] = 0.5f * beside(m, x, y);
            out[other] = 0.5f * above(m, x, y);
        } else {
            out[row_colour] = here;
            out[1] = 0.25f * (beside(m, x, y) + above(m, x, y));
            out[other] = 0.25f * corners(m, x, y);
        }
    }
}

/* The same, corrected by how the colour that is there bends (G10). */
static void
gradient_row(const struct gr_mosaic *m, int y, float *out)
{
    int row_colour = (y & 1) * 2, other = 2 - row_colour;

    for (int x = 0; x < m->width; x++, out += 3) {
        float here = at(m, x, y), far_x = two_beside(m, x, y),
              far_y = two_above(m, x, y);
        float diagonal = corners(m, x, y);
        float near_x = beside(m, x, y), near_y = above(m, x, y);

        if (gr_mosaic_channel(x, y) == 1) {
            float common = 5.0f * here - diagonal;

            out[1] = here;
            out[row_colour] = 0.125f * (common + 4.0f * near_x - far_x + 0.5f * far_y);
            out[other] = 0.125f * (common + 4.0f * near_y - far_y + 0.5f * far_x);
        } else {
            float bend = far_x + far_y;

            out[row_colour] = here;
            out[1] = 0.125f * (4.0f * here + 2.0f * (near_x + near_y) - bend);
            out[other] = 0.125f * (6.0f * here + 2.0f * diagonal - 1.5f * bend);
        }
    }
}

const struct gr_demosaic gr_demosaics[] = {
    {"gradient", "bilinear, corrected by gradients (Malvar, He, Cutler 2004)", 3,
     gradient_row},
    {"bilinear", "means of the nearest photosites of a colour", 3, bilinear_row},
    {"none", "a grey sensor: no colour filters, one channel", 1, grey_row},
    {NULL, NULL, 0, NULL},
};
