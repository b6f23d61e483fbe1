/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_axis.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/chart_figure.h"

/* Beyond this differences of two values are no longer finite; below the other one
   powers of ten lose digits. */
static const double LARGEST = 1e290;
static const double SMALLEST = 1e-290;

/* Narrower than this share of the values, ticks could not be told apart in print. */
static const double NARROWEST = 1e-9;

/* A logarithmic axis that spans less than this has evenly spaced ticks. */
static const double SHORT_RATIO = 3.0;

/* Figures from here on, or below, are written with powers of ten. */
static const double PLAIN_BELOW = 1e7;
static const double PLAIN_FROM = 1e-4;

/* How far, in steps, a range may miss a tick and still end there. */
static const double STEP_SLACK = 1e-9;

static const int round_steps[] = {1, 2, 5};

enum {
    ROUND_STEPS = sizeof round_steps / sizeof round_steps[0]
};

bool
qs_chart_can_show(double value, bool is_log)
{
    return isfinite(value) && fabs(value) <= LARGEST && (!is_log || value >= SMALLEST);
}

/* digits x 10^exponent, as near as a division by an exact power gets. */
static double
decimal(double digits, int exponent)
{
    return exponent < 0 ? digits / pow(10.0, -exponent) : digits * pow(10.0, exponent);
}

/* Evenly spaced ticks: `digits` x 10^exponent apart, from first to last of them. */
struct steps {
    int digits, exponent;
    double first, last;
};

static double
step_value(const struct steps *steps, double i)
{
    return decimal(i * steps->digits, steps->exponent);
}

/* The finest round step that needs no more than `most` ticks. */
static struct steps
find_steps(double low, double high, int most)
{
    struct steps steps = {.exponent = (int)floor(log10((high - low) / most)) - 1};

    for (int i = 0;; i++) {
        double step;

        steps.digits = round_steps[i % ROUND_STEPS];
        if (i > 0 && i % ROUND_STEPS == 0)
            steps.exponent++;
        step = decimal(steps.digits, steps.exponent);
        steps.first = floor(low / step + STEP_SLACK);
        steps.last = ceil(high / step - STEP_SLACK);
        if (steps.last - steps.first + 1.0 <= most)
            return steps;
    }
}

static struct qs_chart_figures
steps_style(const struct steps *steps)
{
    double largest = fmax(fabs(step_value(steps, steps->first)),
                          fabs(step_value(steps, steps->last)));
    struct qs_chart_figures style = {.powers = largest >= PLAIN_BELOW ||
                                               largest < PLAIN_FROM};

    style.decimals =
        style.powers ? (int)floor(log10(largest)) - steps->exponent : -steps->exponent;
    if (style.decimals < 0)
        style.decimals = 0;
    return style;
}

static void
add_mark(struct qs_chart_scale *out, double value, struct qs_chart_figures style)
{
    struct qs_chart_mark *mark = &out->marks[out->count++];

    mark->value = value;
    qs_chart_write_figure(value, style, mark->label, sizeof mark->label);
}

/* False where the steps would reach a value that a logarithmic axis has no place for.
 */
static bool
fit_steps(int most, struct qs_chart_scale *out)
{
    struct steps steps = find_steps(out->low, out->high, most);
    struct qs_chart_figures style = steps_style(&steps);

    if (out->is_log && steps.first <= 0.0)
        return false;
    for (double i = steps.first; i <= steps.last; i++)
        add_mark(out, step_value(&steps, i), style);
    return true;
}

/* Ticks of a logarithmic axis: numbered along it, `per_decade` of them in each
   decade, or one in every `decades`. */
struct rungs {
    int per_decade;
    int decades;
};

static double
rung_value(struct rungs rungs, int i, int *exponent)
{
    int decade = (int)floor((double)i / rungs.per_decade);

    *exponent = decade * rungs.decades;
    return decimal(rungs.per_decade == 1 ? 1
                                         : round_steps[i - decade * rungs.per_decade],
                   *exponent);
}

/* The last rung at or below the value. */
static int
rung_below(struct rungs rungs, double value)
{
    int unused;
    int i = ((int)floor(log10(value) / rungs.decades) + 2) * rungs.per_decade;

    while (rung_value(rungs, i, &unused) > value * (1.0 + STEP_SLACK))
        i--;
    return i;
}

/* The first rung at or above the value. */
static int
rung_above(struct rungs rungs, double value)
{
    int unused;
    int i = rung_below(rungs, value);

    return i + (rung_value(rungs, i, &unused) < value * (1.0 - STEP_SLACK));
}

/* The finest rungs of which the range takes no more than `most`. */
static struct rungs
find_rungs(double low, double high, int most, int *first, int *last)
{
    struct rungs rungs = {ROUND_STEPS, 1};

    for (;;) {
        *first = rung_below(rungs, low);
        *last = rung_above(rungs, high);
        if (*last - *first + 1 <= most)
            return rungs;
        rungs.decades += rungs.per_decade == 1;
        rungs.per_decade = 1;
    }
}

/*
 * Whole decades leave much room empty: the axis ends at the nearest 1, 2 or 5 instead
 * where two ticks or more are left.
 */
static void
cut_rungs(struct rungs rungs, double low, double high, int *first, int *last)
{
    static const struct rungs fine = {ROUND_STEPS, 1};
    int unused;
    double start = rung_value(fine, rung_below(fine, low), &unused);
    double end = rung_value(fine, rung_above(fine, high), &unused);
    int inner_first = rung_above(rungs, start), inner_last = rung_below(rungs, end);

    if (inner_last <= inner_first)
        return;
    *first = inner_first;
    *last = inner_last;
}

static void
fit_rungs(int most, struct qs_chart_scale *out)
{
    static const struct rungs fine = {ROUND_STEPS, 1};
    int first, last, exponent;
    const double low = out->low, high = out->high;
    const struct rungs rungs = find_rungs(low, high, most, &first, &last);
    const bool powers = high >= PLAIN_BELOW || low < PLAIN_FROM;

    cut_rungs(rungs, low, high, &first, &last);
    for (int i = first; i <= last; i++) {
        double value = rung_value(rungs, i, &exponent);

        add_mark(
            out, value,
            (struct qs_chart_figures){powers, powers || exponent > 0 ? 0 : -exponent});
    }
    out->low = fmin(low, rung_value(fine, rung_below(fine, low), &exponent));
    out->high = fmax(high, rung_value(fine, rung_above(fine, high), &exponent));
}

/* One value has room made around it: half of it either way, or a doubling. */
static void
make_room(bool is_log, double *low, double *high)
{
    double size = fmax(fabs(*low), fabs(*high));

    if (*high - *low > NARROWEST * size)
        return;
    if (is_log) {
        *low /= 2.0;
        *high *= 2.0;
    } else if (size < SMALLEST) {
        *low = -1.0;
        *high = 1.0;
    } else {
        *low -= size / 2.0;
        *high += size / 2.0;
    }
}

static int
by_value(const void *left, const void *right)
{
    const struct qs_chart_mark *a = left, *b = right;

    return (a->value > b->value) - (a->value < b->value);
}

/* The caller's ticks; those that have no place on the axis are left out. */
static void
take_own(const struct qs_chart_axis *axis, struct qs_chart_scale *out)
{
    assert(axis->tick_count <= QS_CHART_TICKS_MOST);
    for (int i = 0; i < axis->tick_count; i++) {
        struct qs_chart_mark *mark = &out->marks[out->count];

        if (!qs_chart_can_show(axis->ticks[i].value, axis->is_log))
            continue;
        mark->value = axis->ticks[i].value;
        qs_chart_set_label(axis->ticks[i].label, mark->label, sizeof mark->label);
        out->count++;
    }
    qsort(out->marks, (size_t)out->count, sizeof out->marks[0], by_value);
}

void
qs_chart_scale_fit(const struct qs_chart_axis *axis, double low, double high, int most,
                   struct qs_chart_scale *out)
{
    const bool is_log = axis->is_log;

    assert(low <= high && qs_chart_can_show(low, is_log));
    assert(qs_chart_can_show(high, is_log) && most >= QS_CHART_TICKS_LEAST);
    memset(out, 0, sizeof *out);
    out->is_log = is_log;
    out->is_reversed = axis->is_reversed;
    if (most > QS_CHART_TICKS_MOST)
        most = QS_CHART_TICKS_MOST;
    if (axis->ticks != NULL)
        take_own(axis, out);
    if (out->count > 0) {
        low = fmin(low, out->marks[0].value);
        high = fmax(high, out->marks[out->count - 1].value);
    }
    make_room(is_log, &low, &high);
    out->low = low;
    out->high = high;
    if (axis->ticks != NULL)
        return;
    if ((is_log && high > SHORT_RATIO * low) || !fit_steps(most, out))
        fit_rungs(most, out);
    out->low = fmin(out->low, out->marks[0].value);
    out->high = fmax(out->high, out->marks[out->count - 1].value);
}

double
qs_chart_scale_place(const struct qs_chart_scale *scale, double value)
{
    double share;

    if (scale->is_log) /* differences, as the ends' ratio may be out of range */
        share = (log(value) - log(scale->low)) / (log(scale->high) - log(scale->low));
    else
        share = (value - scale->low) / (scale->high - scale->low);
    return scale->is_reversed ? 1.0 - share : share;
}
