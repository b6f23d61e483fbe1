/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "base/pool.h"
#include "cli/calibrate.h"
#include "cli/commands.h"
#include "cli/help.h"
#include "cli/plan_options.h"
#include "cli/whole_file.h"
#include "report/plan_report.h"
#include "sheet/sheet_json.h"

typedef enum qs_status
write_report(FILE *out, const struct qs_plan_report *report, struct qs_error *err);

static bool
is_stdout(const char *path)
{
    return path != NULL && strcmp(path, "-") == 0;
}

/* Writes one form of the report to a file that is there whole or not at all. */
static bool
write_to(struct qs_console *console, const char *path, write_report *write,
         const struct qs_plan_report *report)
{
    struct qs_whole_file file;
    struct qs_error err = {QS_OK, ""};
    enum qs_status status;

    if (path == NULL)
        return true;
    status = qs_whole_file_open(path, &file, &err);
    if (status == QS_OK) {
        status = write(file.stream, report, &err);
        if (status == QS_OK)
            status = qs_whole_file_keep(&file, &err);
        else
            qs_whole_file_drop(&file);
    }
    if (status != QS_OK && !(is_stdout(path) && status == QS_ERR_WRITE))
        qs_say_error(console, path, err.text);
    return status == QS_OK;
}

static enum qs_exit
show(struct qs_console *console, const struct qs_plan_options *options,
     const struct qs_plan_report *report)
{
    struct qs_error err = {QS_OK, ""};
    bool well = write_to(console, options->json_path, qs_plan_json, report);

    well = write_to(console, options->csv_path, qs_plan_csv, report) && well;
    if (!options->quiet && !is_stdout(options->json_path) &&
        !is_stdout(options->csv_path) && qs_plan_text(stdout, report, &err) != QS_OK) {
        qs_say_error(console, "plan", err.text);
        well = false;
    }
    if (!well)
        return QS_EXIT_FAILED;
    if (report->plan != NULL && !report->plan->any_met)
        return QS_EXIT_UNMET;
    return QS_EXIT_DONE;
}

/* A frame in known light goes before what the sheet was calibrated with. */
static enum qs_status
calibrate(const struct qs_plan_options *options, struct qs_sheet *sheet,
          struct qs_error *err)
{
    const struct qs_frame_options as_stored = {.patch_count = 0};
    struct qs_pool *pool;
    enum qs_status status;

    if (options->calibration.path == NULL)
        return QS_OK;
    status = qs_pool_new(0, &pool, err);
    if (status != QS_OK)
        return status;
    status = qs_calibrate_by(&options->calibration, &as_stored, pool,
                             &sheet->calibration, err);
    qs_pool_free(pool);
    return status;
}

static enum qs_exit
plan_with(struct qs_console *console, const struct qs_plan_options *options,
          struct qs_plan_report *report, struct qs_sheet *sheet)
{
    const struct qs_plan_request request = {.uses = options->uses,
                                            .use_count = options->use_count,
                                            .filters = options->filters,
                                            .filter_count = options->filter_count,
                                            .criterion = options->criterion,
                                            .set_up = options->set_up};
    struct qs_plan plan;
    struct qs_error err = {QS_OK, ""};
    enum qs_status status = qs_sheet_read(options->sheet_path, sheet, &err);
    enum qs_exit result;

    if (status == QS_OK && calibrate(options, sheet, &err) != QS_OK) {
        qs_say_error(console, options->calibration.path, err.text);
        return QS_EXIT_FAILED;
    }
    if (status == QS_OK)
        status = qs_plan_make(sheet, &request, &plan, &err);
    if (status == QS_ERR_USAGE) {
        qs_say_usage(console, "plan", err.text);
        return QS_EXIT_USAGE;
    }
    if (status != QS_OK) {
        qs_say_error(console, options->sheet_path, err.text);
        return QS_EXIT_FAILED;
    }
    report->sheet = sheet;
    report->plan = &plan;
    report->request = &request;
    result = show(console, options, report);
    qs_plan_clear(&plan);
    return result;
}

/* Whether anything can be told of the light without a sheet. */
static bool
tells_anything(const struct qs_light_plan *light,
               const struct qs_light_request *request)
{
    return light->solved || light->has_error || light->has_ambient_below ||
           light->has_hold || light->has_stills || light->has_motion ||
           light->has_angles || request->lamp_count > 0;
}

static enum qs_exit
run_plan(struct qs_console *console, const struct qs_plan_options *options)
{
    struct qs_light_plan light;
    struct qs_plan_report report = {
        .light = &light, .light_request = &options->light, .job = options->job};
    struct qs_sheet sheet = {.iso_count = 0};
    enum qs_exit result;

    console->quiet = options->quiet;
    qs_light_plan_make(&options->light, &light);
    if (options->sheet_path == NULL && !tells_anything(&light, &options->light)) {
        qs_say_usage(
            console, "plan",
            "Name a camera sheet; or three of --aperture, --shutter, --iso and "
            "--light, which give the fourth.");
        return QS_EXIT_USAGE;
    }
    if (options->sheet_path == NULL)
        return show(console, options, &report);
    result = plan_with(console, options, &report, &sheet);
    qs_sheet_clear(&sheet);
    return result;
}

enum qs_exit
qs_cmd_plan(struct qs_console *console, int argc, char **argv)
{
    struct qs_plan_options options;
    struct qs_error err = {QS_OK, ""};
    enum qs_exit result = QS_EXIT_DONE;

    if (qs_plan_options_read(argc, argv, &options, &err) != QS_OK) {
        qs_say_usage(console, "plan", err.text);
        result = err.status == QS_ERR_MEMORY ? QS_EXIT_FAILED : QS_EXIT_USAGE;
    } else if (options.help) {
        (void)fputs(qs_help_plan, stdout);
    } else if (options.version) {
        qs_print_version();
    } else {
        result = run_plan(console, &options);
    }
    qs_plan_options_clear(&options);
    return result;
}
