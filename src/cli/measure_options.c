/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/measure_options.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/memory.h"
#include "cli/options.h"

/* Codes of any file: 32-bit integers and then some. */
#define CODE_MOST 1e10
#define ISO_MOST 1e8
#define APERTURE_MOST 1000.0
#define THREADS_MOST 1024

/* A text option whose value is one of its kind, or empty by mistake. */
static enum qs_status
take_text(const char *option, const char *value, const char **out, struct qs_error *err)
{
    if (value[0] == '\0')
        return qs_fail(err, QS_ERR_USAGE, "%s needs a value.", option);
    *out = value;
    return QS_OK;
}

static enum qs_status
take_patch(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;
    enum qs_status status =
        qs_read_box(value, &options->patches[options->frame.patch_count], err);

    if (status != QS_OK)
        return status;
    options->frame.patch_count++;
    options->frame.patches = options->patches;
    return QS_OK;
}

static enum qs_status
take_size(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;
    enum qs_status status =
        qs_size_parse(value, &options->sizes[options->frame.size_count], err);

    if (status != QS_OK)
        return status;
    options->frame.size_count++;
    options->frame.sizes = options->sizes;
    return QS_OK;
}

static enum qs_status
take_filter(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    options->frame.filters = options->filters;
    return qs_read_filter(value, options->filters, &options->frame.filter_count, err);
}

static enum qs_status
take_crop(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_shape_ratio_parse(value, &options->frame.crop, err);
}

static enum qs_status
take_encoding(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    options->frame.encoding.name = value;
    return qs_encoding_check(value, err);
}

static enum qs_status
take_black(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    options->frame.encoding.has_black = true;
    return qs_read_number("--black", value, -CODE_MOST, CODE_MOST,
                          &options->frame.encoding.black, err);
}

static enum qs_status
take_white(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    options->frame.encoding.has_white = true;
    return qs_read_number("--white", value, -CODE_MOST, CODE_MOST,
                          &options->frame.encoding.white, err);
}

static enum qs_status
take_light(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    options->frame.encoded_light = strcmp(value, "encoded") == 0;
    if (options->frame.encoded_light || strcmp(value, "linear") == 0)
        return QS_OK;
    return qs_fail(err, QS_ERR_USAGE, "--light is linear or encoded, not \"%.40s\".",
                   value);
}

static enum qs_status
take_iso(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_number("--iso", value, 1.0, ISO_MOST, &options->frame.shot.iso, err);
}

static enum qs_status
take_shutter(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_shutter(value, &options->frame.shot.exposure_s, err);
}

static enum qs_status
take_aperture(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;
    const char *number = strncmp(value, "f/", 2) == 0 ? value + 2 : value;

    return qs_read_number("--aperture", number, 0.1, APERTURE_MOST,
                          &options->frame.shot.f_number, err);
}

static enum qs_status
take_camera(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;
    char *camera = options->frame.shot.camera;
    const int room = (int)sizeof options->frame.shot.camera;

    if (value[0] == '\0' || snprintf(camera, (size_t)room, "%s", value) >= room)
        return qs_fail(err, QS_ERR_USAGE,
                       "--camera takes a name of 1 to %d characters.", room - 1);
    return QS_OK;
}

static enum qs_status
take_json(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return take_text("--json", value, &options->json_path, err);
}

static enum qs_status
take_csv(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return take_text("--csv", value, &options->csv_path, err);
}

static enum qs_status
take_show(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return take_text("--show", value, &options->show_path, err);
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
take_threads(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    return qs_read_whole("--threads", value, 1, THREADS_MOST, &options->threads, err);
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

static enum qs_status
take_quiet(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    (void)value;
    (void)err;
    options->quiet = true;
    return QS_OK;
}

static enum qs_status
take_help(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    (void)value;
    (void)err;
    options->help = true;
    return QS_OK;
}

static enum qs_status
take_version(void *into, const char *value, struct qs_error *err)
{
    struct qs_measure_options *options = into;

    (void)value;
    (void)err;
    options->version = true;
    return QS_OK;
}

static const struct qs_option rows[] = {
    {"patch", true, take_patch},       {"size", true, take_size},
    {"filter", true, take_filter},     {"crop", true, take_crop},
    {"encoding", true, take_encoding}, {"black", true, take_black},
    {"white", true, take_white},       {"light", true, take_light},
    {"iso", true, take_iso},           {"shutter", true, take_shutter},
    {"aperture", true, take_aperture}, {"camera", true, take_camera},
    {"json", true, take_json},         {"csv", true, take_csv},
    {"show", true, take_show},         {"same-scene", false, take_same_scene},
    {"threads", true, take_threads},   {"all-patches", false, take_all_patches},
    {"quiet", false, take_quiet},      {"help", false, take_help},
    {"version", false, take_version},
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
    if (options->frame.encoded_light)
        return qs_fail(
            err, QS_ERR_USAGE,
            "--same-scene works in linear light; leave out --light encoded.");
    return QS_OK;
}

/* What no single option can tell. */
static enum qs_status
check_together(const struct qs_measure_options *options, struct qs_error *err)
{
    const struct qs_encoding_choice *encoding = &options->frame.encoding;
    enum qs_status status;

    if (options->input_count == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "Name at least one frame to measure: a TIFF or PNG file, or a "
                       "folder of them.");
    if (encoding->has_black && encoding->has_white &&
        encoding->white <= encoding->black)
        return qs_fail(err, QS_ERR_USAGE, "--white must be above --black.");
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
    out->patches = qs_alloc((size_t)argc, sizeof *out->patches);
    out->sizes = qs_alloc((size_t)argc, sizeof *out->sizes);
    if (out->patches == NULL || out->sizes == NULL)
        return qs_fail_memory(err);
    status = qs_options_read(rows, (int)(sizeof rows / sizeof rows[0]), argc, argv, out,
                             &first, err);
    out->inputs = argv + first;
    out->input_count = argc - first;
    if (status != QS_OK || out->help || out->version)
        return status;
    return check_together(out, err);
}

void
qs_measure_options_clear(struct qs_measure_options *options)
{
    qs_free(options->patches);
    qs_free(options->sizes);
    *options = (struct qs_measure_options){0};
}
