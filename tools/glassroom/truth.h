/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * truth.h - what a frame was made with, as JSON, for tests to compare with
 *
 * "expected" gives var(m) = read^2 + gain m + (pattern m)^2 of one photosite in
 * the file's linear light, before demosaicing; README.md, equation G13.
 */
#ifndef GLASSROOM_TRUTH_H
#define GLASSROOM_TRUTH_H

#include "base/status.h"
#include "recipe.h"

/* The noise of one photosite of a green or grey channel, 1.0 = white. */
struct gr_expected {
    double gain;    /* variance per signal */
    double read;    /* sd of noise in the dark, rounding to codes included */
    double row;     /* sd of what rows share */
    double column;  /* sd of what columns share */
    double offset;  /* sd of the photosites' dark offsets */
    double pattern; /* sd of sensitivities */
};

struct gr_expected
gr_expect(const struct gr_sensor *sensor);

/*
 * Writes the recipe and what is to be expected of it to `path`.
 *
 *   QS_OK, QS_ERR_MEMORY
 *   QS_ERR_WRITE  the file could not be written
 */
QS_MUST_CHECK enum qs_status
gr_truth_write(const struct gr_recipe *recipe, const char *path, struct qs_error *err);

#endif
