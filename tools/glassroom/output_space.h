/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * output_space.h - the colour space and the tone curve of the file
 *
 * Sources: IEC 61966-2-1 (sRGB) and ISO 22028-2 (ROMM) curves, from memory,
 * checked against 0.18 -> 0.4613561 and 0.18 -> 0.3857114.
 */
#ifndef GLASSROOM_OUTPUT_SPACE_H
#define GLASSROOM_OUTPUT_SPACE_H

#include <stdbool.h>

#include "colour.h"

struct gr_space {
    const char *name;
    const char *what;
    bool is_linear;
    double white[2];        /* CIE x, y */
    double primaries[3][2]; /* CIE x, y of red, green, blue */
    /* Light = (a V + b)^power above `break_code`, V / slope below it. */
    double power;
    double a;
    double b;
    double slope;      /* of V over light at the dark end */
    double break_code; /* V where the straight part ends */
};

/* The spaces, ending with a row whose name is NULL. */
extern const struct gr_space gr_spaces[];

/* Light 0 to 1 to code value 0 to 1. */
double
gr_space_encode(const struct gr_space *space, double light);

/* BT.709 scene colours to this space, white to white (Bradford where they differ). */
struct gr_matrix
gr_space_from_scene(const struct gr_space *space);

#endif
