/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_cluster.h"

#include <math.h>

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
