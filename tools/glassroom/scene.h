/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * scene.h - what stands before the camera
 *
 * A scene answers one question: which colour does the light have that reaches
 * this pixel?  Scenes are drawn by formulas, so any size can be had.
 *
 * Threads: pure functions.
 */
#ifndef GLASSROOM_SCENE_H
#define GLASSROOM_SCENE_H

#include "colour.h"

/* How a scene is framed. */
struct gr_view {
    int width;  /* pixels */
    int height; /* pixels */
};

struct gr_scene {
    const char *name;
    const char *what;
    /* Colour at the pixel whose centre is (x + 0.5, y + 0.5). */
    struct gr_rgb (*shade)(const struct gr_view *view, int x, int y);
};

/* The scenes, ending with a row whose name is NULL. */
extern const struct gr_scene gr_scenes[];

/* The wedge: GR_WEDGE_STEPS greys, half a stop apart, the darkest first. */
enum {
    GR_WEDGE_COLUMNS = 7,
    GR_WEDGE_ROWS = 2,
    GR_WEDGE_STEPS = GR_WEDGE_COLUMNS * GR_WEDGE_ROWS
};
#define GR_WEDGE_FIRST_STOPS (-5.0)
#define GR_WEDGE_STEP_STOPS 0.5
#define GR_MID_GREY 0.18

/* Stops from mid grey of the wedge's step, counted row by row from the top left. */
double
gr_wedge_stops(int step);

/* The glass-blowing workshop at dusk, for the table of scenes. */
struct gr_rgb
gr_workshop_shade(const struct gr_view *view, int x, int y);

#endif
