/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/measure_options.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/memory.h"
#include "cli/options.h"

#define ISO_MOST 1e8

static enum qs_status
take_size(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;
    enum qs_status status =
        qs_size_parse(value, &options->sizes[options->reading.frame.size_count], err);

    if (status != QS_OK)
        return status;
    options->reading.frame.size_count++;
    options->reading.frame.sizes = options->sizes;
    return QS_OK;
}

static enum qs_status
take_filter(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    options->reading.frame.filters = options->filters;
    return qs_read_filter(value, options->filters, &options->reading.frame.filter_count,
                          err);
}

static enum qs_status
take_crop(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_shape_ratio_parse(value, &options->reading.frame.crop, err);
}

static enum qs_status
take_light(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    options->reading.frame.encoded_light = strcmp(value, "encoded") == 0;
    if (options->reading.frame.encoded_light || strcmp(value, "linear") == 0)
        return QS_OK;
    return qs_fail(err, QS_ERR_USAGE, "--light is linear or encoded, not \"%.40s\".",
                   value);
}

static enum qs_status
take_iso(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_number("--iso", value, 1.0, ISO_MOST,
                          &options->reading.frame.shot.iso, err);
}

static enum qs_status
take_shutter(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_shutter("--shutter", value, &options->reading.frame.shot.exposure_s,
                           err);
}

static enum qs_status
take_aperture(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_aperture("--aperture", value, &options->reading.frame.shot.f_number,
                            err);
}

static enum qs_status
take_json(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_text("--json", value, &options->json_path, err);
}

static enum qs_status
take_csv(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_text("--csv", value, &options->csv_path, err);
}

static enum qs_status
take_show(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_text("--show", value, &options->show_path, err);
}

static enum qs_status
take_same_scene(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    (void)value;
    (void)err;
    options->same_scene = true;
    return QS_OK;
}

static enum qs_status
take_all_patches(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    (void)value;
    (void)err;
    options->all_patches = true;
    return QS_OK;
}

static const struct qs_option rows[] = {
    {"patch", true, qs_take_patch},
    {"size", true, take_size},
    {"filter", true, take_filter},
    {"crop", true, take_crop},
    {"encoding", true, qs_take_encoding},
    {"black", true, qs_take_black},
    {"white", true, qs_take_white},
    {"light", true, take_light},
    {"iso", true, take_iso},
    {"shutter", true, take_shutter},
    {"aperture", true, take_aperture},
    {"camera", true, qs_take_camera},
    {"json", true, take_json},
    {"csv", true, take_csv},
    {"show", true, take_show},
    {"same-scene", false, take_same_scene},
    {"threads", true, qs_take_threads},
    {"all-patches", false, take_all_patches},
    {"quiet", false, qs_take_quiet},
    {"help", false, qs_take_help},
    {"version", false, qs_take_version},
};

static bool
is_folder(const char *path)
{
    struct stat info;

    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

/* Where more than one output would go to the same place. */
static enum qs_status
check_outputs(const struct qs_measure_options *options, struct qs_error *err)
{
    const struct {
        const char *name, *path;
    } outputs[] = {{"--json", options->json_path},
                   {"--csv", options->csv_path},
                   {"--show", options->show_path}};
    const int count = (int)(sizeof outputs / sizeof outputs[0]);

    for (int i = 0; i < count; i++)
        for (int j = i + 1; j < count; j++)
            if (outputs[i].path != NULL && outputs[j].path != NULL &&
                strcmp(outputs[i].path, outputs[j].path) == 0)
                return qs_fail(err, QS_ERR_USAGE,
                               "%s and %s can't both go to %s; name a file for one "
                               "of them.",
                               outputs[i].name, outputs[j].name,
                               strcmp(outputs[i].path, "-") == 0 ? "standard output"
                                                                 : "the same file");
    return QS_OK;
}

static enum qs_status
check_show(const struct qs_measure_options *options, struct qs_error *err)
{
    if (options->show_path == NULL)
        return QS_OK;
    if (strcmp(options->show_path, "-") == 0)
        return qs_fail(
            err, QS_ERR_USAGE,
            "--show writes a picture to a file; name one that ends in .png.");
    if (options->same_scene)
        return QS_OK;
    if (options->input_count > 1 || is_folder(options->inputs[0]))
        return qs_fail(err, QS_ERR_USAGE,
                       "--show draws the patches of one frame; name one frame, or call "
                       "quietsize once for each.");
    return QS_OK;
}

static enum qs_status
check_scene(const struct qs_measure_options *options, struct qs_error *err)
{
    if (!options->same_scene)
        return QS_OK;
    if (options->input_count == 1 && !is_folder(options->inputs[0]))
        return qs_fail(err, QS_ERR_USAGE,
                       "--same-scene compares repeats of one scene; name two frames or "
                       "more.");
    if (options->reading.frame.encoded_light)
        return qs_fail(
            err, QS_ERR_USAGE,
            "--same-scene works in linear light; leave out --light encoded.");
    return QS_OK;
}

/* What no single option can tell. */
static enum qs_status
check_together(const struct qs_measure_options *options, struct qs_error *err)
{
    enum qs_status status;

    if (options->input_count == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "Name at least one frame to measure: a TIFF or PNG file, or a "
                       "folder of them.");
    status = qs_reading_options_check(&options->reading, err);
    if (status == QS_OK)
        status = check_outputs(options, err);
    if (status == QS_OK)
        status = check_show(options, err);
    if (status == QS_OK)
        status = check_scene(options, err);
    return status;
}

enum qs_status
qs_measure_options_read(int argc, char **argv, struct qs_measure_options *out,
                        struct qs_error *err)
{
    int first = 1;
    enum qs_status status;

    *out = (struct qs_measure_options){0};
    out->sizes = qs_alloc((size_t)argc, sizeof *out->sizes);
    status = out->sizes == NULL ? qs_fail_memory(err)
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
qs_measure_options_clear(struct qs_measure_options *options)
{
    qs_reading_options_clear(&options->reading);
    qs_free(options->sizes);
    *options = (struct qs_measure_options){0};
}
