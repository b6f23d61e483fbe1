/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/measure_scene.h"

#include <stdio.h>

#include "base/memory.h"
#include "cli/progress.h"
#include "frame/repeats_run.h"

/* Says of the whole run why nothing is measured. */
static void
refuse(struct qs_measure_run *run, const char *why)
{
    qs_say_error(run->console, "--same-scene", why);
    run->failed = true;
}

static bool
has_right_number(struct qs_measure_run *run)
{
    char text[160];

    if (run->failed) /* one of the inputs named could not be used */
        return false;
    if (run->inputs.count >= 2 && run->inputs.count <= QS_REPEATS_MOST)
        return true;
    (void)snprintf(text, sizeof text,
                   "It takes 2 to %d repeats of one scene, not %d; past 16 the figures "
                   "hardly get surer.",
                   QS_REPEATS_MOST, run->inputs.count);
    refuse(run, text);
    return false;
}

/* Where the scene was measured is where each frame is. */
static enum qs_status
boxes_of(const struct qs_same_scene *scene, struct qs_box **out, struct qs_error *err)
{
    const struct qs_frame *random = &scene->random;
    struct qs_box *boxes = qs_alloc((size_t)random->patch_count, sizeof *boxes);

    *out = boxes;
    if (boxes == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < random->patch_count; p++)
        boxes[p] = random->patches[p].box;
    return QS_OK;
}

static void
measure_by_itself(struct qs_measure_run *run, const struct qs_frame_options *options,
                  struct qs_same_scene *scene)
{
    const char *path = run->inputs.paths[run->index];
    struct qs_frame frame = {0};
    struct qs_error err = {0};
    enum qs_status status =
        qs_frame_measure(path, options, run->pool, qs_run_progress, run, &frame, &err);

    for (int p = 0; status == QS_OK && p < frame.patch_count; p++)
        frame.patches[p].found = scene->random.patches[p].found;
    if (status == QS_OK)
        status = qs_same_scene_heed(scene, &frame, &err);
    if (status == QS_OK)
        qs_run_report_figures(run, path, &frame);
    else
        qs_run_fail_input(run, path, err.text);
    qs_frame_clear(&frame);
}

static void
measure_each(struct qs_measure_run *run, struct qs_same_scene *scene)
{
    struct qs_frame_options options = run->options->reading.frame;
    struct qs_error err = {0};
    struct qs_box *boxes;

    if (boxes_of(scene, &boxes, &err) != QS_OK) {
        refuse(run, err.text);
        return;
    }
    options.patches = boxes;
    options.patch_count = scene->random.patch_count;
    for (run->index = 0; run->index < run->inputs.count; run->index++)
        measure_by_itself(run, &options, scene);
    run->index = 0;
    if (qs_same_scene_judge(scene, &err) != QS_OK)
        refuse(run, err.text);
    qs_free(boxes);
}

void
qs_measure_scene(struct qs_measure_run *run)
{
    const char *const *paths = (const char *const *)run->inputs.paths;
    struct qs_same_scene scene = {0};
    struct qs_error err = {0};
    int culprit = 0;

    if (!has_right_number(run))
        return;
    qs_run_progress(run, 0.0);
    if (qs_same_scene_measure(paths, run->inputs.count, &run->options->reading.frame,
                              run->pool, qs_run_progress, run, &scene, &culprit,
                              &err) != QS_OK) {
        qs_run_fail_input(run, paths[culprit], err.text);
        return;
    }
    measure_each(run, &scene);
    qs_run_report_scene(run, &scene);
    qs_run_show(run, paths[0], &scene.random);
    qs_same_scene_clear(&scene);
}
