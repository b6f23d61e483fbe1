/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_cluster.h"

#include <math.h>

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

/* First index whose value is at least `bound`; `count` where there is none. */
static size_t
first_from(const double *sorted, size_t count, double bound)
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

double
qs_cluster_climb(const double *sorted, size_t count, double at, double reach)
{
    for (int round = 0; round < 40; round++) {
        double sum = 0.0, moved;
        size_t inside = 0;

        for (size_t i = first_from(sorted, count, at - reach);
             i < count && sorted[i] <= at + reach; i++) {
            sum += sorted[i];
            inside++;
        }
        if (inside == 0)
            return at;
        moved = sum / (double)inside - at;
        at += moved;
        if (fabs(moved) < 1e-4)
            break;
    }
    return at;
}

double
qs_cluster_spread(const double *sorted, size_t count, double centre, double least,
                  double most)
{
    double spread = most;

    for (int round = 0; round < 20; round++) {
        double sum = 0.0, next;
        size_t inside = 0;

        for (size_t i = 0; i < count && sorted[i] < centre; i++) {
            if (sorted[i] > centre - 3.5 * spread) {
                sum += (sorted[i] - centre) * (sorted[i] - centre);
                inside++;
            }
        }
        next = inside == 0 ? least : sqrt(sum / (double)inside);
        next = next < least ? least : next > most ? most : next;
        if (fabs(next - spread) < 1e-3 * spread)
            return next;
        spread = next;
    }
    return spread;
}
