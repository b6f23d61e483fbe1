/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_pool.c - every job runs once, on any number of threads, to the same bits
 */
#include "base/pool.h"

#include <math.h>
#include <stdatomic.h>

#include "base/memory.h"
#include "base/random.h"
#include "check_main.h"

enum {
    JOBS = 1013
};

static const int thread_counts[] = {1, 2, 3, 8};

static struct qs_pool *
pool_of(int threads)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_pool *pool = NULL;

    ck_assert_int_eq(qs_pool_new(threads, &pool, &err), QS_OK);
    ck_assert_ptr_nonnull(pool);
    return pool;
}

static atomic_int runs[JOBS];

static void
count_run(void *context, int index)
{
    atomic_int *all = context;

    atomic_fetch_add(&runs[index], 1);
    atomic_fetch_add(all, 1);
}

START_TEST(each_job_runs_once)
{
    for (size_t k = 0; k < sizeof thread_counts / sizeof thread_counts[0]; k++) {
        struct qs_pool *pool = pool_of(thread_counts[k]);
        atomic_int all = 0;

        for (int i = 0; i < JOBS; i++)
            atomic_store(&runs[i], 0);
        qs_pool_run(pool, JOBS, count_run, &all);
        ck_assert_int_eq(atomic_load(&all), JOBS);
        for (int i = 0; i < JOBS; i++)
            ck_assert_int_eq(atomic_load(&runs[i]), 1);
        qs_pool_free(pool);
    }
}
END_TEST

/* Many short batches: the place where a lost wake-up or a late helper would show. */
START_TEST(batches_do_not_mix)
{
    struct qs_pool *pool = pool_of(4);
    atomic_int all = 0;
    int expected = 0;

    for (int round = 0; round < 3000; round++) {
        int count = round % 7;

        qs_pool_run(pool, count, count_run, &all);
        expected += count;
        ck_assert_int_eq(atomic_load(&all), expected);
    }
    qs_pool_free(pool);
}
END_TEST

/* Work of uneven length, of floating point, into a place of each job's own. */
static void
uneven(void *context, int index)
{
    double *out = context;
    struct qs_random random;
    double sum = 0.0;

    qs_random_seed(&random, (uint64_t)index);
    for (int i = 0; i < 1 + index % 331; i++)
        sum += sqrt(fabs(qs_random_normal(&random)));
    out[index] = sum;
}

START_TEST(same_bits_for_any_number_of_threads)
{
    static double one[JOBS], many[JOBS];
    struct qs_pool *pool = pool_of(1);

    qs_pool_run(pool, JOBS, uneven, one);
    qs_pool_free(pool);
    for (size_t k = 1; k < sizeof thread_counts / sizeof thread_counts[0]; k++) {
        pool = pool_of(thread_counts[k]);
        for (int i = 0; i < JOBS; i++)
            many[i] = -1.0;
        qs_pool_run(pool, JOBS, uneven, many);
        qs_pool_free(pool);
        for (int i = 0; i < JOBS; i++)
            ck_assert(one[i] == many[i]);
    }
}
END_TEST

START_TEST(odd_requests)
{
    struct qs_pool *pool = pool_of(0);
    atomic_int all = 0;

    ck_assert_int_ge(qs_pool_cpus(), 1);
    ck_assert_int_ge(qs_pool_threads(pool), 1);
    ck_assert_int_le(qs_pool_threads(pool), qs_pool_cpus());
    qs_pool_run(pool, 0, count_run, &all);
    ck_assert_int_eq(atomic_load(&all), 0);
    qs_pool_free(pool);
    qs_pool_free(pool_of(3)); /* never used */
    qs_pool_free(NULL);
}
END_TEST

START_TEST(memory_runs_out)
{
    for (long n = 0; n < 2; n++) {
        struct qs_error err = {QS_OK, ""};
        struct qs_pool *pool = NULL;

        qs_alloc_fail_at(n);
        ck_assert_int_eq(qs_pool_new(3, &pool, &err), QS_ERR_MEMORY);
        ck_assert_ptr_null(pool);
        ck_assert_int_eq(err.status, QS_ERR_MEMORY);
    }
    qs_alloc_fail_at(-1);
}
END_TEST

QS_TEST_MAIN("pool", each_job_runs_once, batches_do_not_mix,
             same_bits_for_any_number_of_threads, odd_requests, memory_runs_out)
