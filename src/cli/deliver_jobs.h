/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * deliver_jobs.h - what is to be delivered: each picture at each size and filter
 *
 * Settled before anything is written, so that two deliveries of one name, or one that
 * would take the place of a source, are told first.
 *
 * Memory: the list owns its paths.
 * Threads: from the main thread alone.
 */
#ifndef QS_CLI_DELIVER_JOBS_H
#define QS_CLI_DELIVER_JOBS_H

#include <stdbool.h>

#include "cli/deliver_options.h"
#include "cli/inputs.h"
#include "deliver/picture.h"

struct qs_deliver_job {
    int source; /* index into the inputs */
    struct qs_picture_order order;
    struct qs_image_info info; /* of the source; its profile bytes are not kept */
    struct qs_picture_sides sides;
    char *target;        /* NULL where there is none to be */
    struct qs_error why; /*   and why */
};

struct qs_deliver_jobs {
    struct qs_deliver_job *jobs;
    int count;
};

/*
 * Looks at each input and lists its deliveries.  An input that can't be used is one job
 * without a target.
 *
 *   QS_OK           *out is to be cleared
 *   QS_ERR_USAGE    two deliveries would have one name, or one that of a source
 *   QS_ERR_MEMORY   likewise to be cleared
 */
QS_MUST_CHECK enum qs_status
qs_deliver_jobs_make(const struct qs_deliver_options *options,
                     const struct qs_inputs *inputs, struct qs_deliver_jobs *out,
                     struct qs_error *err);

void
qs_deliver_jobs_clear(struct qs_deliver_jobs *jobs);

#endif
