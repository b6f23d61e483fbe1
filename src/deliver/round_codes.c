/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/round_codes.h"

#include "base/processor.h"

/* 65535 / 255: codes of 16 bits in one of 8. */
#define CODES_16_IN_8 257.0f

QS_CLONES_AVX2 static void
round_all(const float *codes, int values, uint16_t *out)
{
    for (int i = 0; i < values; i++)
        out[i] =
            (uint16_t)(int32_t)(codes[i] + 0.5f); /* by way of an int, vectors do it */
}

void
qs_round_16(const float *codes, int values, uint16_t *out)
{
    round_all(codes, values, out);
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
qs_round_8(const float *codes, int values, int y, uint8_t *out)
{
    for (int i = 0; i < values; i++) {
        float code = codes[i] / CODES_16_IN_8 + chance((uint64_t)y << 34 | (uint64_t)i);

        out[i] = code >= 255.0f ? 255 : (uint8_t)code;
    }
}
