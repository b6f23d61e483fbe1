/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/deliver_run.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "cli/clock.h"
#include "cli/deliver_trial.h"
#include "cli/progress.h"
#include "cli/whole_file.h"

static uint64_t
file_bytes(const char *path)
{
    struct stat about;

    return stat(path, &about) == 0 ? (uint64_t)about.st_size : 0;
}

static double
pixels_of(const struct qs_deliver_job *job)
{
    return job->target != NULL ? (double)job->info.width * job->info.height : 0.0;
}

void
qs_deliver_fail(struct qs_deliver_run *run, const char *source, const char *target,
                const char *why)
{
    struct qs_error err = {QS_OK, ""};

    qs_progress_erase(run->console);
    qs_say_error(run->console, source, why);
    run->failed = true;
    run->sum.failed++;
    if (run->json.errors != NULL &&
        qs_delivered_json_failed(&run->json, source, target, why, &err) != QS_OK)
        qs_say_error(run->console, run->options->json_path, err.text);
}

static void
draw_progress(void *context, double share)
{
    struct qs_deliver_run *run = context;
    const struct qs_deliver_job *job = &run->jobs.jobs[run->index];
    const double done = run->pixels_done + share * pixels_of(job);
    const double took = qs_now_s() - run->started_s;
    const double left = done > 0.0 ? took * (run->pixels - done) / done : -1.0;

    qs_progress_draw_left(run->console, run->index, run->jobs.count, job->target, share,
                          left);
}

/* Gives what came of a job to every output. */
static void
report(struct qs_deliver_run *run, const struct qs_delivered *delivered)
{
    struct qs_error err = {QS_OK, ""};

    qs_progress_erase(run->console);
    if (run->has_text && qs_delivered_text(stdout, delivered, &err) != QS_OK)
        run->has_text = false; /* main says that standard output takes no more */
    if (run->json.deliveries != NULL &&
        qs_delivered_json_add(&run->json, delivered, &err) != QS_OK) {
        qs_say_error(run->console, run->options->json_path, err.text);
        run->failed = true;
    }
    if (delivered->state == QS_DELIVERED_BEFORE) {
        run->sum.before++;
        return;
    }
    run->sum.delivered++;
    run->sum.bytes += delivered->bytes;
    run->sum.seconds += delivered->seconds;
}

/* Whether the target may be written: QS_OK, *keep = it is finished already. */
static enum qs_status
look_at_target(struct qs_deliver_run *run, const struct qs_deliver_job *job, bool *keep,
               struct qs_error *err)
{
    const struct qs_deliver_options *options = run->options;
    enum qs_picture_found found = QS_FOUND_NOTHING;
    struct stat about;
    enum qs_status status = QS_OK;

    *keep = false;
    if (lstat(job->target, &about) != 0)
        return QS_OK;
    if (options->resume) {
        struct qs_image *image = NULL;

        status = qs_image_open_with_alpha(run->inputs.paths[job->source], &image, err);
        if (status == QS_OK)
            status = qs_picture_find(image, &job->order, job->target, &found, err);
        qs_image_close(image);
        *keep = found == QS_FOUND_SAME;
    }
    if (status != QS_OK || *keep || options->overwrite || found == QS_FOUND_EARLIER)
        return status;
    if (options->resume)
        return qs_fail(err, QS_ERR_WRITE,
                       "%.200s is there already, and is no delivery or was changed "
                       "since; --overwrite replaces it.",
                       job->target);
    return qs_fail(err, QS_ERR_WRITE,
                   "%.200s is there already; --overwrite replaces it, --resume keeps "
                   "what is finished.",
                   job->target);
}

static enum qs_status
write_target(struct qs_deliver_run *run, const struct qs_deliver_job *job,
             struct qs_picture_done *done, struct qs_error *err)
{
    struct qs_whole_file file;
    struct qs_image *image = NULL;
    enum qs_status status =
        qs_image_open_with_alpha(run->inputs.paths[job->source], &image, err);

    if (status != QS_OK)
        return status;
    status = qs_whole_file_open(job->target, &file, err);
    if (status == QS_OK && file.temporary == NULL)
        status = qs_fail(err, QS_ERR_WRITE,
                         "%.200s is a device or a pipe, where no picture can be "
                         "written; choose another name.",
                         job->target);
    if (status == QS_OK)
        status = qs_picture_deliver(image, &job->order, file.temporary, run->pool,
                                    draw_progress, run, done, err);
    if (status == QS_OK)
        status = qs_whole_file_keep(&file, err);
    else
        qs_whole_file_drop(&file);
    qs_image_close(image);
    return status;
}

static enum qs_status
check_noise(struct qs_deliver_run *run, const struct qs_deliver_job *job,
            struct qs_delivered *delivered, struct qs_error *err)
{
    if (!run->options->check)
        return QS_OK;
    delivered->has_check = true;
    return qs_noise_check(run->inputs.paths[job->source], &job->info, job->target,
                          &job->order, &job->sides, run->pool, &delivered->check, err);
}

static struct qs_delivered
delivered_of(const struct qs_deliver_run *run, const struct qs_deliver_job *job)
{
    return (struct qs_delivered){.source = run->inputs.paths[job->source],
                                 .target = job->target,
                                 .info = &job->info,
                                 .order = &job->order,
                                 .done.sides = job->sides};
}

static void
deliver(struct qs_deliver_run *run, const struct qs_deliver_job *job)
{
    const double started = qs_now_s();
    struct qs_error err = {QS_OK, ""};
    struct qs_delivered delivered = delivered_of(run, job);
    bool keep;
    enum qs_status status = look_at_target(run, job, &keep, &err);

    delivered.state = keep ? QS_DELIVERED_BEFORE : QS_DELIVERED;
    if (status == QS_OK && !keep)
        status = write_target(run, job, &delivered.done, &err);
    if (status == QS_OK)
        status = check_noise(run, job, &delivered, &err);
    if (status != QS_OK) {
        qs_deliver_fail(run, delivered.source, job->target, err.text);
        return;
    }
    delivered.bytes = file_bytes(job->target);
    delivered.seconds = qs_now_s() - started;
    report(run, &delivered);
}

static void
foretell(struct qs_deliver_run *run, const struct qs_deliver_job *job)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_delivered delivered = delivered_of(run, job);
    bool keep;
    enum qs_status status = look_at_target(run, job, &keep, &err);

    delivered.state = keep ? QS_DELIVERED_BEFORE : QS_DELIVERED_NOT_YET;
    if (status == QS_OK && keep) {
        delivered.bytes = file_bytes(job->target);
    } else if (status == QS_OK) {
        status = qs_deliver_trial(delivered.source, &job->order, run->pool,
                                  &delivered.bytes, &delivered.seconds, &err);
    }
    if (status == QS_OK)
        report(run, &delivered);
    else
        qs_deliver_fail(run, delivered.source, job->target, err.text);
}

void
qs_deliver_all(struct qs_deliver_run *run)
{
    run->started_s = qs_now_s();
    for (int i = 0; i < run->jobs.count; i++)
        run->pixels += pixels_of(&run->jobs.jobs[i]);
    for (; run->index < run->jobs.count; run->index++) {
        const struct qs_deliver_job *job = &run->jobs.jobs[run->index];

        if (job->target == NULL)
            qs_deliver_fail(run, run->inputs.paths[job->source], NULL, job->why.text);
        else if (run->options->dry_run)
            foretell(run, job);
        else
            deliver(run, job);
        run->pixels_done += pixels_of(job);
    }
    if (!run->options->dry_run)
        run->sum.seconds = qs_now_s() - run->started_s;
}
