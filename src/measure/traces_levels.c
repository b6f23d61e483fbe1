/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_levels.h"

#include <math.h>
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

/* One colour that occurs, and how often so far. */
struct occurrence {
    uint32_t pixel; /* of the list, one that has it */
    uint32_t count; /* 0: the place is free */
};

static size_t
place_for(const struct colour *colour, size_t places)
{
    uint32_t bits[3];
    uint64_t mixed;

    memcpy(bits, colour, sizeof bits);
    mixed = ((uint64_t)bits[0] << 32 | bits[1]) * UINT64_C(0x9E3779B97F4A7C15);
    mixed = (mixed ^ mixed >> 29 ^ bits[2]) * UINT64_C(0xBF58476D1CE4E5B9);
    return (size_t)(mixed >> 32) & (places - 1);
}

/*
 * Pairs of equal pixels; `table` has a power of two of free places, more than pixels.
 * Each pixel makes a pair with every equal one before it.
 */
static double
equal_pairs(const struct colour *px, size_t count, struct occurrence *table,
            size_t places)
{
    double pairs = 0.0;

    for (size_t i = 0; i < count; i++) {
        size_t at = place_for(&px[i], places);

        while (table[at].count > 0 &&
               memcmp(&px[table[at].pixel], &px[i], sizeof px[i]) != 0)
            at = (at + 1) & (places - 1);
        pairs += table[at].count;
        table[at].pixel = (uint32_t)i;
        table[at].count++;
    }
    return pairs;
}

/* Mean, and covariance over all pixels. */
static void
moments(const struct colour *px, size_t count, int channels, double mean[3],
        double covariance[3][3])
{
    double sum[3] = {0.0}, product[3][3] = {{0.0}};

    for (size_t i = 0; i < count; i++)
        for (int c = 0; c < 3; c++)
            sum[c] += (double)px[i].value[c];
    for (int c = 0; c < channels; c++)
        mean[c] = sum[c] / (double)count;
    for (size_t i = 0; i < count; i++) {
        double off[3];

        for (int c = 0; c < channels; c++)
            off[c] = (double)px[i].value[c] - mean[c];
        for (int a = 0; a < channels; a++)
            for (int b = a; b < channels; b++)
                product[a][b] += off[a] * off[b];
    }
    for (int a = 0; a < channels; a++)
        for (int b = 0; b < channels; b++)
            covariance[a][b] = product[a < b ? a : b][a < b ? b : a] / (double)count;
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
cell(const struct colour *px, size_t count, int n, double pairs, struct qs_lattice *out)
{
    double mean[3], covariance[3][3], spread, volume, all;

    moments(px, count, n, mean, covariance);
    spread = determinant(covariance, n);
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

/* The middle rows of a patch, pixel by pixel; a grey picture's as one channel. */
static int
take_colours(const struct qs_plane *planes, int channels, int rows, struct colour *px)
{
    size_t count = 0;

    for (int y = 0; y < rows; y++)
        for (int x = 0; x < planes[0].width; x++, count++)
            for (int c = 0; c < channels; c++)
                px[count].value[c] =
                    qs_plane_row(&planes[c], (planes[0].height - rows) / 2 + y)[x];
    if (channels < 3 || !is_grey(px, count))
        return channels;
    for (size_t i = 0; i < count; i++)
        px[i].value[1] = px[i].value[2] = 0.0f;
    return 1;
}

enum qs_status
qs_lattice_look(const struct qs_plane *planes, int channels, struct qs_lattice *out,
                struct qs_error *err)
{
    int rows = MOST_PX / planes[0].width;
    size_t count, places = 64;
    struct colour *px;
    struct occurrence *table;

    *out = (struct qs_lattice){.known = false};
    rows = rows < 1 ? 1 : rows;
    rows = rows > planes[0].height ? planes[0].height : rows;
    count = (size_t)rows * (size_t)planes[0].width;
    while (places < 2 * count)
        places *= 2;
    px = qs_alloc(count, sizeof *px);
    table = qs_alloc(places, sizeof *table);
    if (px != NULL && table != NULL) {
        channels = take_colours(planes, channels, rows, px);
        cell(px, count, channels, equal_pairs(px, count, table, places), out);
    }
    qs_free(table);
    qs_free(px);
    return px != NULL && table != NULL ? QS_OK : qs_fail_memory(err);
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

/* Whether a channel holds a code that is no multiple of `step`, the ends left aside. */
static bool
has_other_than_multiples(const uint8_t *seen, int step)
{
    for (int code = 1; code < QS_CODES - 1; code++)
        if (seen[code] && code % step != 0)
            return true;
    return false;
}

static int
count_levels(const uint8_t *seen)
{
    int levels = 0;

    for (int code = 1; code < QS_CODES - 1; code++)
        levels += seen[code];
    return levels;
}

/* What further codes can't change: T15 and T16 ask for few levels, or multiples. */
static bool
is_fine(const uint8_t *seen)
{
    return count_levels(seen) > MOST_LEVELS && has_other_than_multiples(seen, 257) &&
           has_other_than_multiples(seen, 256);
}

void
qs_codes_add(struct qs_codes *codes, const uint16_t *samples, size_t pixels)
{
    if (codes->are_fine)
        return;
    for (size_t i = 0; i < pixels; i++)
        for (int c = 0; c < codes->channels; c++)
            codes->seen[c][*samples++] = 1;
    codes->unlooked += pixels;
    if (codes->unlooked < QS_CODES)
        return;
    codes->unlooked = 0;
    for (int c = 0; c < codes->channels; c++)
        codes->are_fine |= is_fine(codes->seen[c]);
}

bool
qs_codes_are_eight_bit(const struct qs_codes *codes, const float *const light[3])
{
    if (codes->are_fine)
        return false;
    for (int c = 0; c < codes->channels; c++)
        if (!all_multiples(codes->seen[c], 257) &&
            !all_multiples(codes->seen[c], 256) &&
            !is_bent_comb(codes->seen[c], light[c]))
            return false;
    return codes->channels > 0;
}
