/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/motion.h"

#include <assert.h>
#include <math.h>

static const double PI = 3.14159265358979323846;

/* E16: delivered pixels that the subject crosses in a second. */
static double
speed_px_s(const struct qs_movement *movement, double width_px)
{
    assert(movement->speed_m_s >= 0.0 && movement->field_width_m > 0.0);
    assert(width_px > 0.0);
    return movement->speed_m_s * width_px / movement->field_width_m;
}

double
qs_blur_px(const struct qs_movement *movement, double width_px, double exposure_s)
{
    assert(exposure_s > 0.0);
    return speed_px_s(movement, width_px) * exposure_s;
}

bool
qs_blur_longest_s(const struct qs_movement *movement, double width_px, double limit_px,
                  double *exposure_s)
{
    double speed = speed_px_s(movement, width_px);

    assert(limit_px > 0.0);
    if (!(speed > 0.0))
        return false;
    *exposure_s = limit_px / speed;
    return true;
}

double
qs_blur_contrast(double blur_px, double frequency_cpp)
{
    double x = PI * blur_px * frequency_cpp;

    return x == 0.0 ? 1.0 : fabs(sin(x) / x);
}
