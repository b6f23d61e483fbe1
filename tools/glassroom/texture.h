/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * texture.h - seeded textures and soft shapes to draw a scene with
 *
 * Units: places in scene units, in which the picture is 1 high; textures take
 * places already scaled, one lattice cell per unit.
 * Threads: pure functions.
 */
#ifndef GLASSROOM_TEXTURE_H
#define GLASSROOM_TEXTURE_H

#include <stdint.h>

/* An even number in [0, 1) that belongs to a lattice point. */
double
gr_lattice(int64_t x, int64_t y, uint32_t seed);

/* Smooth noise over the lattice, in [-1, 1]. */
double
gr_cloud(double x, double y, uint32_t seed);

/* `octaves` of gr_cloud, each twice as fine and half as strong; within [-2, 2]. */
double
gr_grain(double x, double y, int octaves, uint32_t seed);

/* 0 at `from` and before, 1 at `to` and beyond, smooth between; falls where from > to.
 */
double
gr_ramp(double from, double to, double x);

/* How much of a pixel `px` wide lies inside an edge `outside` away (negative: inside).
 */
double
gr_cover(double outside, double px);

/* Distance from a box with rounded corners, negative inside. */
double
gr_box_distance(double x, double y, double half_width, double half_height,
                double corner);

/* Distance from the line between two points. */
double
gr_line_distance(double x, double y, double x0, double y0, double x1, double y1);

#endif
