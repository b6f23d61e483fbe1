/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/repeats_run.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "frame/deliveries.h"
#include "frame/opening.h"
#include "frame/repeats_patches.h"
#include "frame/repeats_survey.h"
#include "frame/trace_filtered.h"
#include "frame/warnings.h"

/* A normal distribution has this share beyond 3 sd. */
static const double MOST_CLIPPED = 0.00135;

/* A change of light of this share is worth a word. */
static const double DRIFT = 0.01;

struct scene_journey {
    const struct qs_frame_options *options;
    struct qs_pool *pool;
    qs_frame_progress *progress;
    void *context;
    double done_before;
    double pass_share;
    struct qs_repeat_set set;
    struct qs_reductions reductions;
    struct qs_same_scene *scene;
    int *culprit;
};

static void
pass_progress(void *context, double share)
{
    struct scene_journey *journey = context;

    if (journey->progress != NULL)
        journey->progress(journey->context,
                          journey->done_before + journey->pass_share * share);
}

static enum qs_status
open_scene(struct scene_journey *journey, const char *const *paths, int count,
           struct qs_error *err)
{
    struct qs_same_scene *scene = journey->scene;
    enum qs_status status =
        qs_repeat_set_open(paths, count, journey->options, &journey->set,
                           &scene->random, journey->culprit, err);

    if (status != QS_OK)
        return status;
    *journey->culprit = 0;
    scene->frames = count;
    scene->light = qs_alloc((size_t)count, sizeof *scene->light);
    if (scene->light == NULL)
        return qs_fail_memory(err);
    if (journey->options->patches != NULL)
        status = qs_frame_take_given(journey->options, &scene->random, err);
    if (status == QS_OK)
        status = qs_deliveries_plan(journey->options, &scene->random, err);
    return status;
}

static enum qs_status
survey_scene(struct scene_journey *journey, struct qs_error *err)
{
    struct qs_box boxes[QS_FIND_MAX];
    bool find = journey->options->patches == NULL;
    int count = 0;
    enum qs_status status;

    journey->pass_share = 0.4;
    status = qs_repeats_survey(&journey->set, journey->pool, pass_progress, journey,
                               journey->scene, find ? boxes : NULL, &count,
                               journey->culprit, err);
    journey->done_before = 0.4;
    *journey->culprit = status == QS_OK ? 0 : *journey->culprit;
    if (status != QS_OK || !find)
        return status;
    return qs_frame_take_found(boxes, count, &journey->scene->random, err);
}

static enum qs_status
measure_scene(struct scene_journey *journey, struct qs_error *err)
{
    struct qs_same_scene *scene = journey->scene;
    struct qs_frame *random = &scene->random;
    struct qs_patch_task task;
    enum qs_status status = qs_reductions_init(&journey->reductions, random, err);

    if (status == QS_OK)
        status = qs_frame_make_falls(&journey->reductions, random, err);
    scene->patches = qs_alloc((size_t)random->patch_count, sizeof *scene->patches);
    if (status == QS_OK && scene->patches == NULL)
        status = qs_fail_memory(err);
    if (status != QS_OK || random->patch_count == 0)
        return status;
    task = (struct qs_patch_task){.linear = journey->set.linears[0],
                                  .reductions = journey->reductions.list,
                                  .reduction_count = journey->reductions.count,
                                  .lags_x = journey->reductions.lags_x,
                                  .lags_y = journey->reductions.lags_y};
    journey->pass_share = 1.0 - journey->done_before;
    return qs_repeats_patches(&journey->set, &task, journey->reductions.margin,
                              journey->pool, pass_progress, journey, scene,
                              journey->culprit, err);
}

/* Largest over smallest, less 1. */
static double
spread_of(const struct qs_same_scene *scene, enum qs_channel over,
          enum qs_channel under)
{
    double low = HUGE_VAL, high = -HUGE_VAL;

    for (int k = 0; k < scene->frames; k++) {
        const double *light = scene->light[k].of_mean;
        double value = over == under ? light[over] : light[over] / light[under];

        low = fmin(low, value);
        high = fmax(high, value);
    }
    return high / low - 1.0;
}

static enum qs_status
remark_light(struct qs_same_scene *scene, struct qs_error *err)
{
    struct qs_frame *random = &scene->random;
    double drift = spread_of(scene, QS_Y, QS_Y);
    double red, blue;
    enum qs_status status = QS_OK;

    if (drift > DRIFT)
        status = qs_warn(random, QS_WARN_EXPOSURE_DRIFT, -1, err,
                         "Brightness differs by %.1f %% between the frames. What all "
                         "pixels share of that was taken off the noise; for steadier "
                         "frames let the lamps warm up, and use a shutter time that "
                         "is a whole number of mains half-waves (1/50 or 1/60 s).",
                         100.0 * drift);
    if (status != QS_OK || random->channels == 1)
        return status;
    red = spread_of(scene, QS_R, QS_G);
    blue = spread_of(scene, QS_B, QS_G);
    if (fmax(red, blue) <= DRIFT)
        return QS_OK;
    return qs_warn(random, QS_WARN_EXPOSURE_DRIFT, -1, err,
                   "White balance differs between the frames: red over green by %.1f "
                   "%%, blue over green by %.1f %%. It was taken off the noise; set a "
                   "fixed white balance in the converter, and let the lamps warm up.",
                   100.0 * red, 100.0 * blue);
}

static enum qs_status
remark_texture(struct qs_same_scene *scene, struct qs_error *err)
{
    int count = 0, first = 0;
    char which[64] = "The patch holds";

    for (int p = 0; p < scene->random.patch_count; p++)
        if (scene->patches[p].channel[QS_Y].textured && count++ == 0)
            first = p;
    if (count == 0)
        return QS_OK;
    if (scene->random.patch_count > 1)
        (void)snprintf(which, sizeof which, "%d of %d patches hold", count,
                       scene->random.patch_count);
    return qs_warn(
        &scene->random, QS_WARN_TEXTURED, count == 1 ? first : -1, err,
        "%s structure of the surface that stays from frame to frame. A single "
        "frame counts it as noise: sd too high, falls too little. Random "
        "noise stands; fixed and total noise hold the surface too. For "
        "those, put it out of focus or choose another with --patch.",
        which);
}

static enum qs_status
remark_patches(struct qs_same_scene *scene, struct qs_error *err)
{
    if (scene->random.patch_count > 0)
        return QS_OK;
    return qs_warn(&scene->random, QS_WARN_NO_FLAT_PATCH, -1, err,
                   "No flat part was found, so fixed noise can't be told from detail; "
                   "random noise over tone stands. Name a flat place with --patch "
                   "X,Y,W,H if there is one.");
}

enum qs_status
qs_same_scene_measure(const char *const *paths, int count,
                      const struct qs_frame_options *options, struct qs_pool *pool,
                      qs_frame_progress *progress, void *context,
                      struct qs_same_scene *out, int *culprit, struct qs_error *err)
{
    struct scene_journey journey = {.options = options,
                                    .pool = pool,
                                    .progress = progress,
                                    .context = context,
                                    .scene = out,
                                    .culprit = culprit};
    enum qs_status status;

    assert(count >= 2 && count <= QS_REPEATS_MOST && !options->encoded_light);
    *out = (struct qs_same_scene){0};
    status = open_scene(&journey, paths, count, err);
    if (status == QS_OK)
        status = survey_scene(&journey, err);
    if (status == QS_OK)
        status = measure_scene(&journey, err);
    if (status == QS_OK)
        status = remark_light(out, err);
    if (status == QS_OK)
        status = remark_patches(out, err);
    if (status == QS_OK)
        status = remark_texture(out, err);
    qs_reductions_clear(&journey.reductions);
    qs_repeat_set_close(&journey.set);
    if (status != QS_OK)
        qs_same_scene_clear(out);
    return status;
}

static bool
is_heeded(const struct qs_frame *random, const struct qs_warning *warning)
{
    for (int i = 0; i < random->warning_count; i++)
        if (random->warnings[i].code == warning->code &&
            random->warnings[i].patch == warning->patch)
            return true;
    return false;
}

enum qs_status
qs_same_scene_heed(struct qs_same_scene *scene, const struct qs_frame *frame,
                   struct qs_error *err)
{
    enum qs_status status = QS_OK;

    for (int i = 0; status == QS_OK && i < frame->warning_count; i++) {
        const struct qs_warning *warning = &frame->warnings[i];

        if (warning->code != QS_WARN_NOISE_REDUCED &&
            warning->code != QS_WARN_SHARPENED && !is_heeded(&scene->random, warning))
            status = qs_warn(&scene->random, warning->code, warning->patch, err, "%s",
                             warning->text);
    }
    return status;
}

/* Noise that is cut off, or finer than the steps of 8 bits, looks like anything. */
static bool
is_whole(const struct qs_frame *random, const struct qs_patch *patch)
{
    for (int c = (int)random->first; c < QS_CHANNELS; c++)
        if (patch->channel[c].clipped_low + patch->channel[c].clipped_high >
            MOST_CLIPPED)
            return false;
    return !qs_is_warned(random, QS_WARN_EIGHT_BIT) || qs_patch_steps(patch) >= 1.0;
}

enum qs_status
qs_same_scene_judge(struct qs_same_scene *scene, struct qs_error *err)
{
    struct qs_frame *random = &scene->random;
    struct qs_sites *sites = qs_alloc((size_t)random->patch_count, sizeof *sites);
    enum qs_status status;
    int count = 0;

    if (sites == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < random->patch_count; p++)
        if (is_whole(random, &random->patches[p]))
            sites[count++] = random->patches[p].traces.sites;
    status = qs_remark_filtered(
        sites, count, qs_is_warned(random, QS_WARN_LOSSY_BLOCKS), random, err);
    qs_free(sites);
    return status;
}

void
qs_same_scene_clear(struct qs_same_scene *scene)
{
    qs_frame_clear(&scene->random);
    qs_free(scene->light);
    qs_free(scene->patches);
    *scene = (struct qs_same_scene){0};
}
