/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * memory.h - allocation that checks its arithmetic and can be made to fail
 *
 * Ownership: what qs_alloc returns is freed by qs_free, by whoever the
 * calling contract names as owner.
 */
#ifndef QS_BASE_MEMORY_H
#define QS_BASE_MEMORY_H

#include <stddef.h>

/*
 * Returns `count` zeroed elements of `size` bytes, or NULL when the product
 * overflows or memory is short.  A count of zero gives a valid pointer.
 */
void *
qs_alloc(size_t count, size_t size);

/*
 * Grows an array to `count` elements of `size` bytes, keeping its contents;
 * new bytes are not cleared.  On NULL the old array is still valid and owned.
 */
void *
qs_realloc(void *array, size_t count, size_t size);

/* Frees; NULL is allowed. */
void
qs_free(void *pointer);

/*
 * For tests: the n-th allocation from now (0 = the next) fails, once.
 * A negative n switches this off.
 */
void
qs_alloc_fail_at(long n);

/* For tests: allocations counted since the last qs_alloc_fail_at. */
long
qs_alloc_count(void);

#endif
