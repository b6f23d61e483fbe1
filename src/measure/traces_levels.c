/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_levels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "linear/curve.h"

static const double PI = 3.14159265358979323846;

/* Between 8 bits and 9, with room for what a change of primaries does to a cell. */
const double qs_lattice_coarse = 1.0 / 600.0;

/*
 * Below this light 12 bits of linear light, times a white-balance gain of 2, have steps
 * as coarse as those of 8 bits through the sRGB curve (T14): nothing is said there.
 */
static const double DARKEST = 0.035;

/* Fewer equal pairs than this say nothing. */
static const double LEAST_PAIRS = 20.0;

enum {
    MOST_PX = 40000, /* of one patch */
    LEAST_LEVELS = 16,
    MOST_LEVELS = 256
};

struct colour {
    float value[3];
};

static int
compare(const void *a, const void *b)
{
    return memcmp(a, b, sizeof(struct colour));
}

/* Pairs of equal pixels among sorted ones. */
static double
equal_pairs(const struct colour *sorted, size_t count)
{
    double pairs = 0.0;
    size_t run = 1;

    for (size_t i = 1; i <= count; i++) {
        if (i < count && compare(&sorted[i], &sorted[i - 1]) == 0) {
            run++;
            continue;
        }
        pairs += 0.5 * (double)run * (double)(run - 1);
        run = 1;
    }
    return pairs;
}

/* Mean, and covariance over all pixels. */
static void
moments(const struct colour *px, size_t count, int channels, double mean[3],
        double covariance[3][3])
{
    memset(mean, 0, 3 * sizeof *mean);
    memset(covariance, 0, 9 * sizeof(double));
    for (size_t i = 0; i < count; i++)
        for (int c = 0; c < channels; c++)
            mean[c] += (double)px[i].value[c] / (double)count;
    for (size_t i = 0; i < count; i++)
        for (int a = 0; a < channels; a++)
            for (int b = 0; b < channels; b++)
                covariance[a][b] += ((double)px[i].value[a] - mean[a]) *
                                    ((double)px[i].value[b] - mean[b]) / (double)count;
}

static double
determinant(double m[3][3], int n)
{
    if (n == 1)
        return m[0][0];
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
           m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

static double
srgb(double light)
{
    return qs_curve_fraction(qs_curve_srgb(), light);
}

/*
 * T13: pixels of a normal distribution rounded to a lattice are equal with
 * probability cell volume / ((4 pi)^(n/2) |covariance|^(1/2)).
 */
static void
cell(struct colour *px, size_t count, int n, struct qs_lattice *out)
{
    double mean[3], covariance[3][3], spread, volume, pairs, all;

    moments(px, count, n, mean, covariance);
    spread = determinant(covariance, n);
    qsort(px, count, sizeof *px, compare);
    pairs = equal_pairs(px, count);
    all = 0.5 * (double)count * (double)(count - 1);
    for (int c = 0; c < n; c++)
        if (mean[c] < DARKEST)
            return;
    if (pairs < LEAST_PAIRS || !(spread > 0.0))
        return;
    volume = pairs / all * pow(4.0 * PI, 0.5 * n) * sqrt(spread);
    for (int c = 0; c < n; c++)
        volume *= qs_curve_steepness(qs_curve_srgb(), mean[c]);
    out->known = true;
    out->step = pow(volume, 1.0 / n);
}

/* Whether the channels say one thing: a grey picture stored as r, g, b. */
static bool
is_grey(const struct colour *px, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (px[i].value[0] != px[i].value[1] || px[i].value[0] != px[i].value[2])
            return false;
    return true;
}

enum qs_status
qs_lattice_look(const struct qs_plane *planes, int channels, struct qs_lattice *out,
                struct qs_error *err)
{
    int rows = MOST_PX / planes[0].width;
    size_t count = 0;
    struct colour *px;

    *out = (struct qs_lattice){.known = false};
    rows = rows < 1 ? 1 : rows;
    rows = rows > planes[0].height ? planes[0].height : rows;
    px = qs_alloc((size_t)rows * (size_t)planes[0].width, sizeof *px);
    if (px == NULL)
        return qs_fail_memory(err);
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < planes[0].width; x++, count++)
            for (int c = 0; c < channels; c++)
                px[count].value[c] =
                    qs_plane_row(&planes[c], (planes[0].height - rows) / 2 + y)[x];
    if (channels == 3 && is_grey(px, count)) {
        for (size_t i = 0; i < count; i++)
            px[i].value[1] = px[i].value[2] = 0.0f;
        channels = 1;
    }
    cell(px, count, channels, out);
    qs_free(px);
    return QS_OK;
}

enum qs_status
qs_codes_init(struct qs_codes *codes, int channels, struct qs_error *err)
{
    *codes = (struct qs_codes){.channels = channels};
    for (int c = 0; c < channels; c++) {
        codes->seen[c] = qs_alloc(QS_CODES, 1);
        if (codes->seen[c] == NULL) {
            qs_codes_clear(codes);
            return qs_fail_memory(err);
        }
    }
    return QS_OK;
}

void
qs_codes_clear(struct qs_codes *codes)
{
    for (int c = 0; c < 3; c++)
        qs_free(codes->seen[c]);
    *codes = (struct qs_codes){.channels = 0};
}

void
qs_codes_add(struct qs_codes *codes, const uint16_t *samples, size_t pixels)
{
    for (size_t i = 0; i < pixels; i++)
        for (int c = 0; c < codes->channels; c++)
            codes->seen[c][*samples++] = 1;
}

/* T15: every code a multiple of `step`, the ends left aside. */
static bool
all_multiples(const uint8_t *seen, int step)
{
    int count = 0;

    for (int code = 1; code < QS_CODES - 1; code++) {
        if (!seen[code])
            continue;
        if (code % step != 0)
            return false;
        count++;
    }
    return count >= LEAST_LEVELS / 2;
}

/*
 * T16: few levels, no two of which are closer than 9 bits would bring them, most of
 * them neighbours of the next: a comb that a curve bent.
 */
static bool
is_bent_comb(const uint8_t *seen, const float *light)
{
    int levels = 0, dense = 0, fine = 0, gaps = 0, last = -1;

    for (int code = 1; code < QS_CODES - 1; code++) {
        double gap;

        if (!seen[code])
            continue;
        levels++;
        if ((double)light[code] < DARKEST)
            continue;
        gap = last < 0 ? -1.0 : srgb((double)light[code]) - srgb((double)light[last]);
        last = code;
        if (gap < 0.0)
            continue;
        gaps++;
        dense += gap < 1.0 / 80.0;
        fine += gap < qs_lattice_coarse;
    }
    return levels >= LEAST_LEVELS && levels <= MOST_LEVELS && gaps >= LEAST_LEVELS &&
           2 * dense > gaps && fine == 0;
}

bool
qs_codes_are_eight_bit(const struct qs_codes *codes, const float *const light[3])
{
    for (int c = 0; c < codes->channels; c++)
        if (!all_multiples(codes->seen[c], 257) &&
            !all_multiples(codes->seen[c], 256) &&
            !is_bent_comb(codes->seen[c], light[c]))
            return false;
    return codes->channels > 0;
}
