/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * workshop.h - the parts of the workshop, painted one over the other
 *
 * Places: x from the middle of the picture to the right, y from its top down,
 * both in picture heights; a 3:2 picture runs from -0.75 to 0.75 and from 0 to 1.
 * Every painter takes what it is painted over, and gives it back where it has
 * nothing to add.
 */
#ifndef GLASSROOM_WORKSHOP_H
#define GLASSROOM_WORKSHOP_H

#include "colour.h"

struct gr_place {
    double x;
    double y;
    double px; /* size of one pixel */
};

#define GR_FURNACE_X 0.47
#define GR_FURNACE_Y 0.36
#define GR_FURNACE_RADIUS 0.105
#define GR_BENCH_Y 0.74 /* where the wall ends and the bench begins */

/* Light that falls on a surface facing the camera at this place. */
struct gr_rgb
gr_workshop_light(struct gr_place at);

/* Wall, bricks, furnace, window and bench: all that stands behind the things. */
struct gr_rgb
gr_paint_room(struct gr_place at);

/* Bottles on their shelf. */
struct gr_rgb
gr_paint_shelf(struct gr_place at, struct gr_rgb under);

/* The canvas apron on its hook. */
struct gr_rgb
gr_paint_apron(struct gr_place at, struct gr_rgb under);

/* The blowpipe on its forks, the hot glass at its end. */
struct gr_rgb
gr_paint_pipe(struct gr_place at, struct gr_rgb under);

/* The knitted mitten on the bench. */
struct gr_rgb
gr_paint_mitten(struct gr_place at, struct gr_rgb under);

/* The vase on the bench, before all else. */
struct gr_rgb
gr_paint_vase(struct gr_place at, struct gr_rgb under);

#endif
