/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/still_rows.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"
#include "base/order.h"

enum {
    ROUNDS = 6,
    BIN = QS_STILL_BIN,
    LINES = QS_STILL_LINES,
    LEAST_SEEN = 16 /* places of a row */
};

/* Differences so many times as far off their median as half of them are (6 sd of noise)
 * are set aside: something moved there, or a hot pixel. */
static const double OUTSTANDING = 9.0;

/* Likewise of a fit, 2.7 sd of noise, which is made anew without them. */
static const double CORE = 4.0;

/* The light of a row does not change by more than this share between repeats; what
 * seems to is a part that has changed, in a row of a single tone. */
static const double MOST_SHARE = 0.25;

enum qs_status
qs_still_rows_init(struct qs_still_rows *still, int frames, int width,
                   struct qs_error *err)
{
    size_t columns = (size_t)(width / BIN);

    *still = (struct qs_still_rows){
        .frames = frames, .width = width, .columns = width / BIN};
    still->values = qs_alloc((size_t)(frames + 1) * LINES * columns, sizeof(float));
    still->blind = qs_alloc(LINES * columns, 1);
    still->level = qs_alloc((size_t)frames * LINES, sizeof(double));
    still->room = qs_alloc(columns, sizeof(double));
    if (still->values == NULL || still->blind == NULL || still->level == NULL ||
        still->room == NULL)
        return qs_fail_memory(err);
    return QS_OK;
}

void
qs_still_rows_clear(struct qs_still_rows *still)
{
    qs_free(still->values);
    qs_free(still->blind);
    qs_free(still->level);
    qs_free(still->room);
    *still = (struct qs_still_rows){0};
}

/* 2 x 2 pixels to one value: half the noise, and no mosaic. */
static void
bin_frame(const struct qs_still_rows *still, const float *rows, float *out)
{
    for (int y = 0; y < LINES; y++) {
        const float *upper = rows + (ptrdiff_t)(BIN * y) * still->width;
        const float *lower = upper + still->width;

        for (int x = 0; x < still->columns; x++)
            out[y * still->columns + x] = 0.25f * (upper[BIN * x] + upper[BIN * x + 1] +
                                                   lower[BIN * x] + lower[BIN * x + 1]);
    }
}

static void
mark_blind(const struct qs_still_rows *still, const unsigned char *ends)
{
    for (int y = 0; y < LINES; y++) {
        const unsigned char *upper = ends + (ptrdiff_t)(BIN * y) * still->width;
        const unsigned char *lower = upper + still->width;

        for (int x = 0; x < still->columns; x++)
            still->blind[y * still->columns + x] |= upper[BIN * x] |
                                                    upper[BIN * x + 1] |
                                                    lower[BIN * x] | lower[BIN * x + 1];
    }
}

/* Where a sample is clipped nothing is known of a change. */
static void
blank_blind(const struct qs_still_rows *still)
{
    const float *mean = qs_still_rows_of(still, still->frames);

    for (int k = 0; k < still->frames; k++) {
        float *values = qs_still_rows_of(still, k);

        for (int i = 0; i < LINES * still->columns; i++)
            if (still->blind[i] != 0)
                values[i] = mean[i];
    }
}

/* One row of a frame and of the first one. */
struct pair {
    int count;
    const float *first;
    float *other;
    const unsigned char *blind;
};

/* What of the difference all the row shares: level + share (mean - centre). */
struct fit {
    double centre;
    double level;
    double share;
};

static double
mean_at(const struct pair *pair, int x)
{
    return 0.5 * ((double)pair->first[x] + (double)pair->other[x]);
}

static double
difference_at(const struct pair *pair, int x)
{
    return (double)pair->other[x] - (double)pair->first[x];
}

/*
 * Median of the differences, and how far off it half of them are; returns how many
 * places are seen.
 */
static int
middle_of(const struct pair *pair, double *room, double *median, double *half)
{
    int count = 0;

    for (int x = 0; x < pair->count; x++)
        if (pair->blind[x] == 0)
            room[count++] = difference_at(pair, x);
    if (count == 0)
        return 0;
    *median = qs_median(room, (size_t)count);
    for (int i = 0; i < count; i++)
        room[i] = fabs(room[i] - *median);
    *half = qs_median(room, (size_t)count);
    return count;
}

static double
rest_at(const struct pair *pair, const struct fit *fit, int x)
{
    return difference_at(pair, x) - fit->level -
           fit->share * (mean_at(pair, x) - fit->centre);
}

/* Mean size of what a fit leaves. */
static double
left_by(const struct pair *pair, const struct fit *fit)
{
    double sum = 0.0;

    for (int x = 0; x < pair->count; x++)
        if (pair->blind[x] == 0)
            sum += fabs(rest_at(pair, fit, x));
    return sum;
}

/* Half of the places are no further off a fit. */
static double
half_of(const struct pair *pair, const struct fit *fit, double *room)
{
    int count = 0;

    for (int x = 0; x < pair->count; x++)
        if (pair->blind[x] == 0)
            room[count++] = fabs(rest_at(pair, fit, x));
    return qs_median(room, (size_t)count);
}

/* Least squares over what is not further off another fit than `most`. */
static struct fit
fit_row(const struct pair *pair, const struct fit *from, double most)
{
    double count = 0.0, m = 0.0, d = 0.0, mm = 0.0, md = 0.0, square;
    struct fit fit = *from;

    for (int x = 0; x < pair->count; x++) {
        double mean = mean_at(pair, x), off = difference_at(pair, x);

        if (pair->blind[x] != 0 || fabs(rest_at(pair, from, x)) > most)
            continue;
        count += 1.0;
        m += mean;
        d += off;
        mm += mean * mean;
        md += mean * off;
    }
    square = mm - m * m / count;
    if (square <= 0.0 || fabs(md - m * d / count) > MOST_SHARE * square)
        return fit;
    fit.centre = m / count;
    fit.level = d / count;
    fit.share = (md - m * fit.level) / square;
    return fit;
}

/* Takes another fit where it leaves less. */
static bool
take_better(const struct pair *pair, const struct fit *other, struct fit *best)
{
    if (left_by(pair, other) >= left_by(pair, best))
        return false;
    *best = *other;
    return true;
}

/*
 * R19: a row's difference from the first frame, fitted by a constant and a share of the
 * light, is taken off: drift and flicker do that, and noise rows share.  Fitted
 * against the mean of the two, which their noise does not pull either way; with and
 * without what stands out (something has moved, or the picture has few tones), and
 * the better fit is taken.  A part that changed a little stands out only once the fit
 * is hardly pulled by it any more: so a few times over.
 */
static double
level_row(const struct pair *pair, double *room)
{
    struct fit flat = {0.0, 0.0, 0.0}, best, other;
    double half;

    if (middle_of(pair, room, &flat.level, &half) < LEAST_SEEN)
        return 0.0;
    best = fit_row(pair, &flat, HUGE_VAL);
    other = fit_row(pair, &flat, OUTSTANDING * half);
    (void)take_better(pair, &other, &best);
    for (int round = 0; round < ROUNDS; round++) {
        other = fit_row(pair, &best, CORE * half_of(pair, &best, room));
        if (!take_better(pair, &other, &best))
            break;
    }
    for (int x = 0; x < pair->count; x++)
        if (pair->blind[x] == 0)
            pair->other[x] -=
                (float)(best.level + best.share * (mean_at(pair, x) - best.centre));
    return best.level;
}

static void
level_frame(struct qs_still_rows *still, int frame)
{
    for (int y = 0; y < LINES; y++) {
        ptrdiff_t at = (ptrdiff_t)y * still->columns;
        struct pair pair = {still->columns, qs_still_rows_of(still, 0) + at,
                            qs_still_rows_of(still, frame) + at, still->blind + at};

        still->level[(ptrdiff_t)frame * LINES + y] = level_row(&pair, still->room);
    }
}

void
qs_still_rows_fill(struct qs_still_rows *still, const float *const *rows,
                   const unsigned char *const *ends)
{
    int count = LINES * still->columns;
    float *mean = qs_still_rows_of(still, still->frames);

    memset(still->blind, 0, (size_t)count);
    memset(mean, 0, (size_t)count * sizeof *mean);
    for (int k = 0; k < still->frames; k++) {
        float *values = qs_still_rows_of(still, k);

        bin_frame(still, rows[k], values);
        if (ends != NULL)
            mark_blind(still, ends[k]);
        for (int i = 0; i < count; i++)
            mean[i] += values[i] / (float)still->frames;
    }
}

void
qs_still_rows_level(struct qs_still_rows *still)
{
    blank_blind(still);
    for (int k = 1; k < still->frames; k++)
        level_frame(still, k);
}
