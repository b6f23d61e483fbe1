/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/frame.h"

#include "base/memory.h"
#include "frame/deliveries.h"
#include "frame/gather.h"
#include "frame/mark_ends.h"
#include "frame/opening.h"
#include "frame/remarks.h"
#include "frame/survey.h"
#include "frame/trace_remarks.h"
#include "frame/verdict.h"
#include "image/image.h"

/* A frame on its way from file to figures. */
struct journey {
    const struct qs_frame_options *options;
    struct qs_pool *pool;
    qs_frame_progress *progress;
    void *context;
    double done_before; /* share of the whole that earlier passes were */
    double pass_share;  /* share of the whole that this pass is */
    struct qs_image *image;
    struct qs_linear *linear;
    struct qs_reductions reductions;
    struct qs_frame_traces traces;
    struct qs_frame *frame;
};

static void
pass_progress(void *context, double share)
{
    struct journey *journey = context;

    if (journey->progress != NULL)
        journey->progress(journey->context,
                          journey->done_before + journey->pass_share * share);
}

static enum qs_status
open_frame(struct journey *journey, const char *path, struct qs_error *err)
{
    enum qs_status status = qs_frame_open(path, journey->options, &journey->image,
                                          &journey->linear, journey->frame, err);

    if (status == QS_OK)
        status =
            qs_frame_traces_init(&journey->traces, qs_image_info(journey->image), err);
    if (status != QS_OK)
        return status;
    return qs_remark_file(qs_image_info(journey->image), journey->frame, err);
}

static enum qs_status
find_patches(struct journey *journey, struct qs_error *err)
{
    struct qs_box boxes[QS_FIND_MAX];
    int count = 0;
    enum qs_status status;

    journey->pass_share = 0.5;
    status = qs_survey(journey->image, journey->linear, journey->pool, pass_progress,
                       journey, &journey->traces, boxes, &count, err);
    if (status == QS_OK)
        status = qs_image_rewind(journey->image, err);
    if (status != QS_OK)
        return status;
    journey->done_before = 0.5;
    return qs_frame_take_found(boxes, count, journey->frame, err);
}

/* Given patches are all that is read of the frame: their codes stand for it. */
static struct qs_codes *
patch_codes(struct journey *journey)
{
    bool is_16_bit = journey->traces.codes.channels > 0;

    return journey->options->patches != NULL && is_16_bit ? &journey->traces.codes
                                                          : NULL;
}

static enum qs_status
measure_patches(struct journey *journey, struct qs_error *err)
{
    struct qs_frame *frame = journey->frame;
    struct qs_patch_task task;
    enum qs_status status = qs_reductions_init(&journey->reductions, frame, err);

    if (status == QS_OK)
        status = qs_frame_make_falls(&journey->reductions, frame, err);
    if (status != QS_OK || frame->patch_count == 0)
        return status;
    task = (struct qs_patch_task){.linear = journey->linear,
                                  .reductions = journey->reductions.list,
                                  .reduction_count = journey->reductions.count,
                                  .lags_x = journey->reductions.lags_x,
                                  .lags_y = journey->reductions.lags_y,
                                  .traces = true,
                                  .signals = journey->options->signals};
    journey->pass_share = 1.0 - journey->done_before;
    return qs_gather(journey->image, &task, journey->reductions.margin,
                     journey->options->encoded_light, patch_codes(journey),
                     journey->pool, pass_progress, journey, frame, err);
}

static enum qs_status
remark(struct journey *journey, struct qs_error *err)
{
    enum qs_status status;

    qs_mark_ends(qs_image_info(journey->image), journey->linear, journey->frame);
    status = qs_remark_traces(&journey->traces, journey->linear, journey->frame, err);
    if (status == QS_OK)
        status = qs_remark_figures(journey->frame, err);
    qs_frame_judge(journey->frame);
    return status;
}

enum qs_status
qs_frame_measure(const char *path, const struct qs_frame_options *options,
                 struct qs_pool *pool, qs_frame_progress *progress, void *context,
                 struct qs_frame *out, struct qs_error *err)
{
    struct journey journey = {.options = options,
                              .pool = pool,
                              .progress = progress,
                              .context = context,
                              .frame = out};
    enum qs_status status;

    *out = (struct qs_frame){0};
    status = open_frame(&journey, path, err);
    if (status == QS_OK)
        status = qs_deliveries_plan(options, out, err);
    if (status == QS_OK)
        status = options->patches != NULL ? qs_frame_take_given(options, out, err)
                                          : find_patches(&journey, err);
    if (status == QS_OK)
        status = measure_patches(&journey, err);
    if (status == QS_OK)
        status = remark(&journey, err);
    qs_frame_traces_clear(&journey.traces);
    qs_reductions_clear(&journey.reductions);
    qs_linear_free(journey.linear);
    qs_image_close(journey.image);
    if (status != QS_OK)
        qs_frame_clear(out);
    return status;
}

void
qs_frame_clear(struct qs_frame *frame)
{
    qs_free(frame->patches);
    qs_free(frame->deliveries);
    qs_free(frame->falls);
    qs_free(frame->warnings);
    *frame = (struct qs_frame){0};
}
