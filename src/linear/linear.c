/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/linear.h"

#include <assert.h>
#include <stddef.h>
#include <string.h>

#include "base/lanes.h"
#include "base/memory.h"
#include "linear/claim.h"

/* Pixels in one go, so that their fractions fit on the stack. */
#define CHUNK_PX 512

struct qs_linear {
    struct qs_claim claim;
    enum qs_sample sample;
    int channels;
    bool by_code;    /* 8 and 16 bits: light is looked up by code */
    float *light[3]; /* by_code: light of every code; channels may share one */
    float *owned;    /* the memory behind them */
};

/* L3: a code value, in the file's own units, as a fraction of its range. */
static double
fraction_of(const struct qs_claim *claim, double code)
{
    return (code - claim->black) / (claim->white - claim->black);
}

/* Light of one channel, where channels are apart. */
static double
light_of(const struct qs_claim *claim, int channel, double fraction)
{
    if (claim->profile != NULL)
        return qs_profile_light(claim->profile, channel, fraction);
    return qs_curve_light(&claim->curve, fraction);
}

static bool
is_separate(const struct qs_claim *claim)
{
    return claim->profile == NULL || qs_profile_is_separate(claim->profile);
}

/* Named curves are the same for all channels: one table does. */
static enum qs_status
tabulate(struct qs_linear *linear, struct qs_error *err)
{
    const struct qs_claim *claim = &linear->claim;
    const size_t codes = (size_t)qs_claim_top_code(linear->sample) + 1;
    const int tables = claim->profile != NULL ? linear->channels : 1;

    linear->owned = qs_alloc((size_t)tables * codes, sizeof *linear->owned);
    if (linear->owned == NULL)
        return qs_fail_memory(err);
    for (int c = 0; c < tables; c++) {
        for (size_t code = 0; code < codes; code++)
            linear->owned[(size_t)c * codes + code] =
                (float)light_of(claim, c, fraction_of(claim, (double)code));
    }
    for (int c = 0; c < linear->channels; c++) {
        float *own = linear->owned + (size_t)(tables > 1 ? c : 0) * codes;
        bool is_first = memcmp(own, linear->owned, codes * sizeof *own) == 0;

        /* most profiles have one curve, three times: one table stays closer at hand */
        linear->light[c] = is_first ? linear->owned : own;
    }
    return QS_OK;
}

static enum qs_status
prepare(struct qs_linear *linear, const struct qs_image_info *info,
        const struct qs_encoding_choice *choice, struct qs_error *err)
{
    const enum qs_status status = qs_claim_settle(info, choice, &linear->claim, err);

    if (status != QS_OK)
        return status;
    linear->sample = info->sample;
    linear->channels = info->channels;
    linear->by_code = (info->sample == QS_SAMPLE_U8 || info->sample == QS_SAMPLE_U16) &&
                      is_separate(&linear->claim);
    return linear->by_code ? tabulate(linear, err) : QS_OK;
}

enum qs_status
qs_encoding_check(const char *name, struct qs_error *err)
{
    struct qs_curve curve;

    if (strcmp(name, "profile") == 0)
        return QS_OK;
    return qs_curve_find(name, &curve, err);
}

enum qs_status
qs_linear_new(const struct qs_image_info *info, const struct qs_encoding_choice *choice,
              struct qs_linear **out, struct qs_error *err)
{
    struct qs_linear *linear = qs_alloc(1, sizeof *linear);
    enum qs_status status;

    assert(info->channels == 1 || info->channels == 3);
    *out = NULL;
    if (linear == NULL)
        return qs_fail_memory(err);
    status = prepare(linear, info, choice, err);
    if (status != QS_OK) {
        qs_linear_free(linear);
        return status;
    }
    *out = linear;
    return QS_OK;
}

void
qs_linear_free(struct qs_linear *linear)
{
    if (linear == NULL)
        return;
    qs_claim_clear(&linear->claim);
    qs_free(linear->owned);
    qs_free(linear);
}

const struct qs_encoding *
qs_linear_encoding(const struct qs_linear *linear)
{
    return &linear->claim.encoding;
}

/* Every `step`-th code after the first ones, widened. */
#define WIDEN(type)                                                                    \
    do {                                                                               \
        const type *from = (const type *)codes + first;                                \
        for (int i = 0; i < count; i++)                                                \
            out[i] = (double)from[(ptrdiff_t)i * step];                                \
    } while (0)

static void
widen(enum qs_sample sample, const void *codes, ptrdiff_t first, int step, int count,
      double *out)
{
    switch (sample) {
    case QS_SAMPLE_U8:
        WIDEN(uint8_t);
        break;
    case QS_SAMPLE_U16:
        WIDEN(uint16_t);
        break;
    case QS_SAMPLE_U32:
        WIDEN(uint32_t);
        break;
    case QS_SAMPLE_F32:
        WIDEN(float);
        break;
    case QS_SAMPLE_F64:
        WIDEN(double);
        break;
    }
}

/* Fractions of channel c of pixels first ... first + count - 1; count <= CHUNK_PX. */
static void
read_fractions(const struct qs_linear *linear, const void *codes, int first, int count,
               int c, double *out)
{
    const struct qs_claim *claim = &linear->claim;
    const int channels = linear->channels;

    widen(linear->sample, codes, (ptrdiff_t)first * channels + c, channels, count, out);
    for (int i = 0; i < count; i++)
        out[i] = fraction_of(claim, out[i]);
}

static int
chunk_length(int first, int count)
{
    return count - first < CHUNK_PX ? count - first : CHUNK_PX;
}

void
qs_linear_fractions(const struct qs_linear *linear, const void *codes, int count,
                    float *const out[3])
{
    double fractions[CHUNK_PX];

    for (int first = 0; first < count; first += CHUNK_PX) {
        const int part = chunk_length(first, count);

        for (int c = 0; c < linear->channels; c++) {
            read_fractions(linear, codes, first, part, c, fractions);
            for (int i = 0; i < part; i++)
                out[c][first + i] = (float)fractions[i];
        }
    }
}

void
qs_linear_from_fractions(const struct qs_linear *linear, const float *const in[3],
                         int count, float *const out[3])
{
    if (!is_separate(&linear->claim)) {
        qs_profile_light_planes(linear->claim.profile, in, count, out);
        return;
    }
    for (int c = 0; c < linear->channels; c++) {
        for (int i = 0; i < count; i++)
            out[c][i] = (float)light_of(&linear->claim, c, (double)in[c][i]);
    }
}

static void
decode_apart(const struct qs_linear *linear, const void *codes, int count,
             float *const out[3])
{
    double fractions[CHUNK_PX];

    for (int first = 0; first < count; first += CHUNK_PX) {
        const int part = chunk_length(first, count);

        for (int c = 0; c < linear->channels; c++) {
            read_fractions(linear, codes, first, part, c, fractions);
            for (int i = 0; i < part; i++)
                out[c][first + i] = (float)light_of(&linear->claim, c, fractions[i]);
        }
    }
}

/* The usual kind, with a loop of its own. */
static void
decode_rgb16(const float *const light[3], const uint16_t *restrict codes, int count,
             float *const out[3])
{
    const float *red = light[0], *green = light[1], *blue = light[2];
    float *restrict r = out[0], *restrict g = out[1], *restrict b = out[2];

    for (int i = 0; i < count; i++, codes += 3) {
        r[i] = red[codes[0]];
        g[i] = green[codes[1]];
        b[i] = blue[codes[2]];
    }
}

static void
decode_by_code(const struct qs_linear *linear, const void *codes, int count,
               float *const out[3])
{
    const int step = linear->channels;

    if (linear->sample == QS_SAMPLE_U16 && step == 3) {
        decode_rgb16((const float *const *)linear->light, codes, count, out);
        return;
    }
    for (int c = 0; c < step; c++) {
        const float *light = linear->light[c];

        if (linear->sample == QS_SAMPLE_U8) {
            const uint8_t *from = (const uint8_t *)codes + c;

            for (int i = 0; i < count; i++)
                out[c][i] = light[from[(ptrdiff_t)i * step]];
        } else {
            const uint16_t *from = (const uint16_t *)codes + c;

            for (int i = 0; i < count; i++)
                out[c][i] = light[from[(ptrdiff_t)i * step]];
        }
    }
}

/* Whether a 16-bit code is the lowest or the highest: most rows have none. */
QS_CLONES static bool
any_end(const uint16_t *codes, size_t count)
{
    uint16_t hits = 0;

    for (size_t i = 0; i < count; i++)
        hits |= (uint16_t)(codes[i] + 1) < 2;
    return hits != 0;
}

/* Sets bit c of ends[i] where the code is at or beyond either end. */
#define MARK(type, lowest, highest)                                                    \
    do {                                                                               \
        const type *from = (const type *)codes + c;                                    \
        for (int i = 0; i < count; i++) {                                              \
            const type code = from[(ptrdiff_t)i * channels];                           \
            if (code <= (lowest) || code >= (highest))                                 \
                ends[i] = (uint8_t)(ends[i] | 1U << c);                                \
        }                                                                              \
    } while (0)

static void
mark_ends(enum qs_sample sample, const void *codes, int count, int channels, int c,
          uint8_t *ends)
{
    switch (sample) {
    case QS_SAMPLE_U8:
        MARK(uint8_t, 0, UINT8_MAX);
        break;
    case QS_SAMPLE_U16:
        MARK(uint16_t, 0, UINT16_MAX);
        break;
    case QS_SAMPLE_U32:
        MARK(uint32_t, 0, UINT32_MAX);
        break;
    case QS_SAMPLE_F32:
        MARK(float, 0.0F, 1.0F);
        break;
    case QS_SAMPLE_F64:
        MARK(double, 0.0, 1.0);
        break;
    }
}

static bool
decode_ends(const struct qs_linear *linear, const void *codes, int count, uint8_t *ends)
{
    uint8_t hits = 0;

    memset(ends, 0, (size_t)count);
    if (linear->sample == QS_SAMPLE_U16 &&
        !any_end(codes, (size_t)count * (size_t)linear->channels))
        return false;
    for (int c = 0; c < linear->channels; c++)
        mark_ends(linear->sample, codes, count, linear->channels, c, ends);
    for (int i = 0; i < count; i++)
        hits |= ends[i];
    return hits != 0;
}

bool
qs_linear_decode(const struct qs_linear *linear, const void *codes, int count,
                 float *const out[3], uint8_t *ends)
{
    if (linear->by_code) {
        decode_by_code(linear, codes, count, out);
    } else if (is_separate(&linear->claim)) {
        decode_apart(linear, codes, count, out);
    } else {
        qs_linear_fractions(linear, codes, count, out);
        qs_profile_light_planes(linear->claim.profile, (const float *const *)out, count,
                                out);
    }
    return ends != NULL && decode_ends(linear, codes, count, ends);
}

QS_CLONES static void
weigh(const double weight[3], const float *r, const float *g, const float *b, int count,
      float *out)
{
    for (int i = 0; i < count; i++)
        out[i] = (float)(weight[0] * (double)r[i] + weight[1] * (double)g[i] +
                         weight[2] * (double)b[i]);
}

void
qs_linear_luminance(const struct qs_linear *linear, const float *r, const float *g,
                    const float *b, int count, float *out)
{
    assert(linear->channels == 3);
    weigh(linear->claim.encoding.weights.luminance, r, g, b, count, out);
}

int
qs_linear_channels(const struct qs_linear *linear)
{
    return linear->channels;
}

bool
qs_linear_is_separate(const struct qs_linear *linear)
{
    return is_separate(&linear->claim);
}

void
qs_linear_lights(const struct qs_linear *linear, int channel, int count, double *lights)
{
    const struct qs_claim *claim = &linear->claim;
    const double top = qs_claim_top_code(linear->sample);

    for (int i = 0; i < count; i++)
        lights[i] = light_of(claim, channel, fraction_of(claim, top * i / (count - 1)));
    /* a curve is monotone, but for the last bit of its arithmetic */
    for (int i = 1; i < count; i++)
        if (lights[i] < lights[i - 1])
            lights[i] = lights[i - 1];
}

static void
decode_quads_by_code(const struct qs_linear *linear, const uint16_t *codes, int count,
                     float *quads)
{
    const float *r = linear->light[0], *g = linear->light[1], *b = linear->light[2];

    if (linear->channels == 1) {
        for (int i = 0; i < count; i++, quads += 4) {
            quads[0] = r[codes[i]];
            quads[1] = quads[2] = quads[3] = 0.0f;
        }
        return;
    }
    for (int i = 0; i < count; i++, quads += 4, codes += 3) {
        quads[0] = r[codes[0]];
        quads[1] = g[codes[1]];
        quads[2] = b[codes[2]];
        quads[3] = 0.0f;
    }
}

/* By way of planes, a piece at a time. */
static void
decode_quads_by_planes(const struct qs_linear *linear, const unsigned char *codes,
                       size_t pixel_bytes, int count, float *quads)
{
    float plane[3][CHUNK_PX];
    float *const planes[3] = {plane[0], plane[1], plane[2]};

    memset(quads, 0, (size_t)count * 4 * sizeof *quads);
    for (int first = 0; first < count; first += CHUNK_PX) {
        const int part = chunk_length(first, count);

        qs_linear_decode(linear, codes + (size_t)first * pixel_bytes, part, planes,
                         NULL);
        for (int c = 0; c < linear->channels; c++)
            for (int i = 0; i < part; i++)
                quads[(ptrdiff_t)(first + i) * 4 + c] = plane[c][i];
    }
}

void
qs_linear_decode_quads(const struct qs_linear *linear, const void *codes, int count,
                       float *quads)
{
    if (linear->by_code && linear->sample == QS_SAMPLE_U16)
        decode_quads_by_code(linear, codes, count, quads);
    else
        decode_quads_by_planes(
            linear, codes, qs_sample_bytes(linear->sample) * (size_t)linear->channels,
            count, quads);
}
