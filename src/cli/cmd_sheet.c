/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/pool.h"
#include "cli/calibrate.h"
#include "cli/commands.h"
#include "cli/help.h"
#include "cli/inputs.h"
#include "cli/progress.h"
#include "cli/sheet_options.h"
#include "cli/shot_log.h"
#include "cli/whole_file.h"
#include "report/sheet_charts.h"
#include "report/sheet_text.h"
#include "sheet/session.h"
#include "sheet/sheet_json.h"

/* A call of `sheet`. */
struct sheet_run {
    struct qs_console *console;
    const struct qs_sheet_options *options;
    struct qs_pool *pool;
    struct qs_inputs inputs;
    struct qs_shot_log log;
    struct qs_session_frame *frames;
    struct qs_session_frame card; /* of --calibrate */
    bool *iso_used;               /* of options->isos */
    struct qs_sheet sheet;
    bool failed;
    bool misused; /* the command line is wrong, which only files can tell */
};

static void
fail_on(struct sheet_run *run, const char *path, const char *why)
{
    qs_say_error(run->console, path, why);
    run->failed = true;
}

static void
told(void *context, const char *path, enum qs_session_news news, const char *why)
{
    struct sheet_run *run = context;

    if (news == QS_NEWS_REFUSED) {
        fail_on(run, path, why);
    } else if (news == QS_NEWS_MEASURED && why != NULL && !run->console->quiet) {
        char line[640];

        /* behind the semicolon: what to do where repeats are a must */
        (void)snprintf(line, sizeof line, "Measured by itself, not as a repeat: %.*s.",
                       (int)strcspn(why, ";"), why);
        qs_say_error(run->console, path, line);
    }
}

static void
progress(void *context, int index, int count, const char *path, double share)
{
    struct sheet_run *run = context;

    qs_progress_draw(run->console, index, count, path, share);
}

/* Whether FILE of FILE=VALUE means this frame; without FILE every frame. */
static bool
iso_is_for(const struct qs_given_iso *given, const char *path)
{
    char name[4096];

    if (given->name_length == 0)
        return true;
    if ((size_t)given->name_length >= sizeof name)
        return false;
    memcpy(name, given->text, (size_t)given->name_length);
    name[given->name_length] = '\0';
    return qs_names_frame(name, path);
}

/* What log and options say of a frame; an option goes before the log. */
static struct qs_session_frame
describe(struct sheet_run *run, const char *path)
{
    struct qs_session_frame frame = {.path = path,
                                     .shot = run->options->reading.frame.shot};
    struct qs_logged *row = qs_shot_log_find(&run->log, path);

    if (row != NULL) {
        char camera[sizeof frame.shot.camera];

        memcpy(camera, frame.shot.camera, sizeof camera);
        frame.shot = row->shot;
        frame.light_lx = row->light_lx;
        row->used = true;
        if (camera[0] != '\0')
            memcpy(frame.shot.camera, camera, sizeof camera);
    }
    for (int i = 0; i < run->options->iso_count; i++)
        if (iso_is_for(&run->options->isos[i], path)) {
            frame.shot.iso = run->options->isos[i].iso;
            run->iso_used[i] = true;
        }
    return frame;
}

/* What was said of frames that are not there is a slip of the keyboard. */
static void
name_unused(struct sheet_run *run)
{
    for (int i = 0; i < run->options->iso_count; i++)
        if (!run->iso_used[i])
            fail_on(run, run->options->isos[i].text,
                    "--iso names no frame among those given.");
    for (int i = 0; i < run->log.count; i++)
        if (!run->log.rows[i].used && !run->console->quiet)
            qs_say_error(run->console, run->log.rows[i].file,
                         "The log names it, but it is not among the frames given.");
}

static enum qs_status
check_against(const char *out, const char *source, struct qs_error *err)
{
    if (out == NULL || source == NULL || !qs_is_same_file(out, source))
        return QS_OK;
    return qs_fail(err, QS_ERR_USAGE,
                   "%.200s is read here, and would be written over; name another file "
                   "to write to.",
                   out);
}

/* What is read is never overwritten, but for the sheet that is added to. */
static enum qs_status
check_output(const struct sheet_run *run, const char *out, struct qs_error *err)
{
    enum qs_status status = check_against(out, run->options->log_path, err);

    if (status == QS_OK)
        status = check_against(out, run->options->calibration.path, err);
    for (int i = 0; status == QS_OK && i < run->inputs.count; i++)
        status = check_against(out, run->inputs.paths[i], err);
    return status;
}

static enum qs_status
check_outputs(const struct sheet_run *run, struct qs_error *err)
{
    const char *chart = run->options->chart_path;
    enum qs_status status = check_output(run, run->options->out_path, err);

    if (status == QS_OK)
        status = check_output(run, chart, err);
    return status == QS_OK ? check_against(chart, run->options->add_path, err) : status;
}

/* False where the command line is wrong after all: nothing is done then. */
static bool
find_inputs(struct sheet_run *run)
{
    struct qs_error err = {QS_OK, ""};

    for (int i = 0; i < run->options->input_count; i++) {
        struct qs_error own = {QS_OK, ""};

        if (qs_inputs_add(&run->inputs, run->options->inputs[i], &own) != QS_OK)
            fail_on(run, run->options->inputs[i], own.text);
    }
    run->misused = check_outputs(run, &err) != QS_OK;
    if (run->misused)
        qs_say_usage(run->console, "sheet", err.text);
    return !run->misused;
}

static enum qs_status
gather(struct sheet_run *run, struct qs_error *err)
{
    run->frames = qs_alloc((size_t)run->inputs.count, sizeof *run->frames);
    run->iso_used = qs_alloc((size_t)run->options->iso_count, sizeof *run->iso_used);
    if (run->frames == NULL || run->iso_used == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < run->inputs.count; i++)
        run->frames[i] = describe(run, run->inputs.paths[i]);
    if (run->options->calibration.path != NULL)
        run->card = describe(run, run->options->calibration.path);
    name_unused(run);
    return QS_OK;
}

static void
measure(struct sheet_run *run)
{
    const struct qs_session_listener listener = {run, told, progress};
    struct qs_error err = {QS_OK, ""};
    enum qs_status status = gather(run, &err);

    if (status == QS_OK)
        status =
            qs_session_run(run->frames, run->inputs.count, &run->options->reading.frame,
                           run->pool, &listener, &run->sheet, &err);
    qs_progress_erase(run->console);
    if (status != QS_OK)
        fail_on(run, "sheet", err.text);
}

static void
calibrate(struct sheet_run *run)
{
    const struct qs_sheet_options *options = run->options;
    struct qs_frame_options frame = options->reading.frame;
    struct qs_error err = {QS_OK, ""};

    if (options->calibration.path == NULL)
        return;
    frame.shot = run->card.shot;
    if (qs_calibrate_by(&options->calibration, &frame, run->pool,
                        &run->sheet.calibration, &err) != QS_OK)
        fail_on(run, options->calibration.path, err.text);
}

/* Writes what `write` writes to a file that is there whole or not at all. */
static void
write_whole(struct sheet_run *run, const char *path,
            enum qs_status (*write)(FILE *, const struct sheet_run *,
                                    struct qs_error *))
{
    struct qs_whole_file file;
    struct qs_error err = {QS_OK, ""};

    enum qs_status status = qs_whole_file_open(path, &file, &err);

    if (status == QS_OK) {
        status = write(file.stream, run, &err);
        if (status == QS_OK)
            status = qs_whole_file_keep(&file, &err);
        else
            qs_whole_file_drop(&file);
    }
    if (status == QS_ERR_WRITE && strcmp(path, "-") == 0)
        run->failed = true; /* of standard output main says so, once */
    else if (status != QS_OK)
        fail_on(run, path, err.text);
}

static enum qs_status
write_sheet(FILE *out, const struct sheet_run *run, struct qs_error *err)
{
    return qs_sheet_write(out, &run->sheet, err);
}

static enum qs_status
write_chart(FILE *out, const struct sheet_run *run, struct qs_error *err)
{
    return qs_sheet_charts(
        out, (enum qs_chart_format)qs_chart_format_of(run->options->chart_path),
        &run->sheet, err);
}

/* Where the sheet goes: --out, else the sheet that was added to. */
static const char *
target(const struct qs_sheet_options *options)
{
    return options->out_path != NULL ? options->out_path : options->add_path;
}

static void
show(struct sheet_run *run)
{
    const char *out = target(run->options);
    struct qs_error err = {QS_OK, ""};

    if (run->options->chart_path != NULL)
        write_whole(run, run->options->chart_path, write_chart);
    if (run->options->reading.quiet || (out != NULL && strcmp(out, "-") == 0))
        return;
    if (qs_sheet_text(stdout, &run->sheet, &err) != QS_OK)
        fail_on(run, "sheet", err.text);
    if (out == NULL && !qs_sheet_options_show(run->options))
        qs_sheet_text_unkept(stdout);
}

static void
make(struct sheet_run *run)
{
    const struct qs_sheet_options *options = run->options;
    struct qs_error err = {QS_OK, ""};

    if (!find_inputs(run))
        return;
    if (options->add_path != NULL &&
        qs_sheet_read(options->add_path, &run->sheet, &err) != QS_OK) {
        fail_on(run, options->add_path, err.text);
        return;
    }
    if (options->log_path != NULL &&
        qs_shot_log_read(options->log_path, &run->log, &err) != QS_OK) {
        fail_on(run, options->log_path, err.text);
        return;
    }
    measure(run);
    calibrate(run);
    if (run->sheet.iso_count == 0) {
        fail_on(run, "sheet",
                "None of the frames could be used, so there is no camera sheet.");
        return;
    }
    if (target(options) != NULL)
        write_whole(run, target(options), write_sheet);
    show(run);
}

static void
look(struct sheet_run *run)
{
    struct qs_error err = {QS_OK, ""};
    const char *path = run->options->inputs[0];

    if (qs_sheet_read(path, &run->sheet, &err) != QS_OK)
        fail_on(run, path, err.text);
    else if (run->sheet.iso_count == 0)
        fail_on(run, path,
                "This camera sheet is empty: it holds no ISO. Make it again with "
                "quietsize sheet.");
    else
        show(run);
}

static enum qs_exit
run_sheet(struct qs_console *console, const struct qs_sheet_options *options)
{
    struct sheet_run run = {.console = console, .options = options};
    struct qs_error err = {QS_OK, ""};

    console->quiet = options->reading.quiet;
    if (qs_pool_new(options->reading.threads, &run.pool, &err) != QS_OK) {
        qs_say_error(console, "sheet", err.text);
        return QS_EXIT_FAILED;
    }
    if (qs_sheet_options_show(options))
        look(&run);
    else
        make(&run);
    qs_sheet_clear(&run.sheet);
    qs_shot_log_clear(&run.log);
    qs_inputs_clear(&run.inputs);
    qs_free(run.frames);
    qs_free(run.iso_used);
    qs_pool_free(run.pool);
    if (run.misused)
        return QS_EXIT_USAGE;
    return run.failed ? QS_EXIT_FAILED : QS_EXIT_DONE;
}

enum qs_exit
qs_cmd_sheet(struct qs_console *console, int argc, char **argv)
{
    struct qs_sheet_options options;
    struct qs_error err = {QS_OK, ""};
    enum qs_exit result = QS_EXIT_DONE;

    if (qs_sheet_options_read(argc, argv, &options, &err) != QS_OK) {
        qs_say_usage(console, "sheet", err.text);
        result = err.status == QS_ERR_USAGE ? QS_EXIT_USAGE : QS_EXIT_FAILED;
    } else if (options.reading.help) {
        (void)fputs(qs_help_sheet, stdout);
    } else if (options.reading.version) {
        qs_print_version();
    } else {
        result = run_sheet(console, &options);
    }
    qs_sheet_options_clear(&options);
    return result;
}
