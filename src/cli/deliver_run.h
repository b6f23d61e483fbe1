/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * deliver_run.h - deliveries made one after another
 *
 * A picture that can't be delivered is named on standard error and passed over.
 *
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_DELIVER_RUN_H
#define QS_CLI_DELIVER_RUN_H

#include <stdbool.h>

#include "base/pool.h"
#include "cli/deliver_jobs.h"
#include "cli/deliver_options.h"
#include "cli/inputs.h"
#include "cli/messages.h"
#include "report/delivered.h"

/* All zero but for the first three at the start. */
struct qs_deliver_run {
    struct qs_console *console;
    const struct qs_deliver_options *options;
    struct qs_pool *pool;
    struct qs_inputs inputs;
    struct qs_deliver_jobs jobs;
    struct qs_delivered_json json;
    bool has_text;
    struct qs_delivered_sum sum;
    bool failed;
    int index;          /* of the job in hand */
    double pixels;      /* source pixels of all jobs, */
    double pixels_done; /*   and of those behind us */
    double started_s;
};

/* Names what could not be delivered, or read; `target` may be NULL. */
void
qs_deliver_fail(struct qs_deliver_run *run, const char *source, const char *target,
                const char *why);

/* Does all jobs, or tells of them where it is a dry run. */
void
qs_deliver_all(struct qs_deliver_run *run);

#endif
