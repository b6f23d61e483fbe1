/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_power.h - what a patch's power spectrum says beyond its noise
 *
 * Stripes: power of whole rows or columns against that of the waves next to them,
 * with the period where one stands out.  Texture: power that leans to one direction,
 * stands out at one wave, or rises towards the lowest frequencies more than any
 * demosaicing makes it.  Every test knows what chance does: power at one frequency
 * is exponentially distributed, and the frequencies looked at are counted.
 *
 * Threads: depends on the arguments alone.
 * Method: docs/method/traces.md, equations T24 to T30.
 */
#ifndef QS_MEASURE_TRACES_POWER_H
#define QS_MEASURE_TRACES_POWER_H

#include <stdbool.h>

#include "measure/shape.h"

/* Stripes of one direction in one patch. */
struct qs_stripes {
    double bins;       /* frequencies compared; 0: the patch is too small */
    double excess;     /* mean of power over that of its neighbours, less 1 */
    double period_px;  /* of the wave that stands out most; 0 = none does */
    double wave_share; /* sd of that wave / sd of the noise */
};

/* From the power of a patch; rows: stripes that run along rows. */
void
qs_stripes_look(const struct qs_noise_shape *shape, bool rows, struct qs_stripes *out);

/*
 * Sd beyond chance that patches together have.  Stripes of a sensor are in every patch,
 * lines of the scene in some: of four patches and more, one and an eighth of them are
 * left out, those with the most.
 * Changes the order of stripes[0 .. count - 1].
 */
double
qs_stripes_sure(struct qs_stripes *stripes, int count);

enum qs_texture_kind {
    QS_TEXTURE_NONE,
    QS_TEXTURE_DIRECTION, /* one direction is rougher than its mirror image */
    QS_TEXTURE_PATTERN,   /* one wave stands out: weave, screen, moire */
    QS_TEXTURE_SOFT       /* blotches, dirt, uneven light */
};

struct qs_texture {
    enum qs_texture_kind kind;
    double strength; /* ratio of powers, > 1 */
};

/* `patches` is how many are looked at in the frame: more patches, more chance. */
void
qs_texture_look(const struct qs_noise_shape *shape, int patches,
                struct qs_texture *out);

#endif
