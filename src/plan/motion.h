/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * motion.h - how far a moving subject smears while the shutter is open
 *
 * Blur counts in delivered pixels: a delivery half as wide has half the blur and
 * allows a shutter one stop slower.
 *
 * Movement is across the picture, at the subject's distance.  Towards the camera
 * or aslant it smears less, so what is said here is then on the safe side.
 * A camera that moves is not in it.
 *
 * Units: delivered pixels (_px); metres per second, metres and seconds; frequencies
 * in cycles per delivered pixel (_cpp).
 * Threads: results depend on the arguments alone; call from any thread.
 * Memory: nothing is allocated.
 * Method: docs/method/light.md, equations E16 to E18.
 */
#ifndef QS_PLAN_MOTION_H
#define QS_PLAN_MOTION_H

#include <stdbool.h>

/*
 * The blur that is let pass where nobody says another: 1 delivered pixel; common
 * practice, no source.  It takes 10 % of the contrast at half the delivery's Nyquist
 * frequency, and 36 % at it (qs_blur_contrast).  Half of it for what is judged at
 * pixel level; 2 or more where movement may show.  The choice is the user's.
 */
#define QS_BLUR_LIMIT_PX 1.0

struct qs_movement {
    double speed_m_s;     /* >= 0, across the picture */
    double field_width_m; /* > 0: what the delivered picture's width shows, at the
                             subject's distance, crops taken first */
};

/* Blur of an exposure > 0 in a delivery `width_px` > 0 wide. */
double
qs_blur_px(const struct qs_movement *movement, double width_px, double exposure_s);

/*
 * The longest exposure that keeps within `limit_px` > 0.  False where nothing moves:
 * then there is no longest one.
 */
bool
qs_blur_longest_s(const struct qs_movement *movement, double width_px, double limit_px,
                  double *exposure_s);

/* Contrast, 0 to 1, that a blur of even speed leaves at a frequency along it. */
double
qs_blur_contrast(double blur_px, double frequency_cpp);

#endif
