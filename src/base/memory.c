/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/memory.h"

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

static atomic_long allocations;
static atomic_long fail_at = -1;

static bool
must_fail(void)
{
    return atomic_fetch_add(&allocations, 1) == atomic_load(&fail_at);
}

void *
qs_alloc(size_t count, size_t size)
{
    if (must_fail())
        return NULL;
    if (count == 0 || size == 0)
        return calloc(1, 1);
    return calloc(count, size);
}

void *
qs_realloc(void *array, size_t count, size_t size)
{
    if (must_fail() || (size != 0 && count > SIZE_MAX / size))
        return NULL;
    return realloc(array, count * size > 0 ? count * size : 1);
}

void
qs_free(void *pointer)
{
    free(pointer);
}

void
qs_alloc_fail_at(long n)
{
    atomic_store(&allocations, 0);
    atomic_store(&fail_at, n);
}

long
qs_alloc_count(void)
{
    return atomic_load(&allocations);
}
