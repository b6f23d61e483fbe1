/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * picture.h - a frame held whole, as linear light
 *
 * Units: 1.0 = the light that just fills a green (or grey) photosite.  Noise
 * takes values below 0.0 and above 1.0; nothing is cut before a file is written.
 */
#ifndef GLASSROOM_PICTURE_H
#define GLASSROOM_PICTURE_H

#include <stddef.h>

struct gr_picture {
    float *px; /* width x height x channels, interleaved; freed by qs_free */
    int width;
    int height;
    int channels; /* 1 grey, 3 in the primaries of the output space */
};

static inline float *
gr_picture_row(const struct gr_picture *picture, int y)
{
    return picture->px + (size_t)y * (size_t)picture->width * (size_t)picture->channels;
}

#endif
