/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/order.h"

void
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

double
qs_median(double *values, size_t count)
{
    if (count == 0)
        return 0.0;
    qs_sort(values, count);
    return 0.5 * (values[(count - 1) / 2] + values[count / 2]);
}
