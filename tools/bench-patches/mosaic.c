/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mosaic.h"

#include <stddef.h>
#include <string.h>

#include "sim.h"

enum {
    REACH = 2,
    ACROSS = 2 * REACH + 1,
    TAPS = ACROSS * ACROSS
};

/* Weights of the sites round a pixel. */
struct kernel {
    double tap[TAPS];
};

/* Weights by how a neighbour lies: here, beside, above, corners, two beside, two above.
 */
struct weights {
    double here, beside, above, corner, far_beside, far_above;
};

/* What a filter does at a green site and at another, and with which colour. */
struct recipe {
    struct weights green;     /* green at a site of another colour */
    struct weights in_row;    /* the colour of a green site's row */
    struct weights in_column; /* that of its column */
    struct weights opposite;  /* red at a blue site, and blue at a red one */
};

static const struct recipe recipe_table[] = {{{0, 0.25, 0.25, 0, 0, 0},
                                              {0, 0.5, 0, 0, 0, 0},
                                              {0, 0, 0.5, 0, 0, 0},
                                              {0, 0, 0, 0.25, 0, 0}},
                                             {{0.5, 0.25, 0.25, 0, -0.125, -0.125},
                                              {0.625, 0.5, 0, -0.125, -0.125, 0.0625},
                                              {0.625, 0, 0.5, -0.125, 0.0625, -0.125},
                                              {0.75, 0, 0, 0.25, -0.1875, -0.1875}}};

/* Colour of the site at a place, RGGB. */
static int
colour_at(int x, int y)
{
    return (x & 1) + (y & 1);
}

static double
weight_at(const struct weights *w, int dx, int dy)
{
    if (dx == 0 && dy == 0)
        return w->here;
    if (dy == 0)
        return dx * dx == 1 ? w->beside : w->far_beside;
    if (dx == 0)
        return dy * dy == 1 ? w->above : w->far_above;
    return dx * dx == 1 && dy * dy == 1 ? w->corner : 0.0;
}

static struct weights
weights_for(const struct recipe *recipe, int channel, int x, int y)
{
    const struct weights itself = {1, 0, 0, 0, 0, 0};
    int site = colour_at(x, y);

    if (channel == site)
        return itself;
    if (channel == 1)
        return recipe->green;
    if (site != 1)
        return recipe->opposite;
    return colour_at(x + 1, y) == channel ? recipe->in_row : recipe->in_column;
}

/* The kernels of r, g, b and y at one of the four kinds of place. */
static void
fill_kernels(struct kernel kernel[QS_CHANNELS], const struct recipe *recipe, int x,
             int y, const double luminance[3])
{
    memset(kernel, 0, QS_CHANNELS * sizeof *kernel);
    for (int c = 0; c < 3; c++) {
        struct weights w = weights_for(recipe, c, x, y);

        for (int i = 0; i < TAPS; i++) {
            kernel[c].tap[i] = weight_at(&w, i % ACROSS - REACH, i / ACROSS - REACH);
            kernel[QS_Y].tap[i] += luminance[c] * kernel[c].tap[i];
        }
    }
}

/* Mirrored about the outermost pixel, which keeps the mosaic in step. */
static int
mirror(int i, int count)
{
    i = i < 0 ? -i : i;
    return i >= count ? 2 * count - 2 - i : i;
}

static void
filter_pixel(float *const plane[QS_CHANNELS], float *const variance[QS_CHANNELS],
             const float *raw, const float *raw_variance, int width, int height,
             const struct kernel kernel[QS_CHANNELS], int x, int y)
{
    double value[QS_CHANNELS] = {0}, square[QS_CHANNELS] = {0};
    size_t at = (size_t)y * (size_t)width + (size_t)x;

    for (int i = 0; i < TAPS; i++) {
        size_t from = (size_t)mirror(y + i / ACROSS - REACH, height) * (size_t)width +
                      (size_t)mirror(x + i % ACROSS - REACH, width);

        for (int c = 0; c < QS_CHANNELS; c++) {
            value[c] += kernel[c].tap[i] * raw[from];
            square[c] += kernel[c].tap[i] * kernel[c].tap[i] * raw_variance[from];
        }
    }
    for (int c = 0; c < QS_CHANNELS; c++) {
        plane[c][at] = (float)value[c];
        variance[c][at] = (float)square[c];
    }
}

void
mosaic_pass(float *const plane[QS_CHANNELS], float *const variance[QS_CHANNELS],
            int width, int height, enum mosaic_filter filter, const double luminance[3])
{
    const size_t count = (size_t)width * (size_t)height;
    float *raw = must_alloc(count, sizeof *raw);
    float *raw_variance = must_alloc(count, sizeof *raw_variance);
    struct kernel kernel[4][QS_CHANNELS];

    for (size_t i = 0; i < count; i++) {
        int c = colour_at((int)(i % (size_t)width), (int)(i / (size_t)width));

        raw[i] = plane[c][i];
        raw_variance[i] = variance[c][i];
    }
    for (int i = 0; i < 4; i++)
        fill_kernels(kernel[i], &recipe_table[filter], i & 1, i >> 1, luminance);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++)
            filter_pixel(plane, variance, raw, raw_variance, width, height,
                         kernel[(x & 1) + 2 * (y & 1)], x, y);
    }
    must_free(raw);
    must_free(raw_variance);
}
