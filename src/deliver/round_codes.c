/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/round_codes.h"

#include <stddef.h>
#include <string.h>

#include "base/processor.h"

/* 65535 / 255: codes of 16 bits in one of 8. */
#define CODES_16_IN_8 257.0f

/* Alpha is the fourth of a quad, also where grey stands before it. */
static int
place_of(int samples, int sample)
{
    return samples == 2 && sample == 1 ? 3 : sample;
}

/* Four codes as one value, where the compiler knows such. */
#if defined(__has_builtin)
#if __has_builtin(__builtin_convertvector)
#define QS_HAVE_FOUR_CODES
#endif
#endif

#ifdef QS_HAVE_FOUR_CODES
typedef float four_floats __attribute__((vector_size(16), aligned(4), may_alias));
typedef int32_t four_ints __attribute__((vector_size(16)));
typedef uint16_t four_codes __attribute__((vector_size(8)));

static inline void
round_four(const float *quad, uint16_t out[4])
{
    const four_floats exact = *(const four_floats *)(const void *)quad + 0.5f;
    const four_codes codes =
        __builtin_convertvector(__builtin_convertvector(exact, four_ints), four_codes);

    memcpy(out, &codes, sizeof codes);
}
#else
static inline void
round_four(const float *quad, uint16_t out[4])
{
    for (int c = 0; c < 3; c++)
        out[c] = (uint16_t)(quad[c] + 0.5f);
}
#endif

/* The fourth code of a pixel is written over by the next one. */
QS_FOR_EACH_PROCESSOR static void
round_rgb(const float *quads, int count, uint16_t *out)
{
    for (int i = 0; i < count - 1; i++)
        round_four(quads + (ptrdiff_t)4 * i, out + (ptrdiff_t)3 * i);
    for (int c = 0; c < 3; c++)
        out[3 * (count - 1) + c] = (uint16_t)(quads[4 * (count - 1) + c] + 0.5f);
}

void
qs_round_16(const float *quads, int count, int samples, uint16_t *out)
{
    if (samples == 3) {
        round_rgb(quads, count, out);
        return;
    }
    for (int i = 0; i < count; i++, quads += 4, out += samples)
        for (int c = 0; c < samples; c++)
            out[c] = (uint16_t)(quads[place_of(samples, c)] + 0.5f);
}

/* A number from 0 to 1, 1 left out, that a place is given: Steele's mix of 64 bits
   (2014, from memory). */
static float
chance(uint64_t place)
{
    place += 0x9E3779B97F4A7C15u;
    place = (place ^ place >> 30) * 0xBF58476D1CE4E5B9u;
    place = (place ^ place >> 27) * 0x94D049BB133111EBu;
    place ^= place >> 31;
    return (float)(place >> 40) * 0x1p-24f;
}

void
qs_round_8(const float *quads, int count, int samples, int y, uint8_t *out)
{
    for (int i = 0; i < count; i++, quads += 4, out += samples)
        for (int c = 0; c < samples; c++) {
            uint64_t place = (uint64_t)y << 34 | (uint64_t)i << 2 | (uint64_t)c;
            float code = quads[place_of(samples, c)] / CODES_16_IN_8 + chance(place);

            out[c] = code >= 255.0f ? 255 : (uint8_t)code;
        }
}
