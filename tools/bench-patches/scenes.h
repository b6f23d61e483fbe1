/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * scenes.h - clean pictures of the kinds people point the finder at
 *
 * Each scene is drawn afresh from the random numbers it is given.  Scenes with
 * known regions label every pixel, so that a patch across an edge is seen.
 */
#ifndef BENCH_SCENES_H
#define BENCH_SCENES_H

#include "sim.h"

struct scene {
    const char *name;
    struct picture (*draw)(int width, int height, struct qs_random *random);
    bool is_texture; /* nothing in it is flat: a patch found is a mistake */
};

extern const struct scene scene_table[];
extern const int scene_count;

#endif
