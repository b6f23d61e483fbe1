/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/pool.h"

#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>
#include <unistd.h>

#include "base/memory.h"

enum {
    MAX_THREADS = 256
};

struct qs_pool {
    pthread_mutex_t lock;
    pthread_cond_t work; /* a batch has come, or the pool is to stop */
    pthread_cond_t idle; /* the last job of a batch has ended */
    pthread_t *helpers;
    int helper_count;
    bool stop;
    void (*job)(void *, int);
    void *context;
    int next;    /* first job nobody has taken */
    int count;   /* jobs in the batch */
    int running; /* jobs taken and not ended */
};

int
qs_pool_cpus(void)
{
    long n = sysconf(_SC_NPROCESSORS_ONLN);

    return n < 1 ? 1 : n > MAX_THREADS ? MAX_THREADS : (int)n;
}

/* Takes and runs jobs until none is left to take.  The lock is held at both ends. */
static void
drain(struct qs_pool *pool)
{
    while (pool->next < pool->count) {
        int index = pool->next++;

        pool->running++;
        pthread_mutex_unlock(&pool->lock);
        pool->job(pool->context, index);
        pthread_mutex_lock(&pool->lock);
        pool->running--;
    }
    if (pool->running == 0)
        pthread_cond_broadcast(&pool->idle);
}

static void *
helper_main(void *argument)
{
    struct qs_pool *pool = argument;

    pthread_mutex_lock(&pool->lock);
    while (!pool->stop) {
        if (pool->next < pool->count)
            drain(pool);
        else
            pthread_cond_wait(&pool->work, &pool->lock);
    }
    pthread_mutex_unlock(&pool->lock);
    return NULL;
}

enum qs_status
qs_pool_new(int threads, struct qs_pool **out, struct qs_error *err)
{
    struct qs_pool *pool = qs_alloc(1, sizeof *pool);
    int wanted = threads > 0 ? threads : qs_pool_cpus();

    *out = NULL;
    if (wanted > MAX_THREADS)
        wanted = MAX_THREADS;
    if (pool == NULL)
        return qs_fail_memory(err);
    pool->helpers = qs_alloc((size_t)wanted, sizeof *pool->helpers);
    if (pool->helpers == NULL) {
        qs_free(pool);
        return qs_fail_memory(err);
    }
    pthread_mutex_init(&pool->lock, NULL);
    pthread_cond_init(&pool->work, NULL);
    pthread_cond_init(&pool->idle, NULL);
    while (pool->helper_count < wanted - 1 &&
           pthread_create(&pool->helpers[pool->helper_count], NULL, helper_main,
                          pool) == 0)
        pool->helper_count++;
    *out = pool;
    return QS_OK;
}

void
qs_pool_free(struct qs_pool *pool)
{
    if (pool == NULL)
        return;
    pthread_mutex_lock(&pool->lock);
    pool->stop = true;
    pthread_cond_broadcast(&pool->work);
    pthread_mutex_unlock(&pool->lock);
    for (int i = 0; i < pool->helper_count; i++)
        pthread_join(pool->helpers[i], NULL);
    pthread_cond_destroy(&pool->idle);
    pthread_cond_destroy(&pool->work);
    pthread_mutex_destroy(&pool->lock);
    qs_free(pool->helpers);
    qs_free(pool);
}

int
qs_pool_threads(const struct qs_pool *pool)
{
    return pool->helper_count + 1;
}

void
qs_pool_run(struct qs_pool *pool, int count, void (*job)(void *, int), void *context)
{
    pthread_mutex_lock(&pool->lock);
    pool->job = job;
    pool->context = context;
    pool->next = 0;
    pool->count = count;
    pthread_cond_broadcast(&pool->work);
    drain(pool);
    while (pool->running > 0)
        pthread_cond_wait(&pool->idle, &pool->lock);
    pool->count = 0;
    pool->next = 0;
    pthread_mutex_unlock(&pool->lock);
}
