/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/half_float.h"

#include <string.h>

enum {
    MANTISSA_BITS = 10,
    MANTISSA_WIDENING = 23 - MANTISSA_BITS, /* binary32 has 23 */
    EXPONENT_MASK = 0x1f,
    BIAS_WIDENING = 127 - 15
};

float
qs_half_to_float(uint16_t half)
{
    uint32_t sign = (uint32_t)(half & 0x8000U) << 16;
    uint32_t exponent = ((uint32_t)half >> MANTISSA_BITS) & EXPONENT_MASK;
    uint32_t mantissa = half & 0x3ffU;
    uint32_t bits;
    float value;

    if (exponent == 0) { /* zero or subnormal: a multiple of 2^-24 */
        value = (float)mantissa * 0x1p-24F;
        return sign != 0 ? -value : value;
    }
    exponent = exponent == EXPONENT_MASK ? 0xffU : exponent + BIAS_WIDENING;
    bits = sign | exponent << 23 | mantissa << MANTISSA_WIDENING;
    memcpy(&value, &bits, sizeof value);
    return value;
}
