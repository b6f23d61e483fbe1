/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * noise_fields.h - noise whose every property is known, for tests
 *
 * A field is a torus of normal noise put through a linear, stationary (or 2 x 2
 * periodic) operation, so that its variance, at native size and after any
 * filter, follows from the operation's weights.  Patches are cut out of the
 * middle: a torus as large as the patch would hide what a patch's edges do.
 *
 *   white         independent pixels, sd 1
 *   blurred       white through a sampled, normalised Gaussian
 *   stripes       white, and an independent normal value per row
 *   demosaiced    white mosaic (RGGB, red at even x and y), one channel
 *                 interpolated: bilinear, or the 5 x 5 linear filters of Malvar,
 *                 He and Cutler 2004 (coefficients from memory)
 *   doubled       one value for each block of 2 x 2 pixels that starts at even x and y,
 *                 as colour differences stored at half size have it
 */
#ifndef QS_TESTS_NOISE_FIELDS_H
#define QS_TESTS_NOISE_FIELDS_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>

#include "base/channel.h"
#include "base/random.h"

enum field_mosaic {
    FIELD_NO_MOSAIC,
    FIELD_BILINEAR,
    FIELD_MALVAR,
    FIELD_DOUBLED
};

struct field_kind {
    const char *name;
    double blur_px; /* sd of the Gaussian, 0 = none */
    double row_sd;  /* of an extra value per row */
    enum field_mosaic mosaic;
    enum qs_channel channel; /* the one interpolated */
};

enum {
    FIELD_MOSAIC_REACH = 2, /* the mosaic's filters see this far */
    FIELD_BLUR_SD = 5       /* and the Gaussian is cut at so many sd */
};

/* Whether QS_TEST_BRIEF=1 asks for fewer seeds (for valgrind). */
static inline bool
field_brief(void)
{
    const char *brief = getenv("QS_TEST_BRIEF");

    return brief != NULL && brief[0] == '1';
}

/* Seeds to run: `many`, or an eighth of that and 5 or more when it is to be brief. */
static inline int
field_seeds(int many)
{
    int few = many / 8 > 5 ? many / 8 : 5;

    return field_brief() && few < many ? few : many;
}

/* Standard errors to allow: the few seeds of a brief run tell them badly. */
static inline double
field_sigmas(double sigmas)
{
    return field_brief() ? 2.5 * sigmas : sigmas;
}

/* Bilinear share of a sample `d` away along one axis, colour on even places. */
static inline double
field_bilinear_axis(int place, int d)
{
    if ((place & 1) == 0)
        return d == 0 ? 1.0 : 0.0;
    return abs(d) == 1 ? 0.5 : 0.0;
}

/* What red gets at (x, y) from the sample (dx, dy) away; blue with x, y moved by one.
 */
static inline double
field_red_weight(enum field_mosaic mosaic, int x, int y, int dx, int dy)
{
    int far = dx * dx + dy * dy;
    bool column = (x & 1) == 0, row = (y & 1) == 0; /* of red's own */

    if (mosaic == FIELD_BILINEAR)
        return field_bilinear_axis(x, dx) * field_bilinear_axis(y, dy);
    if (column && row)
        return far == 0 ? 1.0 : 0.0;
    if (!column && !row) /* on blue: 6; 2 at the corners; -3/2 two away */
        return (far == 0 ? 6.0 : far == 2 ? 2.0 : far == 4 ? -1.5 : 0.0) / 8.0;
    if (column) { /* on green between two reds above each other */
        int swap = dx;

        dx = dy;
        dy = swap;
    }
    if (far == 0)
        return 5.0 / 8.0;
    if (far == 2)
        return -1.0 / 8.0;
    if (dy == 0)
        return (abs(dx) == 1 ? 4.0 : abs(dx) == 2 ? -1.0 : 0.0) / 8.0;
    return dx == 0 && abs(dy) == 2 ? 0.5 / 8.0 : 0.0;
}

static inline double
field_green_weight(enum field_mosaic mosaic, int x, int y, int dx, int dy)
{
    int far = dx * dx + dy * dy;

    if (((x ^ y) & 1) == 1) /* green's own place */
        return far == 0 ? 1.0 : 0.0;
    if (mosaic == FIELD_BILINEAR)
        return far == 1 ? 0.25 : 0.0;
    return (far == 0 ? 4.0 : far == 1 ? 2.0 : far == 4 ? -1.0 : 0.0) / 8.0;
}

/* Luminance by the weights of ITU-R BT.709's primaries, seven digits. */
static inline double
field_mosaic_weight(enum field_mosaic mosaic, enum qs_channel channel, int x, int y,
                    int dx, int dy)
{
    double r, g, b;

    if (mosaic == FIELD_DOUBLED)
        return dx == -(x & 1) && dy == -(y & 1) ? 1.0 : 0.0;
    r = field_red_weight(mosaic, x, y, dx, dy);
    b = field_red_weight(mosaic, x + 1, y + 1, dx, dy);
    g = field_green_weight(mosaic, x, y, dx, dy);

    if (channel == QS_R)
        return r;
    if (channel == QS_G)
        return g;
    if (channel == QS_B)
        return b;
    return 0.2126390 * r + 0.7151687 * g + 0.0721923 * b;
}

/* Fills weight[-reach .. reach] around weight[reach]; returns reach. */
static inline int
field_blur_weights(double blur_px, double *weight)
{
    int reach = (int)ceil(FIELD_BLUR_SD * blur_px);
    double sum = 0.0;

    for (int i = -reach; i <= reach; i++)
        sum += weight[i + reach] = exp(-0.5 * i * i / (blur_px * blur_px));
    for (int i = 0; i <= 2 * reach; i++)
        weight[i] /= sum;
    return reach;
}

static inline void
field_blur(double *px, int n, double blur_px)
{
    double weight[2 * 64 + 1];
    int reach = field_blur_weights(blur_px, weight);
    double *line = malloc((size_t)(n + 2 * reach) * sizeof *line);

    for (int pass = 0; pass < 2; pass++)
        for (int k = 0; k < n; k++) {
            ptrdiff_t step = pass == 0 ? 1 : n;
            double *at = px + (pass == 0 ? (ptrdiff_t)k * n : k);

            for (int i = 0; i < n + 2 * reach; i++)
                line[i] = at[(i - reach + n) % n * step];
            for (int i = 0; i < n; i++) {
                double sum = 0.0;

                for (int d = 0; d <= 2 * reach; d++)
                    sum += weight[d] * line[i + d];
                at[i * step] = sum;
            }
        }
    free(line);
}

static inline void
field_demosaic(double *px, int n, enum field_mosaic mosaic, enum qs_channel channel)
{
    enum {
        SIDE = 2 * FIELD_MOSAIC_REACH + 1
    };
    double weight[4][SIDE][SIDE];
    double *raw = malloc((size_t)n * (size_t)n * sizeof *raw);

    for (ptrdiff_t i = 0; i < (ptrdiff_t)n * n; i++)
        raw[i] = px[i];
    for (int p = 0; p < 4; p++)
        for (int j = 0; j < SIDE; j++)
            for (int i = 0; i < SIDE; i++)
                weight[p][j][i] =
                    field_mosaic_weight(mosaic, channel, p & 1, p >> 1,
                                        i - FIELD_MOSAIC_REACH, j - FIELD_MOSAIC_REACH);
    for (int y = 0; y < n; y++)
        for (int x = 0; x < n; x++) {
            double sum = 0.0;

            for (int j = 0; j < SIDE; j++) {
                int row = (y + j - FIELD_MOSAIC_REACH + n) % n;

                for (int i = 0; i < SIDE; i++)
                    sum +=
                        weight[2 * (y & 1) + (x & 1)][j][i] *
                        raw[(ptrdiff_t)row * n + (x + i - FIELD_MOSAIC_REACH + n) % n];
            }
            px[(ptrdiff_t)y * n + x] = sum;
        }
    free(raw);
}

/* n x n pixels (n even) of mean + sd x the field; the caller frees. */
static inline float *
field_new(const struct field_kind *kind, int n, double mean, double sd, uint64_t seed)
{
    size_t count = (size_t)n * (size_t)n;
    double *px = malloc(count * sizeof *px);
    float *out = malloc(count * sizeof *out);
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (size_t i = 0; i < count; i++)
        px[i] = qs_random_normal(&random);
    if (kind->blur_px > 0.0)
        field_blur(px, n, kind->blur_px);
    if (kind->mosaic != FIELD_NO_MOSAIC)
        field_demosaic(px, n, kind->mosaic, kind->channel);
    for (int y = 0; y < n; y++) {
        double shared =
            kind->row_sd > 0.0 ? kind->row_sd * qs_random_normal(&random) : 0.0;

        for (int x = 0; x < n; x++) {
            size_t at = (size_t)y * (size_t)n + (size_t)x;

            out[at] = (float)(mean + sd * (px[at] + shared));
        }
    }
    free(px);
    return out;
}

/* Sum of the squares of `weight` (count values) blurred: the white-noise gain in power
   of one axis. */
static inline double
field_blurred_power(const double *weight, int count, double blur_px)
{
    double blur[2 * 64 + 1] = {1.0};
    int reach = blur_px > 0.0 ? field_blur_weights(blur_px, blur) : 0;
    double power = 0.0;

    for (int p = -reach; p < count + reach; p++) {
        double sum = 0.0;

        for (int d = -reach; d <= reach; d++)
            if (p + d >= 0 && p + d < count)
                sum += blur[d + reach] * weight[p + d];
        power += sum * sum;
    }
    return power;
}

/* Variance of one delivered pixel of demosaiced noise: what each sample of the mosaic
   adds to it, squared.  The first weights belong to the pixel (x, y) of the mosaic. */
static inline double
field_mosaic_variance(const struct field_kind *kind, int x, int y, const double *across,
                      int count_x, const double *down, int count_y)
{
    int reach = FIELD_MOSAIC_REACH;
    double variance = 0.0;

    for (int q = -reach; q < count_y + reach; q++)
        for (int p = -reach; p < count_x + reach; p++) {
            double share = 0.0;

            for (int dy = -reach; dy <= reach; dy++)
                for (int dx = -reach; dx <= reach; dx++)
                    if (p - dx >= 0 && p - dx < count_x && q - dy >= 0 &&
                        q - dy < count_y)
                        share += across[p - dx] * down[q - dy] *
                                 field_mosaic_weight(kind->mosaic, kind->channel,
                                                     x + p - dx, y + q - dy, dx, dy);
            variance += share * share;
        }
    return variance;
}

/* Variance, for sd 1, of a delivered pixel with these weights of the pixels from
   (x, y) on; each axis' weights sum to 1. */
static inline double
field_variance(const struct field_kind *kind, int x, int y, const double *across,
               int count_x, const double *down, int count_y)
{
    double rows = 0.0;

    for (int i = 0; i < count_y; i++)
        rows += down[i] * down[i];
    rows *= kind->row_sd * kind->row_sd;
    if (kind->mosaic != FIELD_NO_MOSAIC)
        return rows + field_mosaic_variance(kind, x, y, across, count_x, down, count_y);
    return rows + field_blurred_power(across, count_x, kind->blur_px) *
                      field_blurred_power(down, count_y, kind->blur_px);
}

/* The same at native size, over the four places of the mosaic. */
static inline double
field_native_variance(const struct field_kind *kind)
{
    static const double one[1] = {1.0};
    double sum = 0.0;

    for (int p = 0; p < 4; p++)
        sum += field_variance(kind, p & 1, p >> 1, one, 1, one, 1) / 4.0;
    return sum;
}

#endif
