/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/opening.h"

#include <string.h>

#include "base/memory.h"
#include "flat/shading.h"

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

enum qs_status
qs_frame_open(const char *path, const struct qs_frame_options *options,
              struct qs_image **image, struct qs_linear **linear,
              struct qs_frame *frame, struct qs_error *err)
{
    const struct qs_image_info *info;
    enum qs_status status = qs_image_open(path, image, err);

    if (status != QS_OK)
        return status;
    info = qs_image_info(*image);
    status = qs_linear_new(info, &options->encoding, linear, err);
    if (status != QS_OK)
        return status;
    frame->width = info->width;
    frame->height = info->height;
    frame->channels = info->channels;
    frame->bits = info->bits;
    frame->is_float = info->is_float;
    frame->first = qs_channel_first(info->channels);
    frame->shot = info->shot;
    merge_shot(&options->shot, &frame->shot);
    frame->encoding = *qs_linear_encoding(*linear);
    return QS_OK;
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
make_patches(int count, struct qs_frame *frame, struct qs_error *err)
{
    frame->patches = qs_alloc((size_t)count, sizeof *frame->patches);
    if (frame->patches == NULL)
        return qs_fail_memory(err);
    frame->patch_count = count;
    return QS_OK;
}

enum qs_status
qs_frame_take_given(const struct qs_frame_options *options, struct qs_frame *frame,
                    struct qs_error *err)
{
    enum qs_status status = make_patches(options->patch_count, frame, err);

    for (int p = 0; status == QS_OK && p < options->patch_count; p++) {
        status = check_given(frame, options->patches[p], p + 1, err);
        frame->patches[p].box = options->patches[p];
    }
    return status;
}

enum qs_status
qs_frame_take_found(const struct qs_box *boxes, int count, struct qs_frame *frame,
                    struct qs_error *err)
{
    enum qs_status status = make_patches(count, frame, err);

    for (int p = 0; status == QS_OK && p < count; p++) {
        frame->patches[p].box = boxes[p];
        frame->patches[p].found = true;
    }
    return status;
}

enum qs_status
qs_frame_make_falls(const struct qs_reductions *reductions, struct qs_frame *frame,
                    struct qs_error *err)
{
    int rows = reductions->count * frame->patch_count;

    frame->falls = qs_alloc((size_t)rows, sizeof *frame->falls);
    if (frame->falls == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < rows; i++) {
        int r = i / frame->patch_count;
        struct qs_fall_row *row = &frame->falls[i];

        row->patch = i % frame->patch_count;
        row->delivery = r / frame->filter_count;
        row->filter = frame->filters[r % frame->filter_count];
        row->contrast_kept = reductions->list[r].kept_half_nyquist;
        row->alias_share = reductions->list[r].alias_share;
    }
    frame->fall_count = rows;
    return QS_OK;
}
