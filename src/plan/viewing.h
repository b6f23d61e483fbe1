/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * viewing.h - how many pixels a sheet or a viewing distance asks for
 *
 * Two questions: at which pixels per inch does one pixel cover a given angle from where
 * people stand, and how many pixels is a sheet with its bleed, out of a frame
 * that is cropped to it?
 *
 * One arc-minute is what sight of the usual sharpness tells apart (a convention, not a
 * promise of what a client accepts).
 *
 * Units: pixels per inch, millimetres of paper, metres of distance, degrees and
 * arc-minutes, pixels; all above 0 unless said otherwise.
 * Threads: results depend on the arguments alone; call from any thread.
 * Memory: nothing is allocated; the caller owns every struct.
 * Method: docs/method/light.md, equations E33 to E36.
 */
#ifndef QS_PLAN_VIEWING_H
#define QS_PLAN_VIEWING_H

#include <stdbool.h>

#include "base/plane.h"

/* What one pixel covers where nobody says otherwise. */
#define QS_VIEWING_ARCMIN 1.0

/* Pixels in the degree straight ahead. */
double
qs_pixels_per_degree(double ppi, double distance_m);

/* Pixels per inch at which one pixel covers so many arc-minutes from there. */
double
qs_ppi_for_viewing(double distance_m, double arcmin);

/* The distance from which one pixel covers so many arc-minutes. */
double
qs_distance_for_viewing_m(double ppi, double arcmin);

/* Pixels per inch of a screen whose pixels are so far apart, or that is so wide. */
double
qs_ppi_of_pitch(double pitch_mm);

double
qs_ppi_of_screen(double width_mm, int width_px);

struct qs_paper {
    double width_mm; /* trimmed */
    double height_mm;
    double bleed_mm; /* >= 0, on each of the four sides */
    double ppi;
};

/* The sheet with its bleed in pixels, each side rounded to the nearest.  False where
   that is less than 1 or more than a billion. */
bool
qs_paper_pixels(const struct qs_paper *sheet, int *width_px, int *height_px);

/* What a frame gives for a sheet. */
struct qs_paper_fit {
    struct qs_box crop; /* of the frame, from its middle, in the shape of the sheet with
                           bleed, turned the frame's way */
    int width_px;       /* delivered, bleed included, turned likewise */
    int height_px;
    double
        reduction; /* frame pixels a delivered one spans; < 1: the frame is too small */
};

/* Crop and bleed come first, then the reduction that noise depends on.  False where
   qs_paper_pixels is; frame sides are at least 1. */
bool
qs_paper_fit_of(const struct qs_paper *sheet, int frame_width_px, int frame_height_px,
                struct qs_paper_fit *out);

#endif
