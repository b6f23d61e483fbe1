/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/pool.h"
#include "cli/commands.h"
#include "cli/help.h"
#include "cli/inputs.h"
#include "cli/measure_options.h"
#include "cli/progress.h"
#include "cli/whole_file.h"
#include "report/csv.h"
#include "report/json.h"
#include "report/text.h"

/* One run over all frames. */
struct run {
    struct qs_console *console;
    const struct qs_measure_options *options;
    struct qs_pool *pool;
    struct qs_inputs inputs;
    struct qs_whole_file json_file; /* not open: not asked for, or given up */
    struct qs_whole_file csv_file;
    struct qs_json json;
    struct qs_text text;
    bool has_text;
    int index; /* of the frame being measured */
    bool failed;
};

static bool
is_stdout(const char *path)
{
    return path != NULL && strcmp(path, "-") == 0;
}

/* Of standard output main says so itself, once. */
static void
fail_file(struct run *run, const char *path, const struct qs_error *err)
{
    if (!is_stdout(path) || err->status != QS_ERR_WRITE)
        qs_say_error(run->console, path, err->text);
    run->failed = true;
}

static void
give_up_json(struct run *run, const struct qs_error *err)
{
    qs_json_drop(&run->json);
    qs_whole_file_drop(&run->json_file);
    fail_file(run, run->options->json_path, err);
}

static void
give_up_csv(struct run *run, const struct qs_error *err)
{
    qs_whole_file_drop(&run->csv_file);
    fail_file(run, run->options->csv_path, err);
}

static void
open_json(struct run *run)
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
open_csv(struct run *run)
{
    struct qs_error err = {0};

    if (run->options->csv_path == NULL)
        return;
    if (qs_whole_file_open(run->options->csv_path, &run->csv_file, &err) != QS_OK)
        fail_file(run, run->options->csv_path, &err);
    else if (qs_csv_start(run->csv_file.stream, &err) != QS_OK)
        give_up_csv(run, &err);
}

static void
open_outputs(struct run *run)
{
    const struct qs_measure_options *options = run->options;

    run->has_text = !options->quiet && !is_stdout(options->json_path) &&
                    !is_stdout(options->csv_path);
    if (run->has_text)
        qs_text_start(&run->text, stdout,
                      (struct qs_text_options){options->all_patches,
                                               options->frame.encoded_light});
    open_json(run);
    open_csv(run);
}

/* Whether anything would come of measuring one more frame. */
static bool
has_output(struct run *run)
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
static void
fail_input(struct run *run, const char *path, const char *why)
{
    struct qs_error err = {0};

    qs_say_error(run->console, path, why);
    run->failed = true;
    if (run->json_file.stream != NULL &&
        qs_json_failed(&run->json, path, why, &err) != QS_OK)
        give_up_json(run, &err);
}

static void
gather_inputs(struct run *run)
{
    for (int i = 0; i < run->options->input_count; i++) {
        struct qs_error err = {0};

        if (qs_inputs_add(&run->inputs, run->options->inputs[i], &err) != QS_OK)
            fail_input(run, run->options->inputs[i], err.text);
    }
}

static void
report_text(struct run *run, const char *path, const struct qs_frame *frame)
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

static void
report(struct run *run, const char *path, const struct qs_frame *frame)
{
    struct qs_error json_err = {0}, csv_err = {0};

    qs_progress_erase(run->console);
    report_text(run, path, frame);
    if (run->json_file.stream != NULL &&
        qs_json_frame(&run->json, path, frame, &json_err) != QS_OK)
        give_up_json(run, &json_err);
    if (run->csv_file.stream != NULL &&
        qs_csv_frame(run->csv_file.stream, path, frame, &csv_err) != QS_OK)
        give_up_csv(run, &csv_err);
}

static void
draw_progress(void *context, double share)
{
    struct run *run = context;

    qs_progress_draw(run->console, run->index, run->inputs.count,
                     run->inputs.paths[run->index], share);
}

static void
measure_one(struct run *run)
{
    const char *path = run->inputs.paths[run->index];
    struct qs_frame frame = {0};
    struct qs_error err = {0};

    draw_progress(run, 0.0);
    if (qs_frame_measure(path, &run->options->frame, run->pool, draw_progress, run,
                         &frame, &err) != QS_OK) {
        fail_input(run, path, err.text);
        return;
    }
    report(run, path, &frame);
    qs_frame_clear(&frame);
}

static void
close_outputs(struct run *run)
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

static enum qs_exit
measure_all(struct qs_console *console, const struct qs_measure_options *options,
            struct qs_pool *pool)
{
    struct run run = {.console = console, .options = options, .pool = pool};

    open_outputs(&run);
    gather_inputs(&run);
    while (run.index < run.inputs.count && has_output(&run)) {
        measure_one(&run);
        run.index++;
    }
    qs_progress_erase(console);
    close_outputs(&run);
    qs_inputs_clear(&run.inputs);
    return run.failed ? QS_EXIT_FAILED : QS_EXIT_DONE;
}

static bool
is_same_file(const char *a, const char *b)
{
    struct stat of_a, of_b;

    return stat(a, &of_a) == 0 && stat(b, &of_b) == 0 && of_a.st_dev == of_b.st_dev &&
           of_a.st_ino == of_b.st_ino;
}

/* A frame is never overwritten. */
static enum qs_status
check_output(const struct qs_measure_options *options, const char *path,
             struct qs_error *err)
{
    for (int i = 0; path != NULL && i < options->input_count; i++)
        if (is_same_file(path, options->inputs[i]))
            return qs_fail(
                err, QS_ERR_USAGE,
                "%.200s is a frame to be measured; name another file for the "
                "figures.",
                path);
    return QS_OK;
}

static enum qs_status
read_options(int argc, char **argv, struct qs_measure_options *options,
             struct qs_error *err)
{
    enum qs_status status = qs_measure_options_read(argc, argv, options, err);

    if (status == QS_OK && !options->help && !options->version) {
        status = check_output(options, options->json_path, err);
        if (status == QS_OK)
            status = check_output(options, options->csv_path, err);
    }
    return status;
}

static enum qs_exit
measure(struct qs_console *console, const struct qs_measure_options *options)
{
    struct qs_error err = {0};
    struct qs_pool *pool;
    enum qs_exit result;

    console->quiet = options->quiet;
    if (qs_pool_new(options->threads, &pool, &err) != QS_OK) {
        qs_say_error(console, "measure", err.text);
        return QS_EXIT_FAILED;
    }
    result = measure_all(console, options, pool);
    qs_pool_free(pool);
    return result;
}

enum qs_exit
qs_cmd_measure(struct qs_console *console, int argc, char **argv)
{
    struct qs_measure_options options;
    struct qs_error err = {0};
    enum qs_exit result = QS_EXIT_DONE;

    if (read_options(argc, argv, &options, &err) != QS_OK) {
        qs_say_usage(console, "measure", err.text);
        result = err.status == QS_ERR_USAGE ? QS_EXIT_USAGE : QS_EXIT_FAILED;
    } else if (options.help) {
        (void)fputs(qs_help_measure, stdout);
    } else if (options.version) {
        qs_print_version();
    } else {
        result = measure(console, &options);
    }
    qs_measure_options_clear(&options);
    return result;
}
