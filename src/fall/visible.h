/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * visible.h - how much of a patch's noise the eye sees in the delivered picture
 *
 * Noise after the filter and the delivery grid, in the units of CIELAB about the grey
 * of the patch, less what is too fine or too coarse for the eye at that distance.  What
 * the grid folds is seen at the frequency it is folded to.  CIELAB is taken as straight
 * about the grey: 3 % too little where the delivered noise is a fifth of the tone.
 * The filter's mean response is used: where the reduction is no whole number that is
 * up to 1 % off, for `area` at 2.5 4 % too much.
 *
 * Units: lightness L* and the colour differences a* and b*, standard deviations.
 * Pixels per degree (Q15) are those of the delivered picture as it is looked at.
 * Threads: results depend on the arguments alone.
 * Memory: nothing is allocated; the caller owns every struct.
 * Method: docs/method/visible.md, equations Q8 to Q16.
 */
#ifndef QS_FALL_VISIBLE_H
#define QS_FALL_VISIBLE_H

#include <stdbool.h>

#include "base/status.h"
#include "fall/contrast.h"
#include "measure/noise_spectrum.h"
#include "resample/axis_gain.h"

enum {
    QS_ONLOOKER_KNOTS = 32 /* frequencies along an axis at which the eye is asked */
};

/* An eye at a distance, asked once for all pictures it looks at. */
struct qs_onlooker {
    double pixels_per_degree;
    double seen[QS_OPPONENTS][QS_ONLOOKER_KNOTS][QS_ONLOOKER_KNOTS]; /* of power, Q11 */
};

/* Fills *out for pixels_per_degree above 0, finite; `scene` NULL: qs_eye_usual. */
void
qs_onlooker_fill(double pixels_per_degree, enum qs_eye eye,
                 const struct qs_eye_scene *scene, struct qs_onlooker *out);

struct qs_visible_input {
    const struct qs_spectrum *lightness;   /* of Y, share of white */
    const struct qs_spectrum *red_green;   /* of X / Xn - Y / Yn; with the one below */
    const struct qs_spectrum *yellow_blue; /* of Y / Yn - Z / Zn; NULL for grey files */
    double tone; /* the patch's mean Y, share of white, above 0 */
    const struct qs_axis_gain *across;
    const struct qs_axis_gain *down; /* may be the same as `across` */
    double pixels_per_degree;        /* above 0; summed to 0.5 % from 5 to 200 */
    enum qs_eye eye;
    const struct qs_eye_scene *scene;   /* NULL: qs_eye_usual */
    const struct qs_onlooker *onlooker; /* for the three above; NULL: filled here */
};

/* Of noise that each pixel, each row and each column has of its own. */
struct qs_visible_parts {
    double pixel, row, column;
};

struct qs_visible {
    bool has_lightness; /* false where chance left a power well below 0; both are 0 */
    double lightness_sd;
    double plain_lightness_sd; /* the same before the eye's own filter */
    bool has_colour;           /* false for grey files too; then all four are 0 */
    double red_green_sd;
    double yellow_blue_sd;
    double plain_red_green_sd;
    double plain_yellow_blue_sd;
    bool has_total; /* false where the lightness or a colour file's colour is unknown */
    double total;   /* Q14: root of the sum of the squares of the three seen */
    /* Q16: total^2 has the variance 2 (pixel / pixels + row / rows + column / columns),
       where the look of the noise was measured in so many of them */
    struct qs_visible_parts square;
};

/* Q8: L* gained for each unit of Y about that tone, above 0; 116 times the slope that
   colour has too. */
double
qs_lightness_slope(double tone);

/*
 * Fills *out.
 *
 *   QS_OK
 *   QS_ERR_RANGE  the tone or the pixels per degree are not finite and above 0
 *
 * *out keeps its old contents unless the result is QS_OK.
 */
QS_MUST_CHECK enum qs_status
qs_visible(const struct qs_visible_input *input, struct qs_visible *out,
           struct qs_error *err);

#endif
