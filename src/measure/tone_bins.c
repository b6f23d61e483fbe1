/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/tone_bins.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/memory.h"

enum {
    PART_BITS = 6,     /* each stop is cut into 64 bins */
    LOWEST_STOP = -14, /* everything below is in the first bin */
    STOPS = 16,
    BINS = STOPS << PART_BITS,
    GROUPS = 32, /* groups of rows are counted round by round */
    LEAST_PX = 1000
};

/* 97.5 % of a normal distribution. */
static const double NORMAL_95 = 1.959963984540054;

/* Shares of the pixels, dark and bright, that no class is spread out for. */
static const double RIM_SHARE = 1e-3;

/* Less contrast than this (of white) does not tell a change of the light's strength
 * from one of the black. */
static const double LEAST_SPAN = 1e-4;

/* Classes are that far apart: a bin, as a share of the tone, ... */
static const double LEAST_RATIO = 1.0 / 64.0;

/* ... and in sd of the random noise, which makes tones hard to tell apart. */
static const double LEAST_NOISE = 0.125;

struct sums {
    double count; /* of pairs of samples */
    double mean;
    double square; /* of differences */
    double clipped;
};

/* How a bin's pixels differ in one pair of frames, all together. */
struct change {
    double count;
    double mean;
    double difference;
};

struct qs_tone_bins {
    int frames;
    int pairs;
    struct sums (*sums)[BINS];      /* [GROUPS] */
    struct change (*changes)[BINS]; /* [pairs] */
};

enum qs_status
qs_tone_bins_new(int frames, struct qs_tone_bins **out, struct qs_error *err)
{
    struct qs_tone_bins *bins = qs_alloc(1, sizeof *bins);

    *out = NULL;
    if (bins == NULL)
        return qs_fail_memory(err);
    bins->frames = frames;
    bins->pairs = frames == 2 ? 1 : frames;
    bins->sums = qs_alloc(GROUPS, sizeof *bins->sums);
    bins->changes = qs_alloc((size_t)bins->pairs, sizeof *bins->changes);
    if (bins->sums == NULL || bins->changes == NULL) {
        qs_tone_bins_free(bins);
        return qs_fail_memory(err);
    }
    *out = bins;
    return QS_OK;
}

void
qs_tone_bins_free(struct qs_tone_bins *bins)
{
    if (bins == NULL)
        return;
    qs_free(bins->sums);
    qs_free(bins->changes);
    qs_free(bins);
}

/*
 * The bin of a tone: exponent and first bits of its binary form, which cut each stop
 * into parts of even width and need no logarithm.
 */
static int
bin_of(float tone)
{
    const int32_t lowest = (127 + LOWEST_STOP) << PART_BITS;
    int32_t bits;

    if (!(tone > 0.0f))
        return 0;
    memcpy(&bits, &tone, sizeof bits);
    bits = (bits >> (23 - PART_BITS)) - lowest;
    return bits < 0 ? 0 : bits >= BINS ? BINS - 1 : bits;
}

static void
add_pair(struct qs_tone_bins *bins, const struct qs_tone_row *row, int pair)
{
    int next = (pair + 1) % bins->frames;
    const float *a = row->rows[pair], *b = row->rows[next];
    const unsigned char *end_a = row->ends[pair], *end_b = row->ends[next];
    struct sums *sums = bins->sums[row->group % GROUPS];
    struct change *changes = bins->changes[pair];
    bool others = bins->frames > 2;
    float all = (float)bins->frames;

    for (int x = 0; x < row->width; x++) {
        float tone = others ? (all * row->chooser[x] - a[x] - b[x]) / (all - 2.0f)
                            : row->chooser[x];
        int bin = bin_of(tone);
        double difference = (double)a[x] - (double)b[x];
        double mean = 0.5 * ((double)a[x] + (double)b[x]);

        sums[bin].count += 1.0;
        sums[bin].mean += mean;
        sums[bin].square += difference * difference;
        sums[bin].clipped += ((end_a[x] | end_b[x]) & row->mask) != 0 ? 1.0 : 0.0;
        changes[bin].count += 1.0;
        changes[bin].mean += mean;
        changes[bin].difference += difference;
    }
}

void
qs_tone_bins_add(struct qs_tone_bins *bins, const struct qs_tone_row *row)
{
    for (int pair = 0; pair < bins->pairs; pair++)
        add_pair(bins, row, pair);
}

/* Sums of the bins from `from` up to `to`, of one group. */
static struct sums
sum_group(const struct qs_tone_bins *bins, int group, int from, int to)
{
    struct sums sum = {0};

    for (int bin = from; bin < to; bin++) {
        const struct sums *one = &bins->sums[group][bin];

        sum.count += one->count;
        sum.mean += one->mean;
        sum.square += one->square;
        sum.clipped += one->clipped;
    }
    return sum;
}

static struct sums
sum_all(const struct qs_tone_bins *bins, int from, int to)
{
    struct sums sum = {0};

    for (int group = 0; group < GROUPS; group++) {
        struct sums one = sum_group(bins, group, from, to);

        sum.count += one.count;
        sum.mean += one.mean;
        sum.square += one.square;
        sum.clipped += one.clipped;
    }
    return sum;
}

/* A change of light between two frames: constant + share x tone. */
struct light {
    double constant;
    double share;
};

/* R14: fitted to a pair's differences over tone. */
static struct light
light_of(const struct change changes[BINS])
{
    double n = 0.0, m = 0.0, d = 0.0, mm = 0.0, md = 0.0, square;
    struct light light = {0.0, 0.0};

    for (int bin = 0; bin < BINS; bin++) {
        const struct change *one = &changes[bin];

        if (one->count <= 0.0)
            continue;
        n += one->count;
        m += one->mean;
        d += one->difference;
        mm += one->mean * one->mean / one->count;
        md += one->mean * one->difference / one->count;
    }
    if (n <= 0.0)
        return light;
    square = mm - m * m / n;
    if (square > LEAST_SPAN * LEAST_SPAN * n)
        light.share = (md - m * d / n) / square;
    light.constant = (d - light.share * m) / n;
    return light;
}

/* R14: squares that changes of the light have brought, for each pair of samples. */
static void
fill_shared(const struct qs_tone_bins *bins, double shared[BINS])
{
    double count[BINS] = {0.0};

    memset(shared, 0, BINS * sizeof *shared);
    for (int pair = 0; pair < bins->pairs; pair++) {
        struct light light = light_of(bins->changes[pair]);

        for (int bin = 0; bin < BINS; bin++) {
            const struct change *one = &bins->changes[pair][bin];
            double change;

            if (one->count <= 0.0)
                continue;
            change = light.constant + light.share * one->mean / one->count;
            shared[bin] += change * (2.0 * one->difference - change * one->count);
            count[bin] += one->count;
        }
    }
    for (int bin = 0; bin < BINS; bin++)
        if (count[bin] > 0.0)
            shared[bin] /= count[bin];
}

/* Bins that make up a class: from <= bin < to. */
struct range {
    int from, to;
};

/* Squares in one group, less those that changes of the light have brought. */
static double
own_square(const struct qs_tone_bins *bins, int group, struct range range,
           const double shared[BINS])
{
    double sum = 0.0;

    for (int bin = range.from; bin < range.to; bin++) {
        const struct sums *one = &bins->sums[group][bin];

        sum += one->square - shared[bin] * one->count;
    }
    return sum;
}

/*
 * R16: variance of a class's variance from the scatter of its groups; no less than
 * that of independent noise.
 */
static double
variance_spread(const struct qs_tone_bins *bins, struct range range, double variance,
                const double shared[BINS], int *groups)
{
    double sum = 0.0, count = 0.0;
    double independent;

    *groups = 0;
    for (int group = 0; group < GROUPS; group++) {
        double here = sum_group(bins, group, range.from, range.to).count;
        double off = own_square(bins, group, range, shared) / 2.0 - variance * here;

        if (here <= 0.0)
            continue;
        (*groups)++;
        sum += off * off;
        count += here;
    }
    independent =
        2.0 * variance * variance * bins->pairs / (count * (bins->frames - 1.0));
    if (*groups < 2)
        return independent;
    return fmax(*groups / (*groups - 1.0) * sum / (count * count), independent);
}

/* Student's t, from the normal quantile (Cornish and Fisher's first terms). */
static double
student_95(int freedom)
{
    double z = NORMAL_95, nu = freedom;

    return z + (z * z * z + z) / (4.0 * nu) +
           (5.0 * pow(z, 5) + 16.0 * z * z * z + 3.0 * z) / (96.0 * nu * nu);
}

static struct qs_tone_class
class_of(const struct qs_tone_bins *bins, struct range range, const double shared[BINS])
{
    struct sums sum = sum_all(bins, range.from, range.to);
    struct qs_tone_class out = {.mean = sum.mean / sum.count,
                                .pixels = sum.count / bins->pairs,
                                .clipped = sum.clipped / sum.count};
    double square = 0.0, variance, spread, reach;
    int groups;

    for (int group = 0; group < GROUPS; group++)
        square += own_square(bins, group, range, shared);
    variance = fmax(square / sum.count, 0.0) / 2.0;
    out.sd = out.sd_low = out.sd_high = sqrt(variance);
    if (variance <= 0.0)
        return out;
    spread = variance_spread(bins, range, variance, shared, &groups);
    reach = (groups > 1 ? student_95(groups - 1) : NORMAL_95) * sqrt(spread) / variance;
    out.sd_low = out.sd * exp(-0.5 * reach);
    out.sd_high = out.sd * exp(0.5 * reach);
    return out;
}

/* Pairs of samples in each bin; returns how many there are in all. */
static double
fill_counts(const struct qs_tone_bins *bins, double count[BINS])
{
    double all = 0.0;

    for (int bin = 0; bin < BINS; bin++) {
        count[bin] = sum_all(bins, bin, bin + 1).count;
        all += count[bin];
    }
    return all;
}

/* Bins that hold the pixels but for the rims: *from <= bin < *to. */
static void
filled_range(const double count[BINS], double all, int *from, int *to)
{
    double below = 0.0;

    *from = *to = 0;
    for (int bin = 0; bin < BINS; bin++) {
        if (below <= RIM_SHARE * all)
            *from = bin;
        if (count[bin] > 0.0 && below < (1.0 - RIM_SHARE) * all)
            *to = bin + 1;
        below += count[bin];
    }
}

/* How much of tone a bin spans: less where noise is larger than the tone itself. */
static double
span_of(const struct qs_tone_bins *bins, int bin)
{
    struct sums sum = sum_all(bins, bin, bin + 1);

    if (bin == 0 || sum.count <= 0.0 || sum.mean <= 0.0)
        return 0.0;
    return fmin(1.0, sum.mean / sqrt(sum.square * sum.count / 2.0 + 1e-30));
}

/*
 * R15: share of each bin in the division of tone: half by the pixels it holds, half by
 * the tone it spans.
 */
static void
fill_shares(const struct qs_tone_bins *bins, const double count[BINS], double all,
            double share[BINS])
{
    double span = 0.0;
    int from, to;

    filled_range(count, all, &from, &to);
    for (int bin = 0; bin < BINS; bin++) {
        share[bin] = bin >= from && bin < to ? span_of(bins, bin) : 0.0;
        span += share[bin];
    }
    for (int bin = 0; bin < BINS; bin++)
        share[bin] = span > 0.0 ? 0.5 * (share[bin] / span + count[bin] / all)
                                : count[bin] / all;
}

/* R15: cuts tone into classes of about even shares; returns how many. */
static int
cut_classes(const double count[BINS], const double share[BINS], double all,
            double least, struct range ranges[QS_TONE_CLASSES])
{
    double here = 0.0, seen = 0.0, gone = 0.0;
    int classes = 0, from = 0;

    for (int bin = 0; bin < BINS; bin++) {
        bool due;

        here += count[bin];
        seen += count[bin];
        gone += share[bin];
        due = here >= least && all - seen >= least && classes < QS_TONE_CLASSES - 1 &&
              gone >= (classes + 1.0) / QS_TONE_CLASSES;
        if (!due && bin < BINS - 1)
            continue;
        ranges[classes++] = (struct range){from, bin + 1};
        from = bin + 1;
        here = 0.0;
    }
    return classes;
}

/* R17: whether two classes, `a` the darker, are of different tone. */
static bool
is_apart(const struct qs_tone_class *a, const struct qs_tone_class *b)
{
    double step = b->mean - a->mean;

    return step >= LEAST_RATIO * fabs(a->mean) && step >= LEAST_NOISE * a->sd;
}

int
qs_tone_bins_classes(const struct qs_tone_bins *bins,
                     struct qs_tone_class classes[QS_TONE_CLASSES])
{
    struct range ranges[QS_TONE_CLASSES], last;
    double count[BINS], share[BINS], shared[BINS];
    double all = fill_counts(bins, count);
    int cut, made = 0;

    if (all <= 0.0)
        return 0;
    fill_shares(bins, count, all, share);
    fill_shared(bins, shared);
    cut = cut_classes(count, share, all, (double)LEAST_PX * bins->pairs, ranges);
    for (int i = 0; i < cut; i++) {
        struct qs_tone_class next = class_of(bins, ranges[i], shared);

        if (made == 0 || is_apart(&classes[made - 1], &next)) {
            last = ranges[i];
            classes[made++] = next;
            continue;
        }
        last.to = ranges[i].to;
        classes[made - 1] = class_of(bins, last, shared);
    }
    return made;
}
