/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/digest.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/order.h"

/* 95 % of a normal distribution. */
static const double NORMAL_95 = 1.959963984540054;

double
qs_worth_interval(struct qs_frame_worth worth)
{
    return NORMAL_95 * worth.se_stops;
}

bool
qs_tone_stops(const struct qs_patch *patch, double *stops)
{
    double mean = patch->channel[QS_Y].noise.mean;

    if (!(mean > 0.0))
        return false;
    *stops = log2(mean / QS_MID_GREY);
    return true;
}

bool
qs_is_native(const struct qs_delivery *delivery)
{
    return delivery->reduction <= 1.0;
}

/* A patch without noise says nothing; it is taken only where there is no other. */
static int
find_mid(const struct qs_frame *frame)
{
    int best = frame->patch_count > 0 ? 0 : -1;
    double nearest = HUGE_VAL;

    for (int p = 0; p < frame->patch_count; p++) {
        double stops;

        if (frame->patches[p].channel[QS_Y].noise.sd > 0.0 &&
            qs_tone_stops(&frame->patches[p], &stops) && fabs(stops) < nearest) {
            nearest = fabs(stops);
            best = p;
        }
    }
    return best;
}

static int
choose_delivery(const struct qs_frame *frame)
{
    int best = 0;
    double nearest = HUGE_VAL;

    if (frame->delivery_count == 0)
        return -1;
    if (strcmp(frame->deliveries[0].text, "native") != 0)
        return 0;
    for (int d = 0; d < frame->delivery_count; d++) {
        double off = fabs(2.0 * log2(frame->deliveries[d].reduction) - 1.0);

        if (off < nearest) {
            nearest = off;
            best = d;
        }
    }
    return best;
}

static void
fill_grain(const struct qs_frame *frame, double *room, struct qs_digest *out)
{
    int count = 0;

    for (int p = 0; p < frame->patch_count; p++)
        if (frame->patches[p].channel[QS_Y].noise.has_grain)
            room[count++] = frame->patches[p].channel[QS_Y].noise.grain_px;
    out->has_grain = count > 0;
    if (count > 0)
        out->grain_px = qs_median(room, (size_t)count);
}

static void
fill_stripes(const struct qs_frame *frame, double *room, struct qs_digest *out)
{
    int count = 0;

    for (int p = 0; p < frame->patch_count; p++) {
        const struct qs_noise *noise = &frame->patches[p].channel[QS_Y].noise;

        if (noise->sd > 0.0)
            room[count++] =
                (noise->row_sd * noise->row_sd + noise->column_sd * noise->column_sd) /
                (noise->sd * noise->sd);
    }
    if (count > 0)
        out->stripes_share = qs_median(room, (size_t)count);
}

enum qs_status
qs_digest(const struct qs_frame *frame, struct qs_digest *out, struct qs_error *err)
{
    double *room = qs_alloc((size_t)frame->patch_count, sizeof *room);

    if (room == NULL)
        return qs_fail_memory(err);
    *out =
        (struct qs_digest){.mid = find_mid(frame), .delivery = choose_delivery(frame)};
    if (out->delivery >= 0 && frame->patch_count > 0) {
        out->worth = qs_frame_worth(frame, out->delivery, 0, QS_Y);
        out->interval_stops = qs_worth_interval(out->worth);
    }
    fill_grain(frame, room, out);
    fill_stripes(frame, room, out);
    qs_free(room);
    return QS_OK;
}
