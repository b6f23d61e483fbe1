/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_sites.h - was the noise filtered after demosaicing?
 *
 * A sensor's noise is independent from pixel to pixel.  Demosaicing keeps what each
 * photosite measured and works out the colours in between.  So a frame that was
 * demosaiced and no more can be sampled back into its mosaic, by undoing the colour
 * matrix, and shows independent noise there; one that was smoothed or sharpened
 * cannot, by any matrix.  A frame without a mosaic must show independent noise
 * everywhere.  Nothing is compared with a stored list of converters.
 *
 * Units: none; correlations and sums of them.
 * Threads: depends on the arguments alone.
 * Method: docs/method/traces.md, equations T5 to T12.
 */
#ifndef QS_MEASURE_TRACES_SITES_H
#define QS_MEASURE_TRACES_SITES_H

#include <stdbool.h>

#include "measure/traces_cross.h"

/* Correlations that ought to be zero, and how far they are from it. */
struct qs_site_misfit {
    double excess; /* sum over lags of correlation^2, what chance gives taken off */
    double unsure; /* sd of `excess` by chance */
    double near;   /* sum of the correlations at lags up to 2.3 px, both signs of lag */
    double near_sd; /* by chance */
};

/* What one patch says. */
struct qs_sites {
    bool known;  /* false: no noise, or nothing to go by; ignore the rest */
    int colours; /* independent ones: 3, or 1 for grey */
    double pixels;
    double mosaic;    /* strength of what repeats every 2 pixels: mean square
                         of its share, what chance gives taken off */
    double mosaic_sd; /* by chance */
    struct qs_site_misfit as_mosaic[QS_MOSAIC]; /* by which place is red; 3 colours */
    struct qs_site_misfit as_plain;             /* as a frame without a mosaic */
    double smoothest; /* correlation at 2 px of the smoothest mixture of colours */
    double blotch;    /* see struct qs_cross */
    double blotch_second, blotch_least, slow, places; /* likewise */
    bool thirds;
};

/* Looks at one patch's covariances. */
void
qs_sites_look(const struct qs_cross *cross, struct qs_sites *out);

enum qs_filtering {
    QS_FILTERED_UNKNOWN, /* nothing to go by, or another kind of mosaic */
    QS_FILTERED_NOT,
    QS_FILTERED_SMOOTH, /* noise reduction, or resampling */
    QS_FILTERED_SHARP
};

struct qs_sites_answer {
    enum qs_filtering filtering;
    bool mosaic;         /* demosaiced noise was seen */
    double misfit;       /* root of the mean excess */
    double misfit_limit; /* what a plain frame stays below */
    double near;         /* below zero after sharpening */
    double smoothest;
    double smoothest_limit;
};

/* What `count` patches of one frame say together. */
void
qs_sites_judge(const struct qs_sites *sites, int count, struct qs_sites_answer *out);

#endif
