/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * pool.h - independent jobs over a fixed set of threads
 *
 * Results never depend on the number of threads: each job writes to a place of
 * its own, and the caller merges in the order of the jobs.
 */
#ifndef QS_BASE_POOL_H
#define QS_BASE_POOL_H

#include "base/status.h"

struct qs_pool;

/* Processors this process may use; at least 1. */
int
qs_pool_cpus(void);

/*
 * Starts a pool that runs jobs on `threads` threads, the calling one counted;
 * 0 means one for each processor.  Where the system grants fewer, fewer are
 * used.
 *
 *   QS_OK          *out is to be freed with qs_pool_free
 *   QS_ERR_MEMORY  *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_pool_new(int threads, struct qs_pool **out, struct qs_error *err);

/* Stops the threads and frees the pool; NULL is allowed. */
void
qs_pool_free(struct qs_pool *pool);

/* Threads that run jobs, the calling one counted. */
int
qs_pool_threads(const struct qs_pool *pool);

/*
 * Runs job(context, 0) ... job(context, count - 1), in any order and on any
 * thread, and returns when all are done.  Not to be called from inside a job.
 */
void
qs_pool_run(struct qs_pool *pool, int count, void (*job)(void *context, int index),
            void *context);

#endif
