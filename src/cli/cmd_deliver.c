/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/memory.h"
#include "base/write_reason.h"
#include "cli/commands.h"
#include "cli/deliver_name.h"
#include "cli/deliver_run.h"
#include "cli/help.h"
#include "cli/progress.h"
#include "cli/whole_file.h"
#include "deliver/fingerprint.h"

static bool
is_stdout(const char *path)
{
    return path != NULL && strcmp(path, "-") == 0;
}

/* Makes a folder, and those that lead to it. */
static enum qs_status
make_folder(const char *path, struct qs_error *err)
{
    char *copy = qs_alloc(strlen(path) + 1, 1);
    enum qs_status status = copy != NULL ? QS_OK : qs_fail_memory(err);
    struct stat about;

    if (copy != NULL)
        (void)strcpy(copy, path);
    for (char *at = copy; status == QS_OK && *at != '\0'; at++) {
        char next = at[1];

        if (at[0] == '/' || (next != '/' && next != '\0'))
            continue;
        at[1] = '\0';
        if (mkdir(copy, 0777) != 0 && errno != EEXIST && errno != EISDIR)
            status = qs_fail_write(err);
        at[1] = next;
    }
    qs_free(copy);
    if (status == QS_OK && (stat(path, &about) != 0 || !S_ISDIR(about.st_mode)))
        return qs_fail(err, QS_ERR_WRITE,
                       "This is a file, where a folder for the deliveries was asked "
                       "for; choose another name.");
    return status;
}

static bool
is_delivery(const char *path)
{
    char text[QS_SEAL_BYTES + 1];

    return qs_seal_get(path, text) && qs_fingerprint_is_text(text);
}

/* A folder that deliveries go to themselves gives its frames, not those. */
static void
gather(struct qs_deliver_run *run)
{
    const char *out = run->options->out_path;

    for (int i = 0; i < run->options->input_count; i++) {
        const char *path = run->options->inputs[i];
        const int before = run->inputs.count;
        struct qs_error err = {QS_OK, ""};

        if (qs_inputs_add(&run->inputs, path, &err) != QS_OK)
            qs_deliver_fail(run, path, NULL, err.text);
        else if (qs_is_same_file(path, out))
            qs_inputs_filter(&run->inputs, before, is_delivery);
    }
}

static void
write_json(struct qs_deliver_run *run)
{
    const char *path = run->options->json_path;
    struct qs_whole_file file;
    struct qs_error err = {QS_OK, ""};
    enum qs_status status;

    if (path == NULL)
        return;
    status = qs_whole_file_open(path, &file, &err);
    if (status == QS_OK) {
        status = qs_delivered_json_write(&run->json, file.stream, &err);
        if (status == QS_OK)
            status = qs_whole_file_keep(&file, &err);
        else
            qs_whole_file_drop(&file);
    }
    if (status == QS_OK)
        return;
    run->failed = true;
    if (!is_stdout(path) || status != QS_ERR_WRITE)
        qs_say_error(run->console, path, err.text);
}

static void
work(struct qs_deliver_run *run)
{
    struct qs_error err = {QS_OK, ""};

    if (run->jobs.count > 0 && !run->options->dry_run &&
        make_folder(run->options->out_path, &err) != QS_OK) {
        qs_say_error(run->console, run->options->out_path, err.text);
        run->failed = true;
        return;
    }
    qs_deliver_all(run);
    run->sum.is_dry_run = run->options->dry_run;
    if (run->has_text && run->sum.delivered + run->sum.before + run->sum.failed > 1)
        run->failed =
            qs_delivered_text_sum(stdout, &run->sum, &err) != QS_OK || run->failed;
    write_json(run);
}

/* QS_OK, or why nothing is done. */
static enum qs_status
start(struct qs_deliver_run *run, struct qs_error *err)
{
    const struct qs_deliver_options *options = run->options;
    enum qs_status status = QS_OK;

    run->has_text = !options->reading.quiet && !is_stdout(options->json_path);
    if (options->name != NULL)
        status = qs_name_check(options->name, err);
    if (status == QS_OK && options->json_path != NULL)
        status = qs_delivered_json_start(&run->json, err);
    if (status != QS_OK)
        return status;
    gather(run);
    for (int i = 0; options->json_path != NULL && i < run->inputs.count; i++)
        if (qs_is_same_file(options->json_path, run->inputs.paths[i]))
            return qs_fail(err, QS_ERR_USAGE,
                           "%.200s is a picture to be delivered; name another file for "
                           "--json.",
                           options->json_path);
    return qs_deliver_jobs_make(options, &run->inputs, &run->jobs, err);
}

static enum qs_exit
run_deliver(struct qs_console *console, const struct qs_deliver_options *options)
{
    struct qs_deliver_run run = {.console = console, .options = options};
    struct qs_error err = {QS_OK, ""};
    enum qs_exit result = QS_EXIT_DONE;
    enum qs_status status;

    console->quiet = options->reading.quiet;
    status = qs_pool_new(options->reading.threads, &run.pool, &err);
    if (status == QS_OK)
        status = start(&run, &err);
    if (status == QS_OK) {
        work(&run);
        result = run.failed ? QS_EXIT_FAILED : QS_EXIT_DONE;
    } else if (status == QS_ERR_USAGE) {
        qs_say_usage(console, "deliver", err.text);
        result = QS_EXIT_USAGE;
    } else {
        qs_say_error(console, "deliver", err.text);
        result = QS_EXIT_FAILED;
    }
    qs_progress_erase(console);
    qs_delivered_json_drop(&run.json);
    qs_deliver_jobs_clear(&run.jobs);
    qs_inputs_clear(&run.inputs);
    qs_pool_free(run.pool);
    return result;
}

enum qs_exit
qs_cmd_deliver(struct qs_console *console, int argc, char **argv)
{
    struct qs_deliver_options options;
    struct qs_error err = {QS_OK, ""};
    enum qs_exit result = QS_EXIT_DONE;

    if (qs_deliver_options_read(argc, argv, &options, &err) != QS_OK) {
        qs_say_usage(console, "deliver", err.text);
        result = err.status == QS_ERR_USAGE ? QS_EXIT_USAGE : QS_EXIT_FAILED;
    } else if (options.reading.help) {
        (void)fputs(qs_help_deliver, stdout);
    } else if (options.reading.version) {
        qs_print_version();
    } else {
        result = run_deliver(console, &options);
    }
    qs_deliver_options_clear(&options);
    return result;
}
