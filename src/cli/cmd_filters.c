/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "cli/commands.h"
#include "cli/help.h"
#include "cli/options.h"
#include "cli/whole_file.h"
#include "report/filters_text.h"
#include "report/json.h"
#include "resample/size.h"

/* The size where none is asked for. */
static const char USUAL_SIZE[] = "50%";

struct filters_options {
    struct qs_size *asked;
    int count;
    struct qs_filter_size *sizes; /* the same for the frame */
    enum qs_filter filters[QS_FILTERS];
    int filter_count;
    int width; /* of the frame; 0 = not said */
    int height;
    const char *json_path;
    bool help;
    bool version;
};

static enum qs_status
take_size(void *into, const char *value, struct qs_error *err)
{
    struct filters_options *options = into;
    enum qs_status status = qs_size_parse(value, &options->asked[options->count], err);

    if (status == QS_OK)
        options->count++;
    return status;
}

static enum qs_status
take_frame(void *into, const char *value, struct qs_error *err)
{
    struct filters_options *options = into;

    return qs_read_pixels(value, &options->width, &options->height, err);
}

static enum qs_status
take_filter(void *into, const char *value, struct qs_error *err)
{
    struct filters_options *options = into;

    return qs_read_filter(value, options->filters, &options->filter_count, err);
}

static enum qs_status
take_json(void *into, const char *value, struct qs_error *err)
{
    struct filters_options *options = into;

    options->json_path = value;
    return value[0] != '\0' ? QS_OK
                            : qs_fail(err, QS_ERR_USAGE, "--json needs a value.");
}

static enum qs_status
take_help(void *into, const char *value, struct qs_error *err)
{
    struct filters_options *options = into;

    (void)value;
    (void)err;
    options->help = true;
    return QS_OK;
}

static enum qs_status
take_version(void *into, const char *value, struct qs_error *err)
{
    struct filters_options *options = into;

    (void)value;
    (void)err;
    options->version = true;
    return QS_OK;
}

static const struct qs_option rows[] = {
    {"size", true, take_size},     {"frame", true, take_frame},
    {"filter", true, take_filter}, {"json", true, take_json},
    {"help", false, take_help},    {"version", false, take_version},
};

/* A share needs no frame: both sides shrink by it exactly. */
static enum qs_status
size_without_frame(const struct qs_size *asked, struct qs_filter_size *size,
                   struct qs_error *err)
{
    if (asked->kind != QS_SIZE_SHARE)
        return qs_fail(err, QS_ERR_USAGE,
                       "The size %s depends on the frame: name its pixels too, such as "
                       "--frame 8256x5504, or give the size in per cent.",
                       asked->text);
    if (asked->a > 1.0)
        return qs_fail(err, QS_ERR_USAGE,
                       "The size %s is an enlargement; ask for 100%% or less.",
                       asked->text);
    size->scale_x = size->scale_y = 1.0 / asked->a;
    return QS_OK;
}

static enum qs_status
size_of_frame(const struct filters_options *options, const struct qs_size *asked,
              struct qs_filter_size *size, struct qs_error *err)
{
    if (!qs_size_of(asked, options->width, options->height, &size->width,
                    &size->height))
        return qs_fail(
            err, QS_ERR_USAGE,
            "The size %s is larger than the frame of %d x %d pixels; ask for a "
            "smaller one.",
            asked->text, options->width, options->height);
    size->scale_x = (double)options->width / size->width;
    size->scale_y = (double)options->height / size->height;
    return QS_OK;
}

static enum qs_status
settle_sizes(struct filters_options *options, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (options->count == 0)
        status = take_size(options, USUAL_SIZE, err);
    for (int i = 0; i < options->count && status == QS_OK; i++) {
        struct qs_filter_size *size = &options->sizes[i];

        (void)snprintf(size->text, sizeof size->text, "%s", options->asked[i].text);
        status = options->width > 0
                     ? size_of_frame(options, &options->asked[i], size, err)
                     : size_without_frame(&options->asked[i], size, err);
    }
    return status;
}

static enum qs_status
read_options(int argc, char **argv, struct filters_options *options,
             struct qs_error *err)
{
    const size_t room = (size_t)argc + 1;
    int first = 1;
    enum qs_status status;

    options->asked = qs_alloc(room, sizeof *options->asked);
    options->sizes = qs_alloc(room, sizeof *options->sizes);
    if (options->asked == NULL || options->sizes == NULL)
        return qs_fail_memory(err);
    status = qs_options_read(rows, (int)(sizeof rows / sizeof rows[0]), argc, argv,
                             options, &first, err);
    if (status != QS_OK || options->help || options->version)
        return status;
    if (first < argc)
        return qs_fail(err, QS_ERR_USAGE,
                       "filters looks at no file, so \"%.40s\" means nothing here; "
                       "quietsize measure looks at frames.",
                       argv[first]);
    if (options->filter_count == 0)
        status = qs_read_filter("all", options->filters, &options->filter_count, err);
    return status == QS_OK ? settle_sizes(options, err) : status;
}

static enum qs_status
fill_figures(const struct filters_options *options, struct qs_filter_figures *figures,
             struct qs_error *err)
{
    enum qs_status status = QS_OK;

    for (int s = 0; s < options->count; s++)
        for (int f = 0; f < options->filter_count && status == QS_OK; f++)
            status = qs_filter_figures(options->filters[f], &options->sizes[s],
                                       &figures[s * options->filter_count + f], err);
    return status;
}

static enum qs_status
write_json(const char *path, const struct qs_filter_figures *figures, int count,
           struct qs_error *err)
{
    struct qs_whole_file file;
    enum qs_status status = qs_whole_file_open(path, &file, err);

    if (status != QS_OK)
        return status;
    status = qs_json_filters(file.stream, figures, count, err);
    if (status == QS_OK)
        return qs_whole_file_keep(&file, err);
    qs_whole_file_drop(&file);
    return status;
}

/* Text and JSON; what can be written is, also where the other can't. */
static enum qs_exit
show(struct qs_console *console, const struct filters_options *options,
     const struct qs_filter_figures *figures)
{
    const int count = options->count * options->filter_count;
    const char *path = options->json_path;
    enum qs_exit result = QS_EXIT_DONE;
    struct qs_error err = {0};

    if (path != NULL && write_json(path, figures, count, &err) != QS_OK) {
        if (strcmp(path, "-") != 0)
            qs_say_error(console, path, err.text);
        result = QS_EXIT_FAILED;
    }
    qs_error_clear(&err);
    if ((path == NULL || strcmp(path, "-") != 0) &&
        qs_filters_text(stdout, figures, count, &err) != QS_OK) {
        qs_say_error(console, "filters", err.text);
        result = QS_EXIT_FAILED;
    }
    return result;
}

static enum qs_exit
print_filters(struct qs_console *console, const struct filters_options *options)
{
    const size_t count = (size_t)options->count * (size_t)options->filter_count;
    struct qs_filter_figures *figures = qs_alloc(count, sizeof *figures);
    struct qs_error err = {0};
    enum qs_status status;
    enum qs_exit result;

    status =
        figures != NULL ? fill_figures(options, figures, &err) : qs_fail_memory(&err);
    if (status == QS_OK) {
        result = show(console, options, figures);
    } else {
        qs_say_error(console, "filters", err.text);
        result = QS_EXIT_FAILED;
    }
    qs_free(figures);
    return result;
}

enum qs_exit
qs_cmd_filters(struct qs_console *console, int argc, char **argv)
{
    struct filters_options options = {0};
    struct qs_error err = {0};
    enum qs_exit result = QS_EXIT_DONE;

    if (read_options(argc, argv, &options, &err) != QS_OK) {
        qs_say_usage(console, "filters", err.text);
        result = err.status == QS_ERR_USAGE ? QS_EXIT_USAGE : QS_EXIT_FAILED;
    } else if (options.help) {
        (void)fputs(qs_help_filters, stdout);
    } else if (options.version) {
        qs_print_version();
    } else {
        result = print_filters(console, &options);
    }
    qs_free(options.asked);
    qs_free(options.sizes);
    return result;
}
