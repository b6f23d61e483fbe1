/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/encode.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "base/processor.h"

/* A float's bits without the lowest 14: 512 cells for each doubling of light. */
enum {
    CELL_SHIFT = 14,
    CODES = 65536
};

/* The darkest light that is told from none: code 0.25 of a bare power of 5. */
#define LEAST_LIGHT 0x1p-90f

/* A line that is further off than this anywhere in its cell is no line: there codes are
   searched. */
static const double OFF_MOST = 0.02;

static const float TOP = 65535.0f;

/* Straight lines, one for each cell: code = at + slope x light. */
struct lines {
    float *at;
    float *slope;
};

struct qs_encoder {
    int channels;
    bool shared; /* the same lines for all channels */
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

static enum qs_status
fill(struct qs_encoder *encoder, const struct qs_linear *linear, int count,
     struct qs_error *err)
{
    const int tables = encoder->shared ? 1 : encoder->channels;
    const size_t room = (size_t)count + 1;

    encoder->owned_lights =
        qs_alloc((size_t)tables * CODES, sizeof *encoder->owned_lights);
    encoder->owned = qs_alloc((size_t)tables * 2 * room, sizeof *encoder->owned);
    if (encoder->owned_lights == NULL || encoder->owned == NULL)
        return qs_fail_memory(err);
    for (int c = 0; c < encoder->channels; c++) {
        const size_t table = (size_t)(tables > 1 ? c : 0);
        float *at = encoder->owned + table * 2 * room;

        encoder->lines[c] = (struct lines){at, at + room};
        encoder->lights[c] = encoder->owned_lights + table * CODES;
    }
    for (int c = 0; c < tables; c++) {
        for (int code = 0; code < CODES; code++)
            encoder->lights[c][code] = qs_linear_light(linear, c, code / (CODES - 1.0));
        fill_lines(encoder, encoder->lights[c], count, encoder->lines[c]);
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
    encoder->channels = qs_linear_channels(linear);
    encoder->shared = qs_linear_shares_curve(linear);
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
    qs_free(encoder->owned);
    qs_free(encoder->owned_lights);
    qs_free(encoder);
}

/* Below the darkest light, and where there is no number, 0; NaN where codes are to be
   searched. */
static inline float
encode(const float *at, const float *slope, uint32_t first, float light)
{
    bool is_light = light > LEAST_LIGHT;
    uint32_t cell;

    light = is_light ? light : LEAST_LIGHT;
    light = light < 1.0f ? light : 1.0f;
    cell = cell_of(light) - first;
    light = at[cell] + slope[cell] * light;
    return is_light ? light : 0.0f;
}

/* All channels by the same lines: one long loop, which newer processors take at once.
 */
QS_FOR_EACH_PROCESSOR static void
encode_alike(const float *at, const float *slope, uint32_t first,
             const float *restrict light, int values, float *restrict codes)
{
    for (int i = 0; i < values; i++)
        codes[i] = encode(at, slope, first, light[i]);
}

/* Where a line could not tell. */
static void
search_rest(const struct qs_encoder *encoder, const float *light, int count,
            float *codes)
{
    for (int i = 0; i < count; i++)
        for (int c = 0; c < encoder->channels; c++) {
            float *code = &codes[QS_QUAD * i + c];

            if (*code != *code)
                *code =
                    (float)search(encoder->lights[c], (double)light[QS_QUAD * i + c]);
        }
}

void
qs_encode_quads(const struct qs_encoder *encoder, const float *light, int count,
                float *codes)
{
    if (encoder->shared)
        encode_alike(encoder->lines[0].at, encoder->lines[0].slope, encoder->first,
                     light, QS_QUAD * count, codes);
    else
        for (int i = 0; i < count; i++)
            for (int c = 0; c < encoder->channels; c++)
                codes[QS_QUAD * i + c] =
                    encode(encoder->lines[c].at, encoder->lines[c].slope,
                           encoder->first, light[QS_QUAD * i + c]);
    search_rest(encoder, light, count, codes);
}
