/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/encode.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "base/processor.h"
#include "linear/unmix.h"

/* A float's bits without the lowest 14: 512 cells for each doubling of light. */
enum {
    CELL_SHIFT = 14,
    CODES = 65536
};

/* The darkest light that is told from none: code 0.25 of a bare power of 5. */
#define LEAST_LIGHT 0x1p-90f
#define LEAST_BITS ((int32_t)((127 - 90) << 23)) /* its bits */
#define INFINITE_BITS ((int32_t)(255 << 23))     /* NaN is beyond */
#define ONE_BITS ((int32_t)(127 << 23))          /* and those of 1 */

/* A line that is further off than this anywhere in its cell is no line: there codes are
   searched. */
static const double OFF_MOST = 0.2;

static const float TOP = 65535.0f;

/* A lowest code that is darker than this holds a pedestal; less is rounding. */
static const double DARKER_THAN_BLACK = 1e-7;

/* Straight lines, one for each cell: code = at + slope x light. */
struct lines {
    float *at;
    float *slope;
};

struct qs_encoder {
    struct qs_unmix *unmix; /* a profile that is a table; else NULL */
    int channels;
    bool shared;       /* the same lines for all channels */
    bool has_pedestal; /* some codes are darker than no light */
    bool searches;     /* some cells have no line, or that */
    struct lines lines[3];
    float *owned;
    double *lights[3]; /* of every code */
    double *owned_lights;
    uint32_t first; /* of the cells */
};

static uint32_t
cell_of(float light)
{
    uint32_t bits;

    memcpy(&bits, &light, sizeof bits);
    return bits >> CELL_SHIFT;
}

/* The light that a cell begins with. */
static double
cell_light(uint32_t cell)
{
    uint32_t bits = cell << CELL_SHIFT;
    float light;

    memcpy(&light, &bits, sizeof light);
    return (double)light;
}

/* Place of `light` between two codes, the lower one of which is `code`. */
static double
between(const double *lights, int code, double light)
{
    double low = lights[code], high = lights[code + 1];

    if (!(high > low))
        return code;
    return code + fmin(fmax((light - low) / (high - low), 0.0), 1.0);
}

/* The code of a light, by halving. */
static double
search(const double *lights, double light)
{
    int low = 0, high = CODES - 1;

    while (high - low > 1) {
        int middle = (low + high) / 2;

        if (lights[middle] < light)
            low = middle;
        else
            high = middle;
    }
    return between(lights, low, light);
}

/*
 * Whether the codes that begin within a cell lie on its line; *code is the last one
 * that begins before it, and moves on.
 */
static bool
lies_on_line(const double *lights, int *code, double begin, double end, double at,
             double slope)
{
    bool on_line = true;

    for (; *code < CODES - 1 && lights[*code + 1] < end; (*code)++) {
        double light = lights[*code + 1];

        if (light > begin && fabs(at + slope * light - (*code + 1)) > OFF_MOST)
            on_line = false;
    }
    return on_line;
}

/* One channel's cells, from the light of every code. */
static void
fill_lines(const struct qs_encoder *encoder, const double *lights, int count,
           struct lines lines)
{
    double begin = cell_light(encoder->first), low = search(lights, begin);
    int code = 0;

    for (int i = 0; i < count; i++) {
        double end = cell_light(encoder->first + (uint32_t)i + 1);
        double high = search(lights, end);
        double slope = (high - low) / (end - begin), at = low - slope * begin;
        bool is_line = lies_on_line(lights, &code, begin, end, at, slope);

        lines.at[i] = is_line ? (float)at : NAN;
        lines.slope[i] = (float)slope;
        begin = end;
        low = high;
    }
    lines.at[count] = TOP; /* white and beyond */
    lines.slope[count] = 0.0f;
}

/* Most profiles have one curve, three times. */
static bool
are_alike(const struct qs_encoder *encoder)
{
    for (int c = 1; c < encoder->channels; c++)
        if (memcmp(encoder->lights[0], encoder->lights[c],
                   CODES * sizeof *encoder->lights[c]) != 0)
            return false;
    return true;
}

static bool
has_gaps(struct lines lines, int count)
{
    for (int i = 0; i < count; i++)
        if (isnan(lines.at[i]))
            return true;
    return false;
}

static enum qs_status
fill(struct qs_encoder *encoder, const struct qs_linear *linear, int count,
     struct qs_error *err)
{
    const size_t room = (size_t)count + 1, channels = (size_t)encoder->channels;

    encoder->owned_lights = qs_alloc(channels * CODES, sizeof *encoder->owned_lights);
    encoder->owned = qs_alloc(channels * 2 * room, sizeof *encoder->owned);
    if (encoder->owned_lights == NULL || encoder->owned == NULL)
        return qs_fail_memory(err);
    for (int c = 0; c < encoder->channels; c++) {
        float *at = encoder->owned + (size_t)c * 2 * room;

        encoder->lines[c] = (struct lines){at, at + room};
        encoder->lights[c] = encoder->owned_lights + (size_t)c * CODES;
        qs_linear_lights(linear, c, CODES, encoder->lights[c]);
    }
    encoder->shared = are_alike(encoder);
    for (int c = 0; c < (encoder->shared ? 1 : encoder->channels); c++) {
        fill_lines(encoder, encoder->lights[c], count, encoder->lines[c]);
        encoder->searches = encoder->searches || has_gaps(encoder->lines[c], count) ||
                            encoder->lights[c][0] < -DARKER_THAN_BLACK;
    }
    return QS_OK;
}

enum qs_status
qs_encoder_new(const struct qs_linear *linear, struct qs_encoder **out,
               struct qs_error *err)
{
    struct qs_encoder *encoder = qs_alloc(1, sizeof *encoder);
    enum qs_status status;

    *out = NULL;
    if (encoder == NULL)
        return qs_fail_memory(err);
    if (!qs_linear_is_separate(linear)) {
        status = qs_unmix_new(linear, &encoder->unmix, err);
        if (status == QS_OK)
            *out = encoder;
        else
            qs_encoder_free(encoder);
        return status;
    }
    encoder->channels = qs_linear_channels(linear);
    encoder->first = cell_of(LEAST_LIGHT);
    status = fill(encoder, linear, (int)(cell_of(1.0f) - encoder->first), err);
    if (status != QS_OK) {
        qs_encoder_free(encoder);
        return status;
    }
    *out = encoder;
    return QS_OK;
}

void
qs_encoder_free(struct qs_encoder *encoder)
{
    if (encoder == NULL)
        return;
    qs_unmix_free(encoder->unmix);
    qs_free(encoder->owned);
    qs_free(encoder->owned_lights);
    qs_free(encoder);
}

/*
 * 0 below the darkest light; NaN where codes are to be searched.  Floats above 0 are in
 * the order of their bits, those below 0 have the bits of numbers below 0: whole
 * numbers do, and those are compared without branches.
 */
static inline float
encode(const float *at, const float *slope, int32_t first, float light)
{
    int32_t bits, is_light;
    float code;

    memcpy(&bits, &light, sizeof bits);
    is_light = bits > LEAST_BITS ? -1 : 0;
    bits = bits > LEAST_BITS ? bits : LEAST_BITS;
    bits = bits < ONE_BITS ? bits : ONE_BITS;
    memcpy(&light, &bits, sizeof light);
    bits = (bits >> CELL_SHIFT) - first;
    code = at[bits] + slope[bits] * light;
    memcpy(&bits, &code, sizeof bits);
    bits &= is_light;
    memcpy(&code, &bits, sizeof code);
    return code;
}

/* All channels by the same lines: one long loop, which newer processors take at once.
   Returns whether any code is to be searched. */
QS_CLONES_AVX2 static bool
encode_alike(const float *at, const float *slope, int32_t first,
             const float *restrict light, int values, float *restrict codes)
{
    int32_t unknown = 0;

    for (int i = 0; i < values; i++) {
        int32_t bits;

        codes[i] = encode(at, slope, first, light[i]);
        memcpy(&bits, &codes[i], sizeof bits);
        unknown |= bits > INFINITE_BITS ? 1 : 0;
    }
    return unknown != 0;
}

/* Where a line could not tell, or black is not the lowest code. */
static void
search_rest(const struct qs_encoder *encoder, const float *light, int count, int stride,
            float *codes)
{
    for (int i = 0; i < count; i++)
        for (int c = 0; c < encoder->channels; c++) {
            const float own = light[stride * i + c];
            float *code = &codes[stride * i + c];

            if (*code != *code || !(own > LEAST_LIGHT))
                *code = (float)search(encoder->lights[c], (double)own);
        }
}

/* Channels with lines of their own. */
static bool
encode_apart(const struct qs_encoder *encoder, const float *light, int count,
             int stride, float *codes)
{
    for (int i = 0; i < count; i++)
        for (int c = 0; c < encoder->channels; c++)
            codes[stride * i + c] =
                encode(encoder->lines[c].at, encoder->lines[c].slope,
                       (int32_t)encoder->first, light[stride * i + c]);
    return encoder->searches;
}

/* Pixels that are looked through for codes to be searched, where there is one. */
enum {
    PIECE_PX = 64
};

void
qs_encode(const struct qs_encoder *encoder, const float *light, int count, int stride,
          float *codes)
{
    const struct lines *all = &encoder->lines[0];

    if (encoder->unmix != NULL) {
        qs_unmix(encoder->unmix, light, count, stride, codes);
        return;
    }
    for (int left = count; left > 0; left -= PIECE_PX) {
        const int some = left < PIECE_PX ? left : PIECE_PX;
        bool unknown = encoder->shared
                           ? encode_alike(all->at, all->slope, (int32_t)encoder->first,
                                          light, stride * some, codes) ||
                                 encoder->has_pedestal
                           : encode_apart(encoder, light, some, stride, codes);

        if (unknown)
            search_rest(encoder, light, some, stride, codes);
        light += (ptrdiff_t)stride * some;
        codes += (ptrdiff_t)stride * some;
    }
}
