/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * recipe.h - everything that decides how a frame looks
 *
 * The same recipe gives the same frame, to the bit, for any number of threads.
 */
#ifndef GLASSROOM_RECIPE_H
#define GLASSROOM_RECIPE_H

#include <stdint.h>

#include "base/status.h"
#include "demosaic.h"
#include "output_space.h"
#include "scene.h"
#include "sensor_model.h"

/* What a converter may do to the noise after the colours are made; 0 = not done. */
struct gr_retouch {
    double smooth_luma_px;   /* sd of a Gaussian over luminance */
    double smooth_chroma_px; /* sd of a Gaussian over colour less luminance */
    double sharpen;          /* share of the detail that is added once more */
    double sharpen_px;       /* sd of the Gaussian that finds the detail, > 0 */
    double blotch;           /* sd of soft blotches, a share of the signal */
    double blotch_px;        /* sd of the Gaussian that makes them, > 0 */
};

enum gr_depth {
    GR_DEPTH_8,
    GR_DEPTH_16,
    GR_DEPTH_32F
};

enum gr_compression {
    GR_COMPRESS_NONE,
    GR_COMPRESS_LZW,
    GR_COMPRESS_DEFLATE
};

struct gr_recipe {
    const struct gr_scene *scene;
    const struct gr_response *response;
    const struct gr_demosaic *demosaic;
    const struct gr_space *space;
    struct gr_sensor sensor;
    struct gr_retouch retouch;
    int width;         /* pixels, GR_SIDE_MIN_PX to GR_SIDE_MAX_PX */
    int height;        /* pixels, likewise */
    double tone_stops; /* brighter (+) or darker (-) light on the scene */
    uint64_t seed;     /* of what is new in every frame */
    enum gr_depth depth;
    enum gr_compression compression; /* of TIFF */
    int pedestal_code;               /* code of no light; linear curve, 8 and 16 bit */
    double exposure_s;               /* said in EXIF only */
    double f_number;                 /* said in EXIF only */
    double bias_stops;               /* said in EXIF only */
    int orientation;                 /* 1 to 8, said in the file only */
};

enum {
    GR_SIDE_MIN_PX = 16,
    GR_SIDE_MAX_PX = 20000
};

/* The wedge at ISO 3200, 6000 x 4000, gradient-corrected, sRGB, 16 bit. */
struct gr_recipe
gr_recipe_default(void);

/* Sets the camera to this ISO, and the shutter time that goes with it. */
void
gr_recipe_set_iso(struct gr_recipe *recipe, double iso);

/*
 * Whether a frame can be made of it.
 *
 *   QS_OK
 *   QS_ERR_USAGE  a value outside its range, or two that exclude each other
 */
QS_MUST_CHECK enum qs_status
gr_recipe_check(const struct gr_recipe *recipe, struct qs_error *err);

#endif
