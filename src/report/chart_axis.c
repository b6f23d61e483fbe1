/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_axis.h"

#include <math.h>

/* Labels that an axis has room for. */
#define LINEAR_TICKS 8.0

/* More decades than this are told by powers of ten alone. */
#define DECADES_IN_STEPS 3.2

enum {
    LABELS = 256 /* most that are spread */
};

static const double steps[] = {1.0, 2.0, 5.0};

enum {
    STEPS = sizeof steps / sizeof steps[0]
};

/* The least round number at or above `value`. */
static double
round_up(double value)
{
    double power = pow(10.0, floor(log10(value)));

    for (int i = 0; i < STEPS; i++)
        if (value <= steps[i] * power * (1.0 + 1e-9))
            return steps[i] * power;
    return 10.0 * power;
}

static void
add(struct qs_axis_ticks *ticks, double value)
{
    if (ticks->count < QS_AXIS_TICKS)
        ticks->value[ticks->count++] = value;
}

static struct qs_axis_ticks
linear_ticks(double low, double high)
{
    struct qs_axis_ticks ticks = {.count = 0};
    double step;
    long first, last;

    if (!(high > low)) {
        double around = fabs(low) > 0.0 ? 0.5 * fabs(low) : 1.0;

        low -= around;
        high += around;
    }
    step = round_up((high - low) / LINEAR_TICKS);
    first = (long)floor(low / step + 1e-9);
    last = (long)ceil(high / step - 1e-9);
    for (long i = first; i <= last; i++)
        add(&ticks, (double)i * step);
    ticks.low = (double)first * step;
    ticks.high = (double)last * step;
    return ticks;
}

/* The i-th of ..., 0.5, 1, 2, 5, 10, 20, ...; i = 0 is 1. */
static double
step_number(int i)
{
    int decade = i >= 0 ? i / STEPS : -((-i + STEPS - 1) / STEPS);

    return steps[i - decade * STEPS] * pow(10.0, decade);
}

static struct qs_axis_ticks
log_ticks(double low, double high)
{
    struct qs_axis_ticks ticks = {.count = 0};
    int first, last, stride;

    first = STEPS * (int)floor(log10(low));
    while (step_number(first + 1) <= low * (1.0 + 1e-9))
        first++;
    last = first + 1;
    while (step_number(last) < high * (1.0 - 1e-9))
        last++;
    stride = last - first > STEPS * DECADES_IN_STEPS ? STEPS : 1;
    for (int i = first; i <= last; i++)
        if (i % stride == 0)
            add(&ticks, step_number(i));
    ticks.low = step_number(first);
    ticks.high = step_number(last);
    return ticks;
}

struct qs_axis_ticks
qs_axis_ticks_of(double low, double high, bool is_log)
{
    double least = fmin(low, high), most = fmax(low, high);

    return is_log ? log_ticks(least, most) : linear_ticks(least, most);
}

double
qs_axis_place(const struct qs_axis_ticks *ticks, bool is_log, double value)
{
    if (is_log)
        return log(value / ticks->low) / log(ticks->high / ticks->low);
    return (value - ticks->low) / (ticks->high - ticks->low);
}

/* Indexes of places in rising order. */
static void
order_of(const double *places, int count, int *order)
{
    for (int i = 0; i < count; i++) {
        int k = i;

        for (; k > 0 && places[order[k - 1]] > places[i]; k--)
            order[k] = order[k - 1];
        order[k] = i;
    }
}

/*
 * Labels that touch form a block, which stands where its members' wishes are met best:
 * their mean.  Blocks that touch in turn become one.
 */
struct block {
    int first, count;
    double wish; /* sum of members' places less their place in the block */
};

static double
block_start(const struct block *block, double gap, double low, double high)
{
    double start = block->wish / block->count;
    double most = high - gap * (block->count - 1);

    if (start > most)
        start = most;
    return start < low ? low : start;
}

void
qs_axis_spread(double *places, int count, double gap, double low, double high)
{
    int order[LABELS], blocks = 0;
    struct block block[LABELS];

    if (count > LABELS)
        count = LABELS;
    if (count > 1 && gap * (count - 1) > high - low)
        gap = (high - low) / (count - 1);
    order_of(places, count, order);
    for (int i = 0; i < count; i++) {
        block[blocks++] = (struct block){i, 1, places[order[i]]};
        while (blocks > 1) {
            struct block *before = &block[blocks - 2], *last = &block[blocks - 1];
            double end = block_start(before, gap, low, high) + gap * before->count;

            if (block_start(last, gap, low, high) >= end)
                break;
            before->wish += last->wish - gap * before->count * last->count;
            before->count += last->count;
            blocks--;
        }
    }
    for (int b = 0; b < blocks; b++)
        for (int k = 0; k < block[b].count; k++)
            places[order[block[b].first + k]] =
                block_start(&block[b], gap, low, high) + gap * k;
}
