/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/deliver_jobs.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "cli/deliver_name.h"

enum {
    NAME_BYTES = 256 /* what file systems take, with the ending zero */
};

/* Deeper samples become 16 bits. */
static int
bits_of(const struct qs_deliver_options *options, const struct qs_image_info *info)
{
    if (options->bits != 0)
        return options->bits;
    return info->bits == 8 ? 8 : 16;
}

static enum qs_file_format
format_of(const struct qs_deliver_options *options, const struct qs_image_info *info)
{
    if (options->has_format)
        return options->format;
    return info->is_png ? QS_FILE_PNG : QS_FILE_TIFF;
}

static enum qs_compression
compression_of(const struct qs_deliver_options *options, enum qs_file_format format)
{
    if (options->has_compression)
        return options->compression;
    return format == QS_FILE_PNG ? QS_COMPRESS_DEFLATE : QS_COMPRESS_NONE;
}

static struct qs_picture_order
order_of(const struct qs_deliver_options *options, const struct qs_image_info *info,
         int size, int filter)
{
    const enum qs_file_format format = format_of(options, info);

    return (struct qs_picture_order){.size = options->sizes[size],
                                     .crop = options->crop,
                                     .filter = options->filters[filter],
                                     .encoding = &options->reading.frame.encoding,
                                     .bits = bits_of(options, info),
                                     .format = format,
                                     .compression = compression_of(options, format),
                                     .ppi = options->ppi,
                                     .upright = options->upright};
}

static const char *
pattern_of(const struct qs_deliver_options *options)
{
    if (options->name != NULL)
        return options->name;
    return options->filter_count > 1 ? "{name}-{size}-{filter}" : "{name}-{size}";
}

static enum qs_status
name_target(const struct qs_deliver_options *options, const struct qs_inputs *inputs,
            struct qs_deliver_job *job, struct qs_error *err)
{
    const struct qs_name_parts parts = {.source = inputs->paths[job->source],
                                        .size = job->order.size.text,
                                        .width = job->sides.final_width,
                                        .height = job->sides.final_height,
                                        .filter = job->order.filter,
                                        .number = job->source + 1,
                                        .count = inputs->count,
                                        .format = job->order.format};
    const size_t folder = strlen(options->out_path);
    char name[NAME_BYTES];

    if (qs_name_make(pattern_of(options), &parts, name, sizeof name, &job->why) !=
        QS_OK)
        return QS_OK; /* told with the picture */
    job->target = qs_alloc(folder + 1 + sizeof name, 1);
    if (job->target == NULL)
        return qs_fail_memory(err);
    (void)snprintf(job->target, folder + 1 + sizeof name, "%s%s%s", options->out_path,
                   folder > 0 && options->out_path[folder - 1] == '/' ? "" : "/", name);
    return QS_OK;
}

static enum qs_status
settle(const struct qs_deliver_options *options, const struct qs_inputs *inputs,
       struct qs_deliver_job *job, struct qs_error *err)
{
    const enum qs_compression compression = job->order.compression;

    if (job->order.format == QS_FILE_PNG && !qs_compression_kind(compression)->in_png) {
        (void)qs_fail(&job->why, QS_ERR_UNSUPPORTED,
                      "A PNG can't be compressed by %s; choose --compress deflate, or "
                      "--format tiff.",
                      qs_compression_kind(compression)->key);
        return QS_OK;
    }
    if (qs_picture_sides(&job->order, &job->info, &job->sides, &job->why) != QS_OK)
        return QS_OK;
    return name_target(options, inputs, job, err);
}

/* All sizes and filters of one picture. */
static enum qs_status
add_picture(const struct qs_deliver_options *options, const struct qs_inputs *inputs,
            int source, struct qs_deliver_jobs *jobs, struct qs_error *err)
{
    struct qs_image *image = NULL;
    struct qs_deliver_job *first = &jobs->jobs[jobs->count];
    enum qs_status status = QS_OK;

    first->source = source;
    if (qs_image_open_with_alpha(inputs->paths[source], &image, &first->why) != QS_OK) {
        jobs->count++;
        return QS_OK;
    }
    for (int s = 0; s < options->size_count && status == QS_OK; s++)
        for (int f = 0; f < options->filter_count && status == QS_OK; f++) {
            struct qs_deliver_job *job = &jobs->jobs[jobs->count++];

            job->source = source;
            job->info = *qs_image_info(image);
            job->info.colour.icc = NULL;
            job->order = order_of(options, &job->info, s, f);
            status = settle(options, inputs, job, err);
        }
    qs_image_close(image);
    return status;
}

static int
by_target(const void *a, const void *b)
{
    const struct qs_deliver_job *const *one = a, *const *other = b;

    return strcmp((*one)->target, (*other)->target);
}

/* Jobs with a target, by its name; NULL where memory is short.  To be freed. */
static struct qs_deliver_job **
sorted(const struct qs_deliver_jobs *jobs, int *count)
{
    struct qs_deliver_job **list = qs_alloc((size_t)jobs->count, sizeof *list);

    *count = 0;
    for (int i = 0; list != NULL && i < jobs->count; i++)
        if (jobs->jobs[i].target != NULL)
            list[(*count)++] = &jobs->jobs[i];
    if (list != NULL)
        qsort(list, (size_t)*count, sizeof *list, by_target);
    return list;
}

static enum qs_status
check_apart(const struct qs_inputs *inputs, const struct qs_deliver_jobs *jobs,
            struct qs_error *err)
{
    int count;
    struct qs_deliver_job **list = sorted(jobs, &count);
    enum qs_status status = list != NULL ? QS_OK : qs_fail_memory(err);

    for (int i = 1; status == QS_OK && i < count; i++)
        if (strcmp(list[i - 1]->target, list[i]->target) == 0)
            status = qs_fail(
                err, QS_ERR_USAGE,
                "%.150s and %.150s would both be delivered as %.150s; tell them apart "
                "with --name, for example --name {number}-{name}-{size}-{filter}.",
                inputs->paths[list[i - 1]->source], inputs->paths[list[i]->source],
                list[i]->target);
    qs_free(list);
    return status;
}

static enum qs_status
check_sources(const struct qs_inputs *inputs, const struct qs_deliver_jobs *jobs,
              struct qs_error *err)
{
    for (int j = 0; j < jobs->count; j++)
        for (int i = 0; jobs->jobs[j].target != NULL && i < inputs->count; i++)
            if (qs_is_same_file(jobs->jobs[j].target, inputs->paths[i]))
                return qs_fail(err, QS_ERR_USAGE,
                               "%.200s is one of the pictures to be delivered, and is "
                               "never written over; choose another folder with --out, "
                               "or another --name.",
                               jobs->jobs[j].target);
    return QS_OK;
}

enum qs_status
qs_deliver_jobs_make(const struct qs_deliver_options *options,
                     const struct qs_inputs *inputs, struct qs_deliver_jobs *out,
                     struct qs_error *err)
{
    const size_t most = (size_t)inputs->count * (size_t)options->size_count *
                        (size_t)options->filter_count;
    enum qs_status status = QS_OK;

    *out = (struct qs_deliver_jobs){.count = 0};
    out->jobs = qs_alloc(most, sizeof *out->jobs);
    if (out->jobs == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < inputs->count && status == QS_OK; i++)
        status = add_picture(options, inputs, i, out, err);
    if (status == QS_OK)
        status = check_apart(inputs, out, err);
    return status == QS_OK ? check_sources(inputs, out, err) : status;
}

void
qs_deliver_jobs_clear(struct qs_deliver_jobs *jobs)
{
    for (int i = 0; i < jobs->count; i++)
        qs_free(jobs->jobs[i].target);
    qs_free(jobs->jobs);
    *jobs = (struct qs_deliver_jobs){.count = 0};
}
