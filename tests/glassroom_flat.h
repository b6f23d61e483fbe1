/* SPDX-License-Identifier: GPL-3.0-or-later */
/* glassroom_flat.h - the plainest frames of the simulator, for its tests */
#ifndef QS_TESTS_GLASSROOM_FLAT_H
#define QS_TESTS_GLASSROOM_FLAT_H

#include "recipe.h"

/* A flat frame of a grey sensor whose photosites differ in nothing. */
static inline struct gr_recipe
plain_flat(int side_px)
{
    struct gr_recipe r = gr_recipe_default();

    r.scene = &gr_scenes[2];
    r.response = &gr_responses[2];
    r.demosaic = &gr_demosaics[2];
    r.space = &gr_spaces[1];
    r.width = r.height = side_px;
    r.sensor.row_e = r.sensor.column_e = r.sensor.offset_e = r.sensor.prnu = 0.0;
    return r;
}

/* Takes all noise away. */
static inline void
silence(struct gr_sensor *s)
{
    s->shot_noise = false;
    s->read_e = s->row_e = s->column_e = s->offset_e = s->prnu = 0.0;
}

#endif
