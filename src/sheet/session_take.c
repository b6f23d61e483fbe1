/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sheet/session_take.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"

/* A patch with more of its samples at an end of the code range is not used. */
static const double CLIPPED_SHARE = 0.002;

/* Fixed noise above this share of the power spoils a textured patch's spectrum. */
static const double TEXTURE_SHARE = 0.02;

/* Pixels of a patch that a spectrum needs to say anything of a strong reduction. */
static const double SPECTRUM_LEAST_PX = 24.0 * 24.0;

const char *
qs_session_reason(const struct qs_frame *frame)
{
    if (frame->patch_count == 0)
        return "No flat patch was found in it; shoot an even grey surface out of "
               "focus, or give places with --patch.";
    if (frame->verdict.level == QS_VERDICT_UNUSABLE)
        return frame->verdict.text;
    return NULL;
}

static bool
is_cut(const struct qs_patch_channel *channel)
{
    return channel->near_low || channel->near_high ||
           channel->clipped_low + channel->clipped_high >= CLIPPED_SHARE;
}

/*
 * H4: luminance is spoiled by what is cut off a channel as far as that channel counts
 * in it; blue noise reaches black long before luminance feels it.
 */
static bool
is_luminance_cut(const struct qs_frame *frame, const struct qs_patch *patch)
{
    const struct qs_patch_channel *y = &patch->channel[QS_Y];
    double share = 0.0;

    if (frame->first == QS_Y)
        return is_cut(y);
    for (int c = 0; c < (int)QS_Y; c++)
        share += frame->encoding.weights.luminance[c] *
                 (patch->channel[c].clipped_low + patch->channel[c].clipped_high);
    return y->near_low || y->near_high || share >= CLIPPED_SHARE;
}

/* A colour difference is spoiled by each of its channels. */
static bool
is_spoiled(const struct qs_frame *frame, const struct qs_patch *patch, int signal)
{
    if (signal < (int)QS_Y)
        return is_cut(&patch->channel[signal]);
    if (signal == (int)QS_Y)
        return is_luminance_cut(frame, patch);
    for (int c = (int)frame->first; c < (int)QS_CHANNELS; c++)
        if (is_cut(&patch->channel[c]))
            return true;
    return false;
}

static bool
is_texture(const struct qs_repeats *repeats)
{
    return repeats->textured &&
           repeats->fixed.sd * repeats->fixed.sd >
               TEXTURE_SHARE * repeats->total.sd * repeats->total.sd;
}

/* A frame being taken in; `scene` NULL: by itself. */
struct taking {
    const struct qs_frame *frame;
    const struct qs_same_scene *scene;
};

static double
pixels_of(const struct qs_patch *patch)
{
    return (double)patch->box.width * patch->box.height;
}

static bool
is_left_out(const struct taking *now, int index)
{
    return now->scene != NULL && is_texture(&now->scene->patches[index].channel[QS_Y]);
}

/* Whether a patch adds its spectrum to the zone of another one. */
static bool
is_beside(const struct taking *now, int index, int other, int signal)
{
    const struct qs_patch *a = &now->frame->patches[index];
    const struct qs_patch *b = &now->frame->patches[other];

    return !is_left_out(now, other) && !is_spoiled(now->frame, b, signal) &&
           b->signal[signal].noise.freedom > 0.0 && pixels_of(b) >= SPECTRUM_LEAST_PX &&
           qs_sheet_zone_of(b->channel[QS_Y].noise.mean) ==
               qs_sheet_zone_of(a->channel[QS_Y].noise.mean);
}

static bool
is_within(int place, int start, int length)
{
    return place >= start && place < start + length;
}

/* H5: rows and columns that no patch before this one gave to the zone. */
static struct qs_sheet_ground
ground_of(const struct taking *now, int index, int signal)
{
    const struct qs_box own = now->frame->patches[index].box;
    struct qs_sheet_ground ground = {.pixels = (double)own.width * own.height};

    for (int y = own.y; y < own.y + own.height; y++) {
        bool known = false;

        for (int p = 0; p < index && !known; p++) {
            const struct qs_box box = now->frame->patches[p].box;

            known = is_within(y, box.y, box.height) && is_beside(now, index, p, signal);
        }
        ground.rows += known ? 0.0 : 1.0;
    }
    for (int x = own.x; x < own.x + own.width; x++) {
        bool known = false;

        for (int p = 0; p < index && !known; p++) {
            const struct qs_box box = now->frame->patches[p].box;

            known = is_within(x, box.x, box.width) && is_beside(now, index, p, signal);
        }
        ground.columns += known ? 0.0 : 1.0;
    }
    return ground;
}

static enum qs_status
take_signal(struct qs_sheet_iso *iso, const struct taking *now, int index, int signal,
            bool with_point, struct qs_error *err)
{
    const struct qs_patch *patch = &now->frame->patches[index];
    const struct qs_patch_signal *from = &patch->signal[signal];
    struct qs_sheet_signal *into = &iso->signals[signal];
    double tone = patch->channel[QS_Y].noise.mean;
    bool is_channel = signal < (int)QS_CHANNELS;
    struct qs_sheet_point point = {.kind = QS_POINT_TOTAL,
                                   .tone = tone,
                                   .mean = is_channel ? from->noise.mean : tone,
                                   .variance = from->noise.sd * from->noise.sd,
                                   .freedom = from->noise.freedom,
                                   .patches = 1};

    if (!(from->noise.freedom > 0.0)) /* no noise at all: nothing to learn */
        return QS_OK;
    if (pixels_of(patch) >= SPECTRUM_LEAST_PX)
        qs_sheet_add_spectrum(into, tone, ground_of(now, index, signal),
                              &from->spectrum);
    return with_point ? qs_sheet_add_point(into, &point, err) : QS_OK;
}

static int
end_of(const struct qs_frame *frame)
{
    return frame->channels == 1 ? (int)QS_CHANNELS : (int)QS_SIGNALS;
}

/* The codes of the frame's warnings, each once, with blanks between. */
static void
list_warnings(const struct qs_frame *frame, char *out, size_t size)
{
    size_t used = 0;

    out[0] = '\0';
    for (int code = 0; code < (int)QS_WARNINGS; code++) {
        bool has = false;

        for (int i = 0; i < frame->warning_count; i++)
            has = has || (int)frame->warnings[i].code == code;
        if (has && used < size)
            used +=
                (size_t)snprintf(out + used, size - used, "%s%s", used > 0 ? " " : "",
                                 qs_warning_key((enum qs_warning_code)code));
    }
}

enum qs_status
qs_session_take(struct qs_sheet_iso *iso, const char *path,
                const struct qs_frame *frame, const struct qs_same_scene *scene,
                struct qs_sheet_frame *record, struct qs_error *err)
{
    const struct taking now = {frame, scene};
    char warnings[400];
    enum qs_status status = QS_OK;

    for (int p = 0; p < frame->patch_count; p++) {
        if (is_left_out(&now, p))
            continue;
        for (int s = (int)frame->first; status == QS_OK && s < end_of(frame); s++)
            if (!is_spoiled(frame, &frame->patches[p], s))
                status = take_signal(iso, &now, p, s,
                                     scene == NULL || s >= (int)QS_CHANNELS, err);
    }
    if (status != QS_OK)
        return status;
    list_warnings(scene != NULL ? &scene->random : frame, warnings, sizeof warnings);
    record->patches = frame->patch_count;
    record->with_care =
        (scene != NULL ? &scene->random : frame)->verdict.level != QS_VERDICT_FIT;
    return qs_sheet_add_frame(iso, record, path, warnings, err);
}

static enum qs_status
take_parts(struct qs_sheet_signal *into, const struct qs_repeats *repeats, double tone,
           struct qs_error *err)
{
    struct qs_sheet_point random = {.kind = QS_POINT_RANDOM,
                                    .tone = tone,
                                    .mean = repeats->mean,
                                    .variance = repeats->random.sd * repeats->random.sd,
                                    .freedom = repeats->random_freedom,
                                    .patches = 1};
    struct qs_sheet_point fixed = {.kind = QS_POINT_FIXED,
                                   .tone = tone,
                                   .mean = repeats->mean,
                                   .variance = repeats->fixed_variance,
                                   .se = repeats->fixed_se,
                                   .patches = 1};
    enum qs_status status = QS_OK;

    if (random.freedom > 0.0)
        status = qs_sheet_add_point(into, &random, err);
    if (status == QS_OK && fixed.se > 0.0 && !is_texture(repeats))
        status = qs_sheet_add_point(into, &fixed, err);
    return status;
}

static bool
is_spoiled_in_any(const struct qs_frame *frames, int count, int patch, int signal)
{
    for (int k = 0; k < count; k++)
        if (is_spoiled(&frames[k], &frames[k].patches[patch], signal))
            return true;
    return false;
}

enum qs_status
qs_session_take_scene(struct qs_sheet_iso *iso, const struct qs_same_scene *scene,
                      const struct qs_frame *frames, struct qs_error *err)
{
    const struct qs_frame *random = &scene->random;
    enum qs_status status = QS_OK;

    for (int p = 0; p < random->patch_count; p++) {
        const struct qs_scene_patch *patch = &scene->patches[p];

        for (int c = (int)random->first; status == QS_OK && c < (int)QS_CHANNELS; c++)
            if (!is_spoiled_in_any(frames, scene->frames, p, c))
                status = take_parts(&iso->signals[c], &patch->channel[c],
                                    patch->channel[QS_Y].mean, err);
    }
    return status;
}
