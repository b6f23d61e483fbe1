/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_sort.h - numbers in order
 *
 * Part of the search for flat patches (find.h).  A library sort spends most of
 * its time calling the comparison; the search sorts often enough to notice.
 *
 * Threads: depends on its arguments alone.
 */
#ifndef QS_FLAT_FIND_SORT_H
#define QS_FLAT_FIND_SORT_H

#include <stddef.h>

/* Sorts `values`, none of which is NaN, smallest first. */
static inline void
qs_sort(double *values, size_t count)
{
    /* Shell's method with the gaps of Ciura (2001), the next ones 2.25 apart. */
    static const size_t gaps[] = {68764, 30561, 13583, 6037, 2683, 1193, 530,
                                  236,   105,   57,    23,   10,   4,    1};

    for (size_t g = 0; g < sizeof gaps / sizeof gaps[0]; g++) {
        const size_t gap = gaps[g];

        for (size_t i = gap; i < count; i++) {
            const double value = values[i];
            size_t j = i;

            for (; j >= gap && values[j - gap] > value; j -= gap)
                values[j] = values[j - gap];
            values[j] = value;
        }
    }
}

/* First index whose value is at least `bound`; `count` where there is none. */
static inline size_t
qs_sorted_from(const double *sorted, size_t count, double bound)
{
    size_t low = 0, high = count;

    while (low < high) {
        size_t middle = low + (high - low) / 2;

        if (sorted[middle] < bound)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

#endif
