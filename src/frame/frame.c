/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/frame.h"

#include <string.h>

#include "base/memory.h"
#include "frame/deliveries.h"
#include "frame/gather.h"
#include "frame/remarks.h"
#include "frame/survey.h"
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

/* What the user says of the shot goes before what the file says. */
static void
merge_shot(const struct qs_shot *given, struct qs_shot *shot)
{
    if (given->iso > 0.0)
        shot->iso = given->iso;
    if (given->exposure_s > 0.0)
        shot->exposure_s = given->exposure_s;
    if (given->f_number > 0.0)
        shot->f_number = given->f_number;
    if (given->camera[0] != '\0')
        memcpy(shot->camera, given->camera, sizeof shot->camera);
}

static enum qs_status
open_frame(struct journey *journey, const char *path, struct qs_error *err)
{
    struct qs_frame *frame = journey->frame;
    const struct qs_image_info *info;
    enum qs_status status = qs_image_open(path, &journey->image, err);

    if (status != QS_OK)
        return status;
    info = qs_image_info(journey->image);
    status = qs_linear_new(info, &journey->options->encoding, &journey->linear, err);
    if (status != QS_OK)
        return status;
    frame->width = info->width;
    frame->height = info->height;
    frame->channels = info->channels;
    frame->bits = info->bits;
    frame->is_float = info->is_float;
    frame->first = qs_channel_first(info->channels);
    frame->shot = info->shot;
    merge_shot(&journey->options->shot, &frame->shot);
    frame->encoding = *qs_linear_encoding(journey->linear);
    return qs_remark_file(info, frame, err);
}

static enum qs_status
check_given(const struct qs_frame *frame, struct qs_box box, int number,
            struct qs_error *err)
{
    struct qs_box whole = {0, 0, frame->width, frame->height};

    if (!qs_box_within(box, whole))
        return qs_fail(
            err, QS_ERR_USAGE,
            "Patch %d (%d,%d,%d,%d) does not lie within the frame, which is %d "
            "x %d pixels; give the left edge, top edge, width and height of a "
            "place inside it.",
            number, box.x, box.y, box.width, box.height, frame->width, frame->height);
    if (box.width < QS_SHADING_MIN_PX || box.height < QS_SHADING_MIN_PX)
        return qs_fail(
            err, QS_ERR_USAGE,
            "Patch %d is %d x %d pixels, too small to measure noise in; give "
            "one of at least %d x %d, better 400 x 400.",
            number, box.width, box.height, QS_SHADING_MIN_PX, QS_SHADING_MIN_PX);
    if ((double)box.width * box.height > QS_FRAME_MOST_PX)
        return qs_fail(
            err, QS_ERR_USAGE,
            "Patch %d is %d x %d pixels, more than the %d million one patch may "
            "have; give a smaller one, or several.",
            number, box.width, box.height, QS_FRAME_MOST_PX / 1000000);
    return QS_OK;
}

static enum qs_status
take_given(struct journey *journey, struct qs_error *err)
{
    const struct qs_frame_options *options = journey->options;
    struct qs_frame *frame = journey->frame;

    frame->patches = qs_alloc((size_t)options->patch_count, sizeof *frame->patches);
    if (frame->patches == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < options->patch_count; p++) {
        enum qs_status status = check_given(frame, options->patches[p], p + 1, err);

        if (status != QS_OK)
            return status;
        frame->patches[p].box = options->patches[p];
    }
    frame->patch_count = options->patch_count;
    return QS_OK;
}

static enum qs_status
find_patches(struct journey *journey, struct qs_error *err)
{
    struct qs_frame *frame = journey->frame;
    struct qs_box boxes[QS_FIND_MAX];
    int count = 0;
    enum qs_status status;

    journey->pass_share = 0.5;
    status = qs_survey(journey->image, journey->linear, journey->pool, pass_progress,
                       journey, boxes, &count, err);
    if (status == QS_OK)
        status = qs_image_rewind(journey->image, err);
    if (status != QS_OK)
        return status;
    frame->patches = qs_alloc((size_t)count, sizeof *frame->patches);
    if (frame->patches == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < count; p++) {
        frame->patches[p].box = boxes[p];
        frame->patches[p].found = true;
    }
    frame->patch_count = count;
    journey->done_before = 0.5;
    return QS_OK;
}

/* Makes the rows of the falls, all but their figures. */
static enum qs_status
make_falls(struct journey *journey, struct qs_error *err)
{
    struct qs_frame *frame = journey->frame;
    int rows = journey->reductions.count * frame->patch_count;

    frame->falls = qs_alloc((size_t)rows, sizeof *frame->falls);
    if (frame->falls == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < rows; i++) {
        int r = i / frame->patch_count;
        struct qs_fall_row *row = &frame->falls[i];

        row->patch = i % frame->patch_count;
        row->delivery = r / frame->filter_count;
        row->filter = frame->filters[r % frame->filter_count];
        row->contrast_kept = journey->reductions.list[r].kept_half_nyquist;
        row->alias_share = journey->reductions.list[r].alias_share;
    }
    frame->fall_count = rows;
    return QS_OK;
}

static enum qs_status
measure_patches(struct journey *journey, struct qs_error *err)
{
    struct qs_frame *frame = journey->frame;
    struct qs_patch_task task;
    enum qs_status status = qs_reductions_init(&journey->reductions, frame, err);

    if (status == QS_OK)
        status = make_falls(journey, err);
    if (status != QS_OK || frame->patch_count == 0)
        return status;
    task = (struct qs_patch_task){.linear = journey->linear,
                                  .reductions = journey->reductions.list,
                                  .reduction_count = journey->reductions.count,
                                  .lags_x = journey->reductions.lags_x,
                                  .lags_y = journey->reductions.lags_y};
    journey->pass_share = 1.0 - journey->done_before;
    return qs_gather(journey->image, &task, journey->reductions.margin,
                     journey->options->encoded_light, journey->pool, pass_progress,
                     journey, frame, err);
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
        status = options->patches != NULL ? take_given(&journey, err)
                                          : find_patches(&journey, err);
    if (status == QS_OK)
        status = measure_patches(&journey, err);
    if (status == QS_OK)
        status = qs_remark_figures(out, err);
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
