/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_levels.h - how fine are the steps a file is really made of?
 *
 * An 8-bit picture stored in 16 bits keeps its coarse steps, also through a curve, and
 * hidden in a lattice of colours after a change of profile.  Two ways to see it: how
 * often two pixels of a flat patch are equal, which tells the volume of one cell of
 * the lattice; and which codes occur in the frame at all.
 *
 * Threads: depends on the arguments alone; a struct qs_codes has one owner.
 * Method: docs/method/traces.md, equations T13 to T16.
 */
#ifndef QS_MEASURE_TRACES_LEVELS_H
#define QS_MEASURE_TRACES_LEVELS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/plane.h"
#include "base/status.h"

/*
 * Side of one cell of the lattice that the pixels of a flat patch sit on, the
 * geometric mean over the channels, as a share of the sRGB curve's range: 1 / 255 for
 * 8-bit sRGB.  Smaller than the truth where the noise is less than a step.
 */
struct qs_lattice {
    bool known; /* false: too few equal pixels, or too dark to tell */
    double step;
};

/*
 * Looks at planes[0 .. channels - 1] of one patch, linear light, all of one size.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_lattice_look(const struct qs_plane *planes, int channels, struct qs_lattice *out,
                struct qs_error *err);

/* Above this a lattice is called 8-bit; 9 bits give 1 / 511, 10 bits 1 / 1023. */
extern const double qs_lattice_coarse;

enum {
    QS_CODES = 65536
};

/* Which 16-bit codes occur, channel by channel. */
struct qs_codes {
    uint8_t *seen[3]; /* [QS_CODES], as many as there are channels */
    int channels;
    size_t unlooked; /* pixels added since what they settle was last looked at */
    bool are_fine;   /* settled: not of 8-bit data, whatever else is added */
};

/*
 *   QS_OK           clear with qs_codes_clear
 *   QS_ERR_MEMORY   *codes is empty
 */
QS_MUST_CHECK enum qs_status
qs_codes_init(struct qs_codes *codes, int channels, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_codes_clear(struct qs_codes *codes);

/*
 * Adds `pixels` pixels of interleaved samples.  Once the codes can't be those of 8-bit
 * data any more, which a few rows of an ordinary frame settle, further ones are not
 * looked at.
 */
void
qs_codes_add(struct qs_codes *codes, const uint16_t *samples, size_t pixels);

/*
 * Whether the codes are those of 8-bit data.  light[c][code] is the linear light of
 * that code in channel c.
 */
bool
qs_codes_are_eight_bit(const struct qs_codes *codes, const float *const light[3]);

#endif
