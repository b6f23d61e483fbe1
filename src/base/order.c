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

enum {
    FEW = 24 /* so few are sorted outright */
};

static double
middle_of(double a, double b, double c)
{
    if (a > b) {
        double kept = a;

        a = b;
        b = kept;
    }
    return c < a ? a : c > b ? b : c;
}

/*
 * Splits values[from .. to) about `pivot`, which is one of them: returns the first
 * place of the upper part.  Both parts hold a value at least, none below is above the
 * pivot, none above is below it.
 */
static size_t
split(double *values, size_t from, size_t to, double pivot)
{
    size_t i = from, j = to - 1;

    for (;;) {
        double kept;

        while (values[i] < pivot)
            i++;
        while (values[j] > pivot)
            j--;
        if (i >= j)
            return i > from ? i : from + 1;
        kept = values[i];
        values[i++] = values[j];
        values[j--] = kept;
    }
}

/*
 * Brings the value of rank `place` to its place, with none greater before it and none
 * smaller behind: Hoare's search (1961).  Where the pivots keep missing, the rest is
 * sorted.
 */
static void
bring(double *values, size_t count, size_t place)
{
    size_t from = 0, to = count;

    for (int round = 0; to - from > FEW && round < 64; round++) {
        double pivot =
            middle_of(values[from], values[from + (to - from) / 2], values[to - 1]);
        size_t at = split(values, from, to, pivot);

        if (place < at)
            to = at;
        else
            from = at;
    }
    qs_sort(values + from, to - from);
}

static double
largest(const double *values, size_t count)
{
    double most = values[0];

    for (size_t i = 1; i < count; i++)
        most = values[i] > most ? values[i] : most;
    return most;
}

double
qs_median(double *values, size_t count)
{
    const size_t upper = count / 2;

    if (count == 0)
        return 0.0;
    bring(values, count, upper);
    if (count % 2 == 1)
        return values[upper];
    return 0.5 * (largest(values, upper) + values[upper]);
}
