/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace_picture.h - one simulated patch, and what can be done to it
 */
#ifndef TRACE_PICTURE_H
#define TRACE_PICTURE_H

#include <stddef.h>

#include "base/random.h"
#include "trace_sim.h"

struct ts_picture {
    float *px[3]; /* linear light; px[0] alone for grey */
    float *room;  /* of the same size */
    int channels;
    int width;
    int height;
};

bool
ts_picture_init(struct ts_picture *p, int channels, int width, int height);

void
ts_picture_clear(struct ts_picture *p);

/* Noise of variance 1 at green photosites, demosaiced, in the output's colours. */
void
ts_picture_noise(struct ts_picture *p, const struct ts_base *base,
                 struct qs_random *random);

static inline size_t
ts_pixels(const struct ts_picture *p)
{
    return (size_t)p->width * (size_t)p->height;
}

/* sRGB both ways (IEC 61966-2-1). */
double
ts_encode(double light);

double
ts_decode(double code);

/* Does the deed numbered in ts_deeds to light p; `noise_sd` is that of green. */
void
ts_spoil(struct ts_picture *p, int deed, double strength, double noise_sd,
         struct qs_random *random);

/* Baseline JPEG's loss and no more: 8 x 8 cosine transforms, rounded (ITU T.81). */
void
ts_jpeg(struct ts_picture *p, int quality);

#endif
