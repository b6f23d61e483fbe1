/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/deliveries.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "frame/warnings.h"

static void
set_delivery(struct qs_delivery *delivery, const struct qs_frame *frame, int width,
             int height)
{
    delivery->width = width;
    delivery->height = height;
    delivery->reduction =
        sqrt((double)frame->crop.width / width * ((double)frame->crop.height / height));
}

/* Native size, then half a stop of pixel count at a time. */
static void
plan_ladder(struct qs_frame *frame)
{
    for (int step = 0; step < QS_SIZE_LADDER; step++) {
        struct qs_delivery *delivery = &frame->deliveries[frame->delivery_count++];
        double share = qs_size_ladder_share(step);
        struct qs_size size = {.kind = QS_SIZE_SHARE, .a = share};
        int width, height;

        (void)qs_size_of(&size, frame->crop.width, frame->crop.height, &width, &height);
        set_delivery(delivery, frame, width, height);
        if (step == 0)
            (void)snprintf(delivery->text, sizeof delivery->text, "native");
        else
            (void)snprintf(delivery->text, sizeof delivery->text, "%.3g%%",
                           100.0 * share);
    }
}

static enum qs_status
plan_asked(const struct qs_frame_options *options, struct qs_frame *frame,
           struct qs_error *err)
{
    for (int i = 0; i < options->size_count; i++) {
        struct qs_delivery *delivery = &frame->deliveries[frame->delivery_count];
        int width, height;
        enum qs_status status;

        if (qs_size_of(&options->sizes[i], frame->crop.width, frame->crop.height,
                       &width, &height)) {
            set_delivery(delivery, frame, width, height);
            memcpy(delivery->text, options->sizes[i].text, sizeof delivery->text);
            frame->delivery_count++;
            continue;
        }
        status =
            qs_warn(frame, QS_WARN_UPSCALE_SKIPPED, -1, err,
                    "The size %s (%d x %d pixels) is larger than the frame's own %d x "
                    "%d; it is left out, since enlarging adds pixels but no quality. "
                    "Ask for a smaller size.",
                    options->sizes[i].text, width, height, frame->crop.width,
                    frame->crop.height);
        if (status != QS_OK)
            return status;
    }
    return QS_OK;
}

static void
plan_filters(const struct qs_frame_options *options, struct qs_frame *frame)
{
    frame->filters[0] = QS_FILTER_LANCZOS3;
    frame->filter_count = 1;
    if (options->filters == NULL)
        return;
    frame->filter_count = options->filter_count;
    for (int i = 0; i < options->filter_count; i++)
        frame->filters[i] = options->filters[i];
}

enum qs_status
qs_deliveries_plan(const struct qs_frame_options *options, struct qs_frame *frame,
                   struct qs_error *err)
{
    int room = options->sizes == NULL ? QS_SIZE_LADDER : options->size_count;

    frame->crop = qs_shape_ratio_box(options->crop, frame->width, frame->height);
    frame->deliveries = qs_alloc((size_t)room, sizeof *frame->deliveries);
    if (frame->deliveries == NULL)
        return qs_fail_memory(err);
    plan_filters(options, frame);
    if (options->sizes != NULL)
        return plan_asked(options, frame, err);
    plan_ladder(frame);
    return QS_OK;
}

static void
widen(struct qs_reductions *reductions, const struct qs_reduction *reduction)
{
    int lags_x = reduction->across.taps - 1, lags_y = reduction->down.taps - 1;
    int taps = lags_x > lags_y ? lags_x : lags_y;

    if (lags_x > reductions->lags_x)
        reductions->lags_x = lags_x;
    if (lags_y > reductions->lags_y)
        reductions->lags_y = lags_y;
    if (taps / 2 + 1 > reductions->margin)
        reductions->margin = taps / 2 + 1;
}

enum qs_status
qs_reductions_init(struct qs_reductions *reductions, const struct qs_frame *frame,
                   struct qs_error *err)
{
    size_t count = (size_t)frame->delivery_count * (size_t)frame->filter_count;
    enum qs_status status = QS_OK;

    *reductions = (struct qs_reductions){0};
    reductions->list = qs_alloc(count, sizeof *reductions->list);
    if (reductions->list == NULL)
        return qs_fail_memory(err);
    for (int d = 0; d < frame->delivery_count; d++)
        for (int f = 0; status == QS_OK && f < frame->filter_count; f++) {
            struct qs_reduction *reduction = &reductions->list[reductions->count];

            status = qs_reduction_init(reduction, frame->filters[f], frame->crop,
                                       frame->deliveries[d].width,
                                       frame->deliveries[d].height, err);
            if (status != QS_OK)
                break;
            reductions->count++;
            widen(reductions, reduction);
        }
    if (status != QS_OK)
        qs_reductions_clear(reductions);
    return status;
}

void
qs_reductions_clear(struct qs_reductions *reductions)
{
    for (int i = 0; i < reductions->count; i++)
        qs_reduction_clear(&reductions->list[i]);
    qs_free(reductions->list);
    *reductions = (struct qs_reductions){0};
}
