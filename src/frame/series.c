/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/series.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "frame/verdict.h"
#include "frame/warnings.h"
#include "measure/traces_drift.h"

enum {
    FOUND_NEEDED = 3 /* pairs of patches that were found, not given */
};

static enum qs_status
remember(struct qs_series *series, const struct qs_frame *frame, struct qs_error *err)
{
    series->patches = qs_alloc((size_t)frame->patch_count, sizeof *series->patches);
    if (series->patches == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < frame->patch_count; p++) {
        series->patches[p].box = frame->patches[p].box;
        for (int c = 0; c < QS_CHANNELS; c++)
            series->patches[p].mean[c] = frame->patches[p].channel[c].noise.mean;
    }
    series->patch_count = frame->patch_count;
    series->width = frame->width;
    series->height = frame->height;
    series->channels = frame->channels;
    series->shot = frame->shot;
    series->encoding = frame->encoding;
    return QS_OK;
}

static int
overlap(int a, int a_size, int b, int b_size)
{
    int from = a > b ? a : b;
    int to = a + a_size < b + b_size ? a + a_size : b + b_size;

    return to > from ? to - from : 0;
}

/* Whether two boxes share most of either. */
static bool
is_same_place(struct qs_box a, struct qs_box b)
{
    double shared = (double)overlap(a.x, a.width, b.x, b.width) *
                    overlap(a.y, a.height, b.y, b.height);

    return shared > 0.7 * a.width * a.height && shared > 0.7 * b.width * b.height;
}

static int
fill_pairs(const struct qs_series *series, const struct qs_frame *frame,
           struct qs_drift_pair *pairs)
{
    int count = 0;

    for (int p = 0; p < frame->patch_count; p++)
        for (int q = 0; q < series->patch_count; q++) {
            if (!is_same_place(frame->patches[p].box, series->patches[q].box))
                continue;
            for (int c = 0; c < QS_CHANNELS; c++) {
                pairs[count].before[c] = series->patches[q].mean[c];
                pairs[count].after[c] = frame->patches[p].channel[c].noise.mean;
            }
            count++;
            break;
        }
    return count;
}

/* What the files promise of brightness: shutter x ISO / aperture^2. */
static bool
promised(const struct qs_shot *before, const struct qs_shot *after, double *stops)
{
    *stops = 0.0;
    if (!(before->exposure_s > 0.0 && after->exposure_s > 0.0 && before->iso > 0.0 &&
          after->iso > 0.0))
        return false;
    *stops =
        log2(after->exposure_s / before->exposure_s) + log2(after->iso / before->iso);
    if (before->f_number > 0.0 && after->f_number > 0.0)
        *stops -= 2.0 * log2(after->f_number / before->f_number);
    return true;
}

static enum qs_status
warn(const struct qs_drift *drift, struct qs_frame *frame, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (drift->exposure)
        status = qs_warn(
            frame, QS_WARN_EXPOSURE_DRIFT, -1, err,
            "The same patches are %.2f stops %s than in the first frame, which "
            "shutter, "
            "aperture and ISO do not explain. Noise depends on tone, so that sd and "
            "SNR "
            "can't be compared from frame to frame. Turn off auto exposure, auto tone "
            "and matching of frames; keep the lamp constant.",
            fabs(drift->stops), drift->stops > 0.0 ? "brighter" : "darker");
    if (status == QS_OK && drift->colour)
        status = qs_warn(
            frame, QS_WARN_EXPOSURE_DRIFT, -1, err,
            "White balance drifts: against the first frame red over green changed by "
            "%+.1f %%, blue over green by %+.1f %%. That changes the gain, and so sd, "
            "of r and b. Set one white balance for all frames, never auto.",
            100.0 * (exp2(drift->red_stops) - 1.0),
            100.0 * (exp2(drift->blue_stops) - 1.0));
    return status;
}

static enum qs_status
compare(const struct qs_series *series, struct qs_frame *frame, struct qs_error *err)
{
    struct qs_drift_pair *pairs = qs_alloc((size_t)frame->patch_count, sizeof *pairs);
    struct qs_drift drift = {.known = false};
    double stops;
    int count;

    if (pairs == NULL)
        return qs_fail_memory(err);
    count = fill_pairs(series, frame, pairs);
    if (count >= FOUND_NEEDED || (count > 0 && !frame->patches[0].found)) {
        bool has_exposure = promised(&series->shot, &frame->shot, &stops);

        qs_drift_judge(pairs, count, frame->channels == 1, has_exposure, stops, &drift);
    }
    qs_free(pairs);
    if (!drift.known || (!drift.exposure && !drift.colour))
        return QS_OK;
    return warn(&drift, frame, err);
}

enum qs_status
qs_series_check(struct qs_series *series, struct qs_frame *frame, struct qs_error *err)
{
    enum qs_status status;

    if (frame->patch_count == 0)
        return QS_OK;
    if (series->patch_count == 0)
        return remember(series, frame, err);
    if (series->width != frame->width || series->height != frame->height ||
        series->channels != frame->channels ||
        strcmp(series->encoding.name, frame->encoding.name) != 0)
        return QS_OK;
    status = compare(series, frame, err);
    qs_frame_judge(frame);
    return status;
}

void
qs_series_clear(struct qs_series *series)
{
    qs_free(series->patches);
    *series = (struct qs_series){.patches = NULL};
}
