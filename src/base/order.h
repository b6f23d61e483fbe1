/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * order.h - numbers in order, and the one in the middle
 *
 * Values are to be finite.
 * Threads: depends on the arguments alone.
 */
#ifndef QS_BASE_ORDER_H
#define QS_BASE_ORDER_H

#include <stddef.h>

/*
 * Sorts `values`, smallest first.  A library sort spends most of its time calling the
 * comparison, and the search for patches sorts often enough to notice.
 */
void
qs_sort(double *values, size_t count);

/*
 * The median: of an even count the mean of the two in the middle; of none 0.  Leaves
 * `values` in another order.
 */
double
qs_median(double *values, size_t count);

#endif
