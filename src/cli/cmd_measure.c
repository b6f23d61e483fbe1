/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdbool.h>
#include <stdio.h>

#include "base/pool.h"
#include "cli/commands.h"
#include "cli/help.h"
#include "cli/inputs.h"
#include "cli/measure_options.h"
#include "cli/measure_run.h"
#include "cli/measure_scene.h"
#include "cli/progress.h"

static void
measure_one(struct qs_measure_run *run)
{
    const char *path = run->inputs.paths[run->index];
    struct qs_frame frame = {0};
    struct qs_error err = {0};

    qs_run_progress(run, 0.0);
    if (qs_frame_measure(path, &run->options->reading.frame, run->pool, qs_run_progress,
                         run, &frame, &err) != QS_OK) {
        qs_run_fail_input(run, path, err.text);
        return;
    }
    if (qs_series_check(&run->series, &frame, &err) != QS_OK) {
        qs_run_fail_input(run, path, err.text);
        qs_frame_clear(&frame);
        return;
    }
    qs_run_report(run, path, &frame);
    qs_run_show(run, path, &frame);
    qs_frame_clear(&frame);
}

static enum qs_exit
measure_all(struct qs_console *console, const struct qs_measure_options *options,
            struct qs_pool *pool)
{
    struct qs_measure_run run = {.console = console, .options = options, .pool = pool};

    qs_run_open(&run);
    qs_run_gather(&run);
    if (options->same_scene)
        qs_measure_scene(&run);
    while (!options->same_scene && run.index < run.inputs.count &&
           qs_run_has_output(&run)) {
        measure_one(&run);
        run.index++;
    }
    qs_progress_erase(console);
    qs_run_close(&run);
    qs_series_clear(&run.series);
    qs_inputs_clear(&run.inputs);
    return run.failed ? QS_EXIT_FAILED : QS_EXIT_DONE;
}

/* A frame is never overwritten. */
static enum qs_status
check_output(const struct qs_measure_options *options, const char *path,
             struct qs_error *err)
{
    for (int i = 0; path != NULL && i < options->input_count; i++)
        if (qs_is_same_file(path, options->inputs[i]))
            return qs_fail(
                err, QS_ERR_USAGE,
                "%.200s is a frame to be measured; name another file to write to.",
                path);
    return QS_OK;
}

static enum qs_status
read_options(int argc, char **argv, struct qs_measure_options *options,
             struct qs_error *err)
{
    enum qs_status status = qs_measure_options_read(argc, argv, options, err);

    if (status == QS_OK && !options->reading.help && !options->reading.version) {
        status = check_output(options, options->json_path, err);
        if (status == QS_OK)
            status = check_output(options, options->csv_path, err);
        if (status == QS_OK)
            status = check_output(options, options->show_path, err);
    }
    return status;
}

static enum qs_exit
measure(struct qs_console *console, const struct qs_measure_options *options)
{
    struct qs_error err = {0};
    struct qs_pool *pool;
    enum qs_exit result;

    console->quiet = options->reading.quiet;
    if (qs_pool_new(options->reading.threads, &pool, &err) != QS_OK) {
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
    } else if (options.reading.help) {
        (void)fputs(qs_help_measure, stdout);
    } else if (options.reading.version) {
        qs_print_version();
    } else {
        result = measure(console, &options);
    }
    qs_measure_options_clear(&options);
    return result;
}
