/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/measure_run.h"

#include <string.h>

#include "cli/progress.h"
#include "frame/preview.h"
#include "report/show.h"
#include "report/text_scene.h"

static bool
is_stdout(const char *path)
{
    return path != NULL && strcmp(path, "-") == 0;
}

/* Of standard output main says so itself, once. */
static void
fail_file(struct qs_measure_run *run, const char *path, const struct qs_error *err)
{
    if (!is_stdout(path) || err->status != QS_ERR_WRITE)
        qs_say_error(run->console, path, err->text);
    run->failed = true;
}

static void
give_up_json(struct qs_measure_run *run, const struct qs_error *err)
{
    qs_json_drop(&run->json);
    qs_whole_file_drop(&run->json_file);
    fail_file(run, run->options->json_path, err);
}

static void
give_up_csv(struct qs_measure_run *run, const struct qs_error *err)
{
    qs_whole_file_drop(&run->csv_file);
    fail_file(run, run->options->csv_path, err);
}

static void
open_json(struct qs_measure_run *run)
{
    struct qs_error err = {0};

    if (run->options->json_path == NULL)
        return;
    if (qs_whole_file_open(run->options->json_path, &run->json_file, &err) != QS_OK)
        fail_file(run, run->options->json_path, &err);
    else if (qs_json_start(&run->json, run->json_file.stream, &err) != QS_OK)
        give_up_json(run, &err);
}

static void
open_csv(struct qs_measure_run *run)
{
    struct qs_error err = {0};

    if (run->options->csv_path == NULL)
        return;
    if (qs_whole_file_open(run->options->csv_path, &run->csv_file, &err) != QS_OK)
        fail_file(run, run->options->csv_path, &err);
    else if (qs_csv_start(run->csv_file.stream, &err) != QS_OK)
        give_up_csv(run, &err);
}

void
qs_run_open(struct qs_measure_run *run)
{
    const struct qs_measure_options *options = run->options;

    run->has_text = !options->reading.quiet && !is_stdout(options->json_path) &&
                    !is_stdout(options->csv_path);
    if (run->has_text)
        qs_text_start(&run->text, stdout,
                      (struct qs_text_options){options->all_patches,
                                               options->reading.frame.encoded_light});
    open_json(run);
    open_csv(run);
}

/* Whether anything would come of measuring one more frame. */
bool
qs_run_has_output(struct qs_measure_run *run)
{
    const bool to_stdout =
        run->has_text || run->json_file.is_stdout || run->csv_file.is_stdout;
    const bool asked =
        run->options->json_path != NULL || run->options->csv_path != NULL;

    if (to_stdout && qs_output_is_well(run->console))
        return true;
    if (run->json_file.stream != NULL && !run->json_file.is_stdout)
        return true;
    if (run->csv_file.stream != NULL && !run->csv_file.is_stdout)
        return true;
    return !to_stdout && !asked; /* --quiet alone: the exit status is what is asked */
}

/* Names an input that could not be used. */
void
qs_run_fail_input(struct qs_measure_run *run, const char *path, const char *why)
{
    struct qs_error err = {0};

    qs_say_error(run->console, path, why);
    run->failed = true;
    if (run->json_file.stream != NULL &&
        qs_json_failed(&run->json, path, why, &err) != QS_OK)
        give_up_json(run, &err);
}

void
qs_run_gather(struct qs_measure_run *run)
{
    for (int i = 0; i < run->options->input_count; i++) {
        struct qs_error err = {0};

        if (qs_inputs_add(&run->inputs, run->options->inputs[i], &err) != QS_OK)
            qs_run_fail_input(run, run->options->inputs[i], err.text);
    }
}

static void
report_text(struct qs_measure_run *run, const char *path, const struct qs_frame *frame)
{
    struct qs_error err = {0};

    if (!run->has_text) {
        qs_say_warnings(run->console, path, frame);
        return;
    }
    if (qs_text_frame(&run->text, path, frame, &err) != QS_OK) {
        qs_say_error(run->console, path, err.text);
        run->failed = true;
    }
}

void
qs_run_report_figures(struct qs_measure_run *run, const char *path,
                      const struct qs_frame *frame)
{
    struct qs_error json_err = {0}, csv_err = {0};

    if (run->json_file.stream != NULL &&
        qs_json_frame(&run->json, path, frame, &json_err) != QS_OK)
        give_up_json(run, &json_err);
    if (run->csv_file.stream != NULL &&
        qs_csv_frame(run->csv_file.stream, path, frame, &csv_err) != QS_OK)
        give_up_csv(run, &csv_err);
}

void
qs_run_report(struct qs_measure_run *run, const char *path,
              const struct qs_frame *frame)
{
    qs_progress_erase(run->console);
    report_text(run, path, frame);
    qs_run_report_figures(run, path, frame);
}

static const char *const *
paths_of(const struct qs_measure_run *run)
{
    return (const char *const *)run->inputs.paths;
}

static void
report_scene_text(struct qs_measure_run *run, const struct qs_same_scene *scene)
{
    struct qs_error err = {0};

    if (!run->has_text) {
        qs_say_warnings(run->console, run->inputs.paths[0], &scene->random);
        return;
    }
    if (qs_text_scene(stdout, paths_of(run), scene, run->options->all_patches, &err) !=
        QS_OK) {
        qs_say_error(run->console, run->inputs.paths[0], err.text);
        run->failed = true;
    }
}

void
qs_run_report_scene(struct qs_measure_run *run, const struct qs_same_scene *scene)
{
    struct qs_error err = {0};

    qs_progress_erase(run->console);
    report_scene_text(run, scene);
    if (run->json_file.stream != NULL &&
        qs_json_same_scene(&run->json, paths_of(run), scene, &err) != QS_OK)
        give_up_json(run, &err);
}

void
qs_run_progress(void *context, double share)
{
    struct qs_measure_run *run = context;

    qs_progress_draw(run->console, run->index, run->inputs.count,
                     run->inputs.paths[run->index], share);
}

static void
draw_patches(struct qs_measure_run *run, const char *path, const struct qs_frame *frame)
{
    struct qs_preview preview;
    struct qs_whole_file file;
    struct qs_error err = {0};

    if (qs_preview_make(path, &run->options->reading.frame, QS_SHOW_MOST_PX, &preview,
                        &err) != QS_OK) {
        qs_run_fail_input(run, path, err.text);
        return;
    }
    if (qs_whole_file_open(run->options->show_path, &file, &err) != QS_OK) {
        fail_file(run, run->options->show_path, &err);
    } else if (qs_show(file.stream, &preview, frame, &err) != QS_OK) {
        qs_whole_file_drop(&file);
        fail_file(run, run->options->show_path, &err);
    } else if (qs_whole_file_keep(&file, &err) != QS_OK) {
        fail_file(run, run->options->show_path, &err);
    }
    qs_preview_clear(&preview);
}

void
qs_run_show(struct qs_measure_run *run, const char *path, const struct qs_frame *frame)
{
    if (run->options->show_path != NULL)
        draw_patches(run, path, frame);
}

void
qs_run_close(struct qs_measure_run *run)
{
    struct qs_error err = {0};

    if (run->has_text && qs_text_end(&run->text, &err) != QS_OK)
        fail_file(run, "report", &err);
    qs_error_clear(&err);
    if (run->json_file.stream != NULL) {
        if (qs_json_end(&run->json, &err) != QS_OK)
            give_up_json(run, &err);
        else if (qs_whole_file_keep(&run->json_file, &err) != QS_OK)
            fail_file(run, run->options->json_path, &err);
    }
    qs_error_clear(&err);
    if (run->csv_file.stream != NULL &&
        qs_whole_file_keep(&run->csv_file, &err) != QS_OK)
        fail_file(run, run->options->csv_path, &err);
}
