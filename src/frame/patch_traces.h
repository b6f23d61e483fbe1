/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * patch_traces.h - what one patch shows of what was done to the file
 */
#ifndef QS_FRAME_PATCH_TRACES_H
#define QS_FRAME_PATCH_TRACES_H

#include <stdbool.h>

#include "base/channel.h"
#include "base/status.h"
#include "frame/patch_pixels.h"
#include "measure/shape.h"
#include "measure/traces_blocks.h"
#include "measure/traces_clip.h"
#include "measure/traces_dct.h"
#include "measure/traces_levels.h"
#include "measure/traces_power.h"
#include "measure/traces_sites.h"

struct qs_patch_traces {
    struct qs_sites sites; /* smoothed, or sharpened? */
    struct qs_lattice lattice;
    struct qs_dct_steps steps; /* where the lattice is that of 8 bits */
    struct qs_blocks blocks;   /* of luminance */
    struct qs_stripes rows;    /* likewise */
    struct qs_stripes columns; /* likewise */
    struct qs_texture texture; /* likewise */
    struct qs_pile pile[QS_CHANNELS];
};

/*
 * Looks at the patch inside `pixels`, whose noise in luminance has the shape `shape`.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_patch_traces_look(const struct qs_patch_pixels *pixels,
                     const struct qs_noise_shape *shape, struct qs_patch_traces *out,
                     struct qs_error *err);

/*
 * Whether it is a mosaic as the sensor has it: its four places differ in brightness by
 * more than a third of what pixels differ at one place; demosaicing leaves them alike.
 */
bool
qs_patch_is_mosaic(const struct qs_patch_traces *traces);

/*
 * Only whether the noise was filtered; of repeats, whose difference is noise alone,
 * their contrast serves as well as a frame.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_patch_sites_look(const struct qs_patch_pixels *pixels, struct qs_sites *out,
                    struct qs_error *err);

#endif
