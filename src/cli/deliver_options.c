/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/deliver_options.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "cli/options.h"

#define PPI_LEAST 1.0
#define PPI_MOST 100000.0

static enum qs_status
take_size(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;
    enum qs_status status =
        qs_size_parse(value, &options->sizes[options->size_count], err);

    if (status == QS_OK)
        options->size_count++;
    return status;
}

static enum qs_status
take_filter(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    return qs_read_filter(value, options->filters, &options->filter_count, err);
}

static enum qs_status
take_crop(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    return qs_shape_ratio_parse(value, &options->crop, err);
}

static enum qs_status
take_out(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    return qs_read_text("--out", value, &options->out_path, err);
}

static enum qs_status
take_name(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    return qs_read_text("--name", value, &options->name, err);
}

static enum qs_status
take_bits(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    if (strcmp(value, "8") != 0 && strcmp(value, "16") != 0)
        return qs_fail(err, QS_ERR_USAGE, "--bits is 8 or 16, not \"%.40s\".", value);
    options->bits = value[0] == '8' ? 8 : 16;
    return QS_OK;
}

static enum qs_status
take_format(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    if (strcmp(value, "tiff") != 0 && strcmp(value, "png") != 0)
        return qs_fail(err, QS_ERR_USAGE, "--format is tiff or png, not \"%.40s\".",
                       value);
    options->has_format = true;
    options->format = value[0] == 'p' ? QS_FILE_PNG : QS_FILE_TIFF;
    return QS_OK;
}

static enum qs_status
take_compress(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    for (int i = 0; i < QS_COMPRESSIONS; i++)
        if (strcmp(value, qs_compression_kind((enum qs_compression)i)->key) == 0) {
            options->has_compression = true;
            options->compression = (enum qs_compression)i;
            return QS_OK;
        }
    return qs_fail(err, QS_ERR_USAGE,
                   "--compress is none, deflate, lzw or zstd, not \"%.40s\".", value);
}

static enum qs_status
take_ppi(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    return qs_read_number("--ppi", value, PPI_LEAST, PPI_MOST, &options->ppi, err);
}

static enum qs_status
take_json(void *into, const char *value, struct qs_error *err)
{
    struct qs_deliver_options *options = into;

    return qs_read_text("--json", value, &options->json_path, err);
}

/* Options that are said or not. */
#define TAKE_FLAG(flag)                                                                \
    static enum qs_status take_##flag(void *into, const char *value,                   \
                                      struct qs_error *err)                            \
    {                                                                                  \
        struct qs_deliver_options *options = into;                                     \
                                                                                       \
        (void)value;                                                                   \
        (void)err;                                                                     \
        options->flag = true;                                                          \
        return QS_OK;                                                                  \
    }

TAKE_FLAG(upright)
TAKE_FLAG(overwrite)
TAKE_FLAG(resume)
TAKE_FLAG(dry_run)
TAKE_FLAG(check)

static const struct qs_option rows[] = {
    {"size", true, take_size},
    {"filter", true, take_filter},
    {"crop", true, take_crop},
    {"out", true, take_out},
    {"name", true, take_name},
    {"bits", true, take_bits},
    {"format", true, take_format},
    {"compress", true, take_compress},
    {"ppi", true, take_ppi},
    {"upright", false, take_upright},
    {"overwrite", false, take_overwrite},
    {"resume", false, take_resume},
    {"dry-run", false, take_dry_run},
    {"check", false, take_check},
    {"encoding", true, qs_take_encoding},
    {"json", true, take_json},
    {"threads", true, qs_take_threads},
    {"quiet", false, qs_take_quiet},
    {"help", false, qs_take_help},
    {"version", false, qs_take_version},
};

/* A PNG takes not all of them. */
static enum qs_status
check_compression(const struct qs_deliver_options *options, struct qs_error *err)
{
    const struct qs_compression_kind *kind = qs_compression_kind(options->compression);

    if (options->has_compression && options->has_format &&
        options->format == QS_FILE_PNG && !kind->in_png)
        return qs_fail(err, QS_ERR_USAGE,
                       "A PNG can't be compressed by %s; choose --compress deflate or "
                       "none, or --format tiff.",
                       kind->key);
    if (options->has_compression && !kind->built)
        return qs_fail(err, QS_ERR_USAGE,
                       "This build can't write %s; choose --compress deflate.",
                       kind->key);
    return QS_OK;
}

static enum qs_status
check(const struct qs_deliver_options *options, struct qs_error *err)
{
    if (options->input_count == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "Name at least one picture, or a folder of them.");
    if (options->size_count == 0)
        return qs_fail(err, QS_ERR_USAGE,
                       "Say how large the deliveries are to be, for example --size "
                       "20MP or --size uhd.");
    if (options->out_path == NULL)
        return qs_fail(err, QS_ERR_USAGE,
                       "Name a folder for the deliveries, for example --out delivery.");
    if (options->check && options->dry_run)
        return qs_fail(err, QS_ERR_USAGE,
                       "--dry-run delivers nothing that --check could look at; leave "
                       "one of them out.");
    return check_compression(options, err);
}

enum qs_status
qs_deliver_options_read(int argc, char **argv, struct qs_deliver_options *out,
                        struct qs_error *err)
{
    enum qs_status status;
    int first = 0;

    *out = (struct qs_deliver_options){.size_count = 0};
    status = qs_reading_options_init(&out->reading, argc, err);
    if (status != QS_OK)
        return status;
    out->sizes = qs_alloc((size_t)argc, sizeof *out->sizes);
    if (out->sizes == NULL)
        return qs_fail_memory(err);
    status = qs_options_read(rows, (int)(sizeof rows / sizeof rows[0]), argc, argv, out,
                             &first, err);
    if (status != QS_OK || out->reading.help || out->reading.version)
        return status;
    out->inputs = argv + first;
    out->input_count = argc - first;
    if (out->filter_count == 0)
        out->filters[out->filter_count++] = QS_FILTER_LANCZOS3;
    return check(out, err);
}

void
qs_deliver_options_clear(struct qs_deliver_options *options)
{
    qs_free(options->sizes);
    qs_reading_options_clear(&options->reading);
    *options = (struct qs_deliver_options){.size_count = 0};
}
