/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/reading_options.h"

#include <stdio.h>

#include "base/memory.h"
#include "cli/options.h"

/* Codes of any file: 32-bit integers and then some. */
#define CODE_MOST 1e10
#define THREADS_MOST 1024

enum qs_status
qs_reading_options_init(struct qs_reading_options *options, int argc,
                        struct qs_error *err)
{
    *options = (struct qs_reading_options){.threads = 0};
    options->patches = qs_alloc((size_t)argc, sizeof *options->patches);
    return options->patches != NULL ? QS_OK : qs_fail_memory(err);
}

void
qs_reading_options_clear(struct qs_reading_options *options)
{
    qs_free(options->patches);
    *options = (struct qs_reading_options){.threads = 0};
}

enum qs_status
qs_reading_options_check(const struct qs_reading_options *options, struct qs_error *err)
{
    const struct qs_encoding_choice *encoding = &options->frame.encoding;

    if (encoding->has_black && encoding->has_white &&
        encoding->white <= encoding->black)
        return qs_fail(err, QS_ERR_USAGE, "--white must be above --black.");
    return QS_OK;
}

enum qs_status
qs_take_patch(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;
    enum qs_status status =
        qs_read_box(value, &options->patches[options->frame.patch_count], err);

    if (status != QS_OK)
        return status;
    options->frame.patch_count++;
    options->frame.patches = options->patches;
    return QS_OK;
}

enum qs_status
qs_take_encoding(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;

    options->frame.encoding.name = value;
    return qs_encoding_check(value, err);
}

enum qs_status
qs_take_black(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;

    options->frame.encoding.has_black = true;
    return qs_read_number("--black", value, -CODE_MOST, CODE_MOST,
                          &options->frame.encoding.black, err);
}

enum qs_status
qs_take_white(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;

    options->frame.encoding.has_white = true;
    return qs_read_number("--white", value, -CODE_MOST, CODE_MOST,
                          &options->frame.encoding.white, err);
}

enum qs_status
qs_take_camera(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;
    char *camera = options->frame.shot.camera;
    const int room = (int)sizeof options->frame.shot.camera;

    if (value[0] == '\0' || snprintf(camera, (size_t)room, "%s", value) >= room)
        return qs_fail(err, QS_ERR_USAGE,
                       "--camera takes a name of 1 to %d characters.", room - 1);
    return QS_OK;
}

enum qs_status
qs_take_threads(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;

    return qs_read_whole("--threads", value, 1, THREADS_MOST, &options->threads, err);
}

enum qs_status
qs_take_quiet(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;

    (void)value;
    (void)err;
    options->quiet = true;
    return QS_OK;
}

enum qs_status
qs_take_help(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;

    (void)value;
    (void)err;
    options->help = true;
    return QS_OK;
}

enum qs_status
qs_take_version(void *into, const char *value, struct qs_error *err)
{
    struct qs_reading_options *options = into;

    (void)value;
    (void)err;
    options->version = true;
    return QS_OK;
}
