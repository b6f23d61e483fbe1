/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * primaries.h - the RGB spaces with published primaries, and what follows
 *
 * Answers: how much does each primary of a space give to luminance, and which
 * published space do the colorants of a profile belong to?
 *
 * Units: chromaticities are CIE 1931 x and y; XYZ has Y = 1 at the space's
 * own white.
 * Threads: the table is constant; results depend on the arguments alone.
 * Method: docs/method/linear.md, L4 to L7.
 */
#ifndef QS_LINEAR_PRIMARIES_H
#define QS_LINEAR_PRIMARIES_H

#include <stdbool.h>

#include "linear/matrix3.h"

/* Rows of the table. */
enum qs_space {
    QS_SPACE_BT709, /* sRGB has the same primaries */
    QS_SPACE_P3_D65,
    QS_SPACE_P3_DCI,
    QS_SPACE_BT2020,
    QS_SPACE_ADOBE1998,
    QS_SPACE_ROMM,
    QS_SPACE_BT470M,
    QS_SPACE_BT470BG,
    QS_SPACE_SMPTE170M,
    QS_SPACE_FILM,
    QS_SPACE_EBU3213,
    QS_SPACES
};

/* White, red, green and blue, each x and y: the order of PNG's cHRM. */
struct qs_primaries {
    double xy[4][2];
};

const struct qs_primaries *
qs_space_primaries(enum qs_space space);

/* The primaries with that code in ITU-T H.273 table 2, or NULL. */
const struct qs_primaries *
qs_primaries_h273(int code);

/*
 * RGB to XYZ under the space's own white.  False where the chromaticities do not
 * make a space: a y that is not above 0 for white, or primaries on one line.
 */
bool
qs_primaries_to_xyz(const struct qs_primaries *primaries, struct qs_matrix3 *out);

/* RGB to XYZ, Bradford-adapted to the D50 of ICC profiles; false as above. */
bool
qs_primaries_to_d50(const struct qs_primaries *primaries, struct qs_matrix3 *out);

/*
 * What r, g and b give to luminance and to the two colour differences, relative to the
 * white they add up to: Y/Yn sums to 1, X/Xn - Y/Yn and Y/Yn - Z/Zn to 0.
 */
struct qs_colour_weights {
    double luminance[3];
    double red_green[3];
    double yellow_blue[3];
};

/* From RGB to XYZ.  False where a row's sum, the white, is not above 0. */
bool
qs_colour_weights_of(const struct qs_matrix3 *to_xyz, struct qs_colour_weights *out);

/* The weights under the space's own white; false as for qs_primaries_to_xyz. */
bool
qs_primaries_weights(const struct qs_primaries *primaries,
                     struct qs_colour_weights *out);

/*
 * The space of the table whose D50-adapted colorants come nearest to the columns
 * of `colorants`, if none of the nine differs by more than QS_MATCH_XYZ; else
 * NULL.
 */
const struct qs_primaries *
qs_primaries_match(const struct qs_matrix3 *colorants);

/* The widest slip seen between profiles of one space is 0.001 (old D50 roundings). */
#define QS_MATCH_XYZ 0.002

/* The white of ICC profiles, XYZ: the PCS illuminant of ICC.1. */
extern const double qs_d50_xyz[3];

/*
 * The linear Bradford transform that turns colours seen under white `from`
 * into those under white `to`.  Both whites must have a positive Y and
 * positive cone responses, else false.
 */
bool
qs_bradford(const double from[3], const double to[3], struct qs_matrix3 *out);

#endif
