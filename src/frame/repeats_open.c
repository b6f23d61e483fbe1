/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/repeats_open.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "frame/opening.h"

/* EXIF rounds; more than this is another setting. */
static const double SAME_SETTING = 0.02;

static bool
settings_differ(double a, double b)
{
    return a > 0.0 && b > 0.0 && fabs(a / b - 1.0) > SAME_SETTING;
}

static const char *
number_kind(const struct qs_frame *frame)
{
    return frame->is_float ? "float " : "";
}

static const char *
colour_kind(const struct qs_frame *frame)
{
    return frame->channels == 1 ? "grey" : "RGB";
}

/* Whether a frame can be a repeat of the first one, by what the files say. */
static enum qs_status
check_alike(const struct qs_frame *first, const struct qs_frame *frame,
            struct qs_error *err)
{
    if (frame->width != first->width || frame->height != first->height)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "It is %d x %d pixels, the first frame %d x %d; export all "
                       "repeats at the same size, without cropping.",
                       frame->width, frame->height, first->width, first->height);
    if (frame->channels != first->channels || frame->bits != first->bits ||
        frame->is_float != first->is_float)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "It is %d-bit %s%s, the first frame %d-bit %s%s; export all "
                       "repeats as the same kind of file.",
                       frame->bits, number_kind(frame), colour_kind(frame), first->bits,
                       number_kind(first), colour_kind(first));
    if (strcmp(frame->encoding.name, first->encoding.name) != 0)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "Its encoding is %.80s, the first frame's %.80s; export all "
                       "repeats with the same profile, or name it with --encoding.",
                       frame->encoding.name, first->encoding.name);
    if (settings_differ(frame->shot.iso, first->shot.iso))
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "It was shot at ISO %.0f, the first frame at ISO %.0f; repeats "
                       "need the same ISO, so leave this frame out.",
                       frame->shot.iso, first->shot.iso);
    if (settings_differ(frame->shot.exposure_s, first->shot.exposure_s))
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "Its shutter was open for %.4g s, the first frame's for %.4g s; "
                       "repeats need the same shutter time, so leave this frame out.",
                       frame->shot.exposure_s, first->shot.exposure_s);
    return QS_OK;
}

static enum qs_status
open_further(const struct qs_frame_options *options, struct qs_repeat_set *set, int k,
             const struct qs_frame *first, struct qs_error *err)
{
    struct qs_frame frame = {0};
    enum qs_status status = qs_frame_open(set->paths[k], options, &set->images[k],
                                          &set->linears[k], &frame, err);

    return status == QS_OK ? check_alike(first, &frame, err) : status;
}

enum qs_status
qs_repeat_set_open(const char *const *paths, int count,
                   const struct qs_frame_options *options, struct qs_repeat_set *set,
                   struct qs_frame *frame, int *culprit, struct qs_error *err)
{
    enum qs_status status;

    *set = (struct qs_repeat_set){.count = count, .paths = paths};
    *culprit = 0;
    set->images = qs_alloc((size_t)count, sizeof *set->images);
    set->linears = qs_alloc((size_t)count, sizeof *set->linears);
    if (set->images == NULL || set->linears == NULL)
        return qs_fail_memory(err);
    status =
        qs_frame_open(paths[0], options, &set->images[0], &set->linears[0], frame, err);
    for (int k = 1; status == QS_OK && k < count; k++) {
        *culprit = k;
        status = open_further(options, set, k, frame, err);
    }
    return status;
}

void
qs_repeat_set_close(struct qs_repeat_set *set)
{
    for (int k = 0; k < set->count; k++) {
        if (set->linears != NULL)
            qs_linear_free(set->linears[k]);
        if (set->images != NULL)
            qs_image_close(set->images[k]);
    }
    qs_free(set->images);
    qs_free(set->linears);
    *set = (struct qs_repeat_set){0};
}
