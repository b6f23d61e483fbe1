/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * half_float.h - 16-bit floats (IEEE 754 binary16) to 32-bit ones
 *
 * Private to this folder.
 */
#ifndef QS_IMAGE_HALF_FLOAT_H
#define QS_IMAGE_HALF_FLOAT_H

#include <stdint.h>

/* Exact for all 65536 codes: subnormals, zeros of either sign, infinities and NaN. */
float
qs_half_to_float(uint16_t half);

#endif
