/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/repeats_motion.h"

#include <math.h>
#include <stdio.h>

/* "3.2 px right and 1.0 px down". */
static void
say_shift(const struct qs_motion_found *found, char *out, size_t size)
{
    char across[32] = "", down[32] = "";

    if (fabs(found->x) >= 0.05)
        (void)snprintf(across, sizeof across, "%.1f px %s", fabs(found->x),
                       found->x > 0.0 ? "right" : "left");
    if (fabs(found->y) >= 0.05)
        (void)snprintf(down, sizeof down, "%.1f px %s", fabs(found->y),
                       found->y > 0.0 ? "down" : "up");
    (void)snprintf(out, size, "%s%s%s", across,
                   across[0] != '\0' && down[0] != '\0' ? " and " : "", down);
}

enum qs_status
qs_refuse_motion(const struct qs_motion_found *found, struct qs_error *err)
{
    char shift[80];
    struct qs_box box = found->box;
    int x = box.x + box.width / 2, y = box.y + box.height / 2;

    say_shift(found, shift, sizeof shift);
    switch (found->kind) {
    case QS_MOTION_NONE:
        return QS_OK;
    case QS_MOTION_WHOLE:
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "It is shifted by %s against the first frame; repeats must show "
                       "the same, pixel by pixel: use a tripod and a remote release, "
                       "or leave this frame out.",
                       shift);
    case QS_MOTION_PART:
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "Something in it has moved by %s against the first frame, "
                       "around pixel %d,%d; repeats need a scene that keeps still: "
                       "shoot again, or leave this frame out.",
                       shift, x, y);
    case QS_MOTION_ALL:
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "It differs from the first frame all over, far more coarsely "
                       "than noise does; the camera has moved or the light has "
                       "changed: shoot again from a tripod, in steady light, or leave "
                       "this frame out.");
    case QS_MOTION_CHANGE:
        break;
    }
    return qs_fail(err, QS_ERR_UNSUPPORTED,
                   "Something has moved, or its light has changed, against the first "
                   "frame, around pixel %d,%d; repeats need a scene that keeps still: "
                   "shoot again, or leave this frame out.",
                   x, y);
}
