/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * demosaic.h - from one colour per photosite to three
 *
 * The mosaic is R G / G B from the top left.  Beyond the borders it is mirrored
 * about the outermost photosites, which keeps the colours in step.
 *
 * Method: README.md, equations G9 and G10.
 */
#ifndef GLASSROOM_DEMOSAIC_H
#define GLASSROOM_DEMOSAIC_H

#include <stdint.h>

/* Codes as the converter got them, and how they become white-balanced light. */
struct gr_mosaic {
    const uint16_t *dn; /* width x height */
    int width;
    int height;
    float black_dn;
    float per_dn[4]; /* light per code at (even, even), (odd, even), (even, odd), (odd,
                        odd) */
};

struct gr_demosaic {
    const char *name;
    const char *what;
    int channels; /* 1: the photosites have no colour filters */
    /* Fills one row of `channels` x width values. */
    void (*row)(const struct gr_mosaic *mosaic, int y, float *out);
};

/* The kinds of demosaicing, ending with a row whose name is NULL. */
extern const struct gr_demosaic gr_demosaics[];

/* Camera channel (0 red, 1 green, 2 blue) of a photosite. */
static inline int
gr_mosaic_channel(int x, int y)
{
    return (x & 1) + (y & 1);
}

#endif
