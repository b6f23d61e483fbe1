/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/trace_filtered.h"

#include "frame/warnings.h"

enum qs_status
qs_remark_filtered(const struct qs_sites *sites, int count, bool lossy,
                   struct qs_frame *frame, struct qs_error *err)
{
    struct qs_sites_answer answer;

    qs_sites_judge(sites, count, &answer);
    if (answer.filtering == QS_FILTERED_SMOOTH)
        return qs_warn(
            frame, QS_WARN_NOISE_REDUCED, -1, err,
            "The noise was smoothed after demosaicing: neighbouring pixels share more "
            "of it than demosaicing explains. sd is too low and falls too little with "
            "size. Turn off noise reduction, of luminance and of colour, and lens "
            "correction and resizing, in the converter, and export again.");
    if (answer.filtering != QS_FILTERED_SHARP || lossy)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_SHARPENED, -1, err,
        "The noise was sharpened: neighbouring pixels differ by more than demosaicing "
        "explains. sd at full size is too high, and falls too fast with size. Turn "
        "off sharpening, of capture and of output, and clarity or texture, in the "
        "converter, and export again.");
}
