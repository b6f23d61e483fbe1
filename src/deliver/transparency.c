/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/transparency.h"

#include <math.h>
#include <string.h>

enum {
    CHUNK_PX = 256,
    SAMPLES_MOST = 4
};

/* Below half a code of 16 bits: written as 0. */
static const float LEAST_ALPHA = 0.5f / 65535.0f;

static float
fraction(enum qs_sample sample, const unsigned char *at)
{
    union {
        uint8_t u8;
        uint16_t u16;
        uint32_t u32;
        float f32;
        double f64;
    } code;

    memcpy(&code, at, qs_sample_bytes(sample));
    switch (sample) {
    case QS_SAMPLE_U8:
        return (float)code.u8 / 255.0f;
    case QS_SAMPLE_U16:
        return (float)code.u16 / 65535.0f;
    case QS_SAMPLE_U32:
        return (float)((double)code.u32 / 4294967295.0);
    case QS_SAMPLE_F32:
        return code.f32;
    case QS_SAMPLE_F64:
        return (float)code.f64;
    }
    return 0.0f;
}

/* Colours stand together, and alpha apart. */
struct parted {
    double
        colours[CHUNK_PX * SAMPLES_MOST]; /* wide and aligned enough for any sample */
    float alpha[CHUNK_PX];
};

static void
part(enum qs_sample sample, int channels, const unsigned char *codes, int count,
     struct parted *out)
{
    const size_t bytes = qs_sample_bytes(sample), colour = bytes * (size_t)channels;
    unsigned char *to = (unsigned char *)out->colours;

    for (int i = 0; i < count; i++, codes += colour + bytes, to += colour) {
        memcpy(to, codes, colour);
        out->alpha[i] = fraction(sample, codes + colour);
    }
}

/* Colours that were multiplied by alpha as codes. */
static void
decode_multiplied(const struct qs_linear *linear, const struct parted *parted,
                  int count, float *quads)
{
    float plane[3][CHUNK_PX];
    float *const planes[3] = {plane[0], plane[1], plane[2]};
    const float *const given[3] = {plane[0], plane[1], plane[2]};
    const int channels = qs_linear_channels(linear);

    qs_linear_fractions(linear, parted->colours, count, planes);
    for (int c = 0; c < channels; c++)
        for (int i = 0; i < count; i++)
            plane[c][i] =
                parted->alpha[i] >= LEAST_ALPHA ? plane[c][i] / parted->alpha[i] : 0.0f;
    qs_linear_from_fractions(linear, given, count, planes);
    for (int i = 0; i < count; i++)
        for (int c = 0; c < QS_QUAD - 1; c++)
            quads[QS_QUAD * i + c] = c < channels ? plane[c][i] : 0.0f;
}

static void
multiply(enum qs_alpha alpha, const float *by, float *quads, int count)
{
    for (int i = 0; i < count; i++, quads += QS_QUAD) {
        const float share = alpha == QS_ALPHA_MASK ? 1.0f : by[i];

        for (int c = 0; c < QS_QUAD - 1; c++)
            quads[c] *= share;
        quads[QS_QUAD - 1] = by[i];
    }
}

void
qs_alpha_decode(const struct qs_linear *linear, enum qs_sample sample,
                enum qs_alpha alpha, const void *codes, int count, float *quads)
{
    const int channels = qs_linear_channels(linear);
    const size_t pixel_bytes = qs_sample_bytes(sample) * (size_t)(channels + 1);
    struct parted parted;

    for (int first = 0; first < count; first += CHUNK_PX) {
        const int some = count - first < CHUNK_PX ? count - first : CHUNK_PX;
        float *own = quads + (ptrdiff_t)QS_QUAD * first;

        part(sample, channels,
             (const unsigned char *)codes + (size_t)first * pixel_bytes, some, &parted);
        if (alpha == QS_ALPHA_MULTIPLIED)
            decode_multiplied(linear, &parted, some, own);
        else
            qs_linear_decode_quads(linear, parted.colours, some, own);
        multiply(alpha, parted.alpha, own, some);
    }
}

void
qs_alpha_divide(enum qs_alpha alpha, int samples, float *pixels, int count)
{
    const int colours = samples - 1;

    if (alpha == QS_ALPHA_MASK)
        return;
    for (int i = 0; i < count; i++, pixels += samples) {
        const float share = pixels[colours];
        const float times = share >= LEAST_ALPHA ? 1.0f / share : 0.0f;

        for (int c = 0; c < colours; c++)
            pixels[c] *= times;
    }
}

void
qs_alpha_encode(enum qs_alpha alpha, int samples, const float *light, float *codes,
                int count)
{
    const int colours = samples - 1;

    for (int i = 0; i < count; i++, light += samples, codes += samples) {
        const float share = fminf(fmaxf(light[colours], 0.0f), 1.0f);

        for (int c = 0; alpha == QS_ALPHA_MULTIPLIED && c < colours; c++)
            codes[c] *= share;
        codes[colours] = 65535.0f * share;
    }
}
