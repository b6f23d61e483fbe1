/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/sheet_options.h"

#include <string.h>
#include <strings.h>

#include "base/memory.h"
#include "cli/options.h"
#include "report/chart.h"

#define ISO_MOST 1e8

static enum qs_status
take_out(void *into, const char *value, struct qs_error *err)
{
    struct qs_sheet_options *options = into;

    return qs_read_text("--out", value, &options->out_path, err);
}

static enum qs_status
take_add(void *into, const char *value, struct qs_error *err)
{
    struct qs_sheet_options *options = into;

    return qs_read_text("--add", value, &options->add_path, err);
}

static enum qs_status
take_log(void *into, const char *value, struct qs_error *err)
{
    struct qs_sheet_options *options = into;

    return qs_read_text("--log", value, &options->log_path, err);
}

static enum qs_status
take_chart(void *into, const char *value, struct qs_error *err)
{
    struct qs_sheet_options *options = into;

    if ((int)qs_chart_format_of(value) < 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "--chart takes a file that ends in .svg, .png or .pdf, not "
                       "\"%.80s\".",
                       value);
    options->chart_path = value;
    return QS_OK;
}

/* FILE=VALUE at its last "=", since names may hold one; or a value alone. */
static enum qs_status
take_iso(void *into, const char *value, struct qs_error *err)
{
    struct qs_sheet_options *options = into;
    struct qs_given_iso *given = &options->isos[options->iso_count];
    const char *sign = strrchr(value, '=');

    *given = (struct qs_given_iso){.text = value};
    if (sign == value)
        return qs_fail(err, QS_ERR_USAGE,
                       "--iso takes FILE=VALUE, such as --iso night.tif=6400, or one "
                       "value for all frames; not \"%.40s\".",
                       value);
    if (sign != NULL)
        given->name_length = (int)(sign - value);
    for (int i = 0; i < options->iso_count; i++)
        if (options->isos[i].name_length == given->name_length &&
            strncmp(options->isos[i].text, value, (size_t)given->name_length) == 0)
            return qs_fail(err, QS_ERR_USAGE,
                           "--iso is given twice for %s: %.60s and %.60s; keep one.",
                           sign != NULL ? "one frame" : "all frames",
                           options->isos[i].text, value);
    options->iso_count++;
    return qs_read_number("--iso", sign != NULL ? sign + 1 : value, 1.0, ISO_MOST,
                          &given->iso, err);
}

static enum qs_status
take_calibrate(void *into, const char *value, struct qs_error *err)
{
    struct qs_sheet_options *options = into;

    return qs_calibration_read(value, &options->calibration, err);
}

static const struct qs_option rows[] = {
    {"out", true, take_out},
    {"add", true, take_add},
    {"log", true, take_log},
    {"chart", true, take_chart},
    {"iso", true, take_iso},
    {"calibrate", true, take_calibrate},
    {"patch", true, qs_take_patch},
    {"encoding", true, qs_take_encoding},
    {"black", true, qs_take_black},
    {"white", true, qs_take_white},
    {"camera", true, qs_take_camera},
    {"threads", true, qs_take_threads},
    {"quiet", false, qs_take_quiet},
    {"help", false, qs_take_help},
    {"version", false, qs_take_version},
};

static bool
is_sheet_name(const char *path)
{
    const char *dot = strrchr(path, '.');

    return dot != NULL && strcasecmp(dot, ".json") == 0;
}

bool
qs_sheet_options_show(const struct qs_sheet_options *options)
{
    return options->input_count == 1 && is_sheet_name(options->inputs[0]);
}

static enum qs_status
check_together(const struct qs_sheet_options *options, struct qs_error *err)
{
    const char *out = options->out_path, *chart = options->chart_path;

    if (options->input_count == 0 && options->calibration.path == NULL)
        return qs_fail(err, QS_ERR_USAGE,
                       "Name the frames of one camera over ISO, or a camera sheet to "
                       "look at.");
    for (int i = 0; i < options->input_count; i++)
        if (is_sheet_name(options->inputs[i]) && options->input_count > 1)
            return qs_fail(
                err, QS_ERR_USAGE,
                "%.200s is a camera sheet among frames; to add frames to it, "
                "write --add %.200s.",
                options->inputs[i], options->inputs[i]);
    if (qs_sheet_options_show(options) &&
        (out != NULL || options->add_path != NULL || options->log_path != NULL ||
         options->calibration.path != NULL || options->iso_count > 0 ||
         options->reading.frame.patch_count > 0))
        return qs_fail(err, QS_ERR_USAGE,
                       "%.200s is a camera sheet, which is only shown; name frames to "
                       "make a sheet or to add to one.",
                       options->inputs[0]);
    if (options->calibration.path != NULL && options->input_count == 0 &&
        options->add_path == NULL)
        return qs_fail(err, QS_ERR_USAGE,
                       "--calibrate belongs to a camera sheet; name its frames, or the "
                       "sheet with --add.");
    if (out != NULL && chart != NULL && strcmp(out, chart) == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "--out and --chart can't both go to the same file; name a file "
                       "for one of them.");
    return qs_reading_options_check(&options->reading, err);
}

enum qs_status
qs_sheet_options_read(int argc, char **argv, struct qs_sheet_options *out,
                      struct qs_error *err)
{
    int first = 1;
    enum qs_status status;

    *out = (struct qs_sheet_options){.out_path = NULL};
    out->isos = qs_alloc((size_t)argc, sizeof *out->isos);
    status = out->isos == NULL ? qs_fail_memory(err)
                               : qs_reading_options_init(&out->reading, argc, err);
    if (status != QS_OK)
        return status;
    status = qs_options_read(rows, (int)(sizeof rows / sizeof rows[0]), argc, argv, out,
                             &first, err);
    out->inputs = argv + first;
    out->input_count = argc - first;
    if (status != QS_OK || out->reading.help || out->reading.version)
        return status;
    return check_together(out, err);
}

void
qs_sheet_options_clear(struct qs_sheet_options *options)
{
    qs_reading_options_clear(&options->reading);
    qs_free(options->isos);
    qs_calibration_clear(&options->calibration);
    *options = (struct qs_sheet_options){.out_path = NULL};
}
