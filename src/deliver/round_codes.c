/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/round_codes.h"

/* 65535 / 255: codes of 16 bits in one of 8. */
#define CODES_16_IN_8 257.0f

/* Alpha is the fourth of a quad, also where grey stands before it. */
static int
place_of(int samples, int sample)
{
    return samples == 2 && sample == 1 ? 3 : sample;
}

void
qs_round_16(const float *quads, int count, int samples, uint16_t *out)
{
    if (samples == 3) { /* a loop of its own, which the compiler turns into moves */
        for (int i = 0; i < count; i++, quads += 4, out += 3) {
            out[0] = (uint16_t)(quads[0] + 0.5f);
            out[1] = (uint16_t)(quads[1] + 0.5f);
            out[2] = (uint16_t)(quads[2] + 0.5f);
        }
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
