/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plane.h - a rectangle of places, and a plane of values seen through a pointer
 *
 * Units: places and sizes in pixels, x to the right, y down, from the top left
 * of the stored picture.  Values are linear light, 1.0 = the file's white,
 * unless the call that takes a plane says otherwise.
 * Memory: a plane is a view; it owns nothing.
 */
#ifndef QS_BASE_PLANE_H
#define QS_BASE_PLANE_H

#include <stdbool.h>
#include <stddef.h>

struct qs_box {
    int x;
    int y;
    int width;
    int height;
};

struct qs_plane {
    float *px;        /* value of the top left pixel */
    int width;        /* > 0 */
    int height;       /* > 0 */
    ptrdiff_t stride; /* values from one row to the next, >= width */
};

static inline float *
qs_plane_row(const struct qs_plane *plane, int y)
{
    return plane->px + (ptrdiff_t)y * plane->stride;
}

/* The part of `plane` inside `box`, which must lie within it. */
static inline struct qs_plane
qs_plane_part(const struct qs_plane *plane, struct qs_box box)
{
    struct qs_plane part = {qs_plane_row(plane, box.y) + box.x, box.width, box.height,
                            plane->stride};
    return part;
}

/* Whether `inner` is not empty and lies wholly within `outer`. */
static inline bool
qs_box_within(struct qs_box inner, struct qs_box outer)
{
    return inner.width > 0 && inner.height > 0 && inner.x >= outer.x &&
           inner.y >= outer.y && inner.width <= outer.width &&
           inner.height <= outer.height &&
           inner.x - outer.x <= outer.width - inner.width &&
           inner.y - outer.y <= outer.height - inner.height;
}

/* Whether two boxes share a pixel. */
static inline bool
qs_box_overlap(struct qs_box a, struct qs_box b)
{
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height &&
           b.y < a.y + a.height;
}

#endif
