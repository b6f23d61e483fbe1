/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * round_codes.h - codes made whole numbers
 *
 * Units: `values` codes on a scale of 0 to 65535 (linear/encode.h).
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_DELIVER_ROUND_CODES_H
#define QS_DELIVER_ROUND_CODES_H

#include <stdint.h>

/* To the nearest of 65536 codes. */
void
qs_round_16(const float *codes, int values, uint16_t *out);

/*
 * To 256 codes, up or down by chance so that the mean is kept: a code of 12.3 becomes
 * 13 in three of ten cases.  The chance is a hash of the place, row y and which value
 * of it: no two neighbours hang together, and the same picture gives the same codes.
 */
void
qs_round_8(const float *codes, int values, int y, uint8_t *out);

#endif
