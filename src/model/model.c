/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/model.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/order.h"
#include "model/least_squares.h"

/* Means that differ by less are one tone. */
static const double ONE_TONE = 1.05;

/* A part is told from 0 where it is so many standard errors above. */
static const double TOLD_SE = 2.0;

/* A model's variance is not believed below this share of the largest measured one:
   weights stay finite. */
static const double LEAST_SHARE = 1e-9;

enum {
    ROUNDS = 50, /* of weighting; a handful settles it */
    UNKNOWNS = 4
};

/* Settled where no variance moves by more than this share of the largest. */
static const double SETTLED = 1e-10;

/* The unknowns: read2 is the sum of two. */
enum unknown {
    RANDOM_READ2,
    GAIN,
    FIXED_OFFSET2,
    PATTERN2
};

/* A fit under way. */
struct fitting {
    const struct qs_model_point *points;
    int count;
    bool asked[UNKNOWNS]; /* can be told from these points */
    double floor;         /* least variance for weights */
    double *a;            /* room for the rows: [count x UNKNOWNS] */
    double *b;
};

/* V2: what each unknown adds to a point's variance. */
static void
fill_shares(const struct qs_model_point *point, double share[UNKNOWNS])
{
    bool random = point->kind != QS_POINT_FIXED, fixed = point->kind != QS_POINT_RANDOM;

    share[RANDOM_READ2] = random ? 1.0 : 0.0;
    share[GAIN] = random ? point->mean : 0.0;
    share[FIXED_OFFSET2] = fixed ? 1.0 : 0.0;
    share[PATTERN2] = fixed ? point->mean * point->mean : 0.0;
}

static double
variance_of(const struct qs_model_point *point, const double x[UNKNOWNS])
{
    double share[UNKNOWNS], sum = 0.0;

    fill_shares(point, share);
    for (int u = 0; u < UNKNOWNS; u++)
        sum += share[u] * x[u];
    return sum;
}

/* V3: root of the weight, from the model's variance and not from the measured one. */
static double
root_weight(const struct fitting *now, const struct qs_model_point *point,
            double variance)
{
    if (point->kind == QS_POINT_FIXED)
        return 1.0 / point->se;
    return sqrt(0.5 * point->freedom) / fmax(variance, now->floor);
}

/* Solves for the unknowns in `free`, with weights from the variances in `weigh`. */
static bool
solve(const struct fitting *now, const bool free[UNKNOWNS], const double *weigh,
      struct qs_least_squares *out)
{
    int columns = 0;

    for (int u = 0; u < UNKNOWNS; u++)
        columns += free[u];
    if (columns == 0 || now->count < columns)
        return false;
    for (int i = 0; i < now->count; i++) {
        double share[UNKNOWNS], root = root_weight(now, &now->points[i], weigh[i]);
        int column = 0;

        fill_shares(&now->points[i], share);
        for (int u = 0; u < UNKNOWNS; u++)
            if (free[u])
                now->a[i * columns + column++] = root * share[u];
        now->b[i] = root * now->points[i].variance;
    }
    return qs_least_squares_solve(now->a, now->b, now->count, columns, out);
}

static void
spread(const bool free[UNKNOWNS], const struct qs_least_squares *from,
       double x[UNKNOWNS])
{
    int column = 0;

    for (int u = 0; u < UNKNOWNS; u++)
        x[u] = free[u] ? from->x[column++] : 0.0;
}

static bool
none_below_zero(const double x[UNKNOWNS])
{
    for (int u = 0; u < UNKNOWNS; u++)
        if (x[u] < 0.0)
            return false;
    return true;
}

/*
 * V5: the least squares with none below 0 are the plain ones of some subset: the best
 * of those whose solution is not below 0.
 */
static bool
solve_above_zero(const struct fitting *now, const double *weigh, double x[UNKNOWNS])
{
    double least = HUGE_VAL;

    for (unsigned set = 1; set < 1u << UNKNOWNS; set++) {
        struct qs_least_squares solved;
        bool free[UNKNOWNS], allowed = true;
        double own[UNKNOWNS];

        for (int u = 0; u < UNKNOWNS; u++) {
            free[u] = (set >> u & 1u) != 0;
            allowed = allowed && (now->asked[u] || !free[u]);
        }
        if (!allowed || !solve(now, free, weigh, &solved))
            continue;
        spread(free, &solved, own);
        if (none_below_zero(own) && solved.square < least) {
            least = solved.square;
            memcpy(x, own, sizeof own);
        }
    }
    return least < HUGE_VAL;
}

/* Tones among the points of the kinds asked for, told apart. */
static int
count_tones(const struct fitting *now, bool random, double *room)
{
    int means = 0, tones = 0;
    double last = 0.0;

    for (int i = 0; i < now->count; i++) {
        enum qs_model_kind kind = now->points[i].kind;

        if (kind != (random ? QS_POINT_FIXED : QS_POINT_RANDOM))
            room[means++] = now->points[i].mean;
    }
    qs_sort(room, (size_t)means);
    for (int i = 0; i < means; i++)
        if (tones == 0 || room[i] > ONE_TONE * last + 1e-12) {
            last = fmax(room[i], 0.0);
            tones++;
        }
    return tones;
}

/* V6: what the points can tell. */
static void
choose_unknowns(struct fitting *now, bool *apart)
{
    bool has_fixed = false, has_random = false;
    int random, fixed;

    for (int i = 0; i < now->count; i++) {
        has_fixed = has_fixed || now->points[i].kind == QS_POINT_FIXED;
        has_random = has_random || now->points[i].kind == QS_POINT_RANDOM;
    }
    random = count_tones(now, true, now->b);
    fixed = count_tones(now, false, now->b);
    *apart = has_fixed && (has_random || random > 0);
    now->asked[GAIN] = random >= 1;
    now->asked[RANDOM_READ2] = random >= 2;
    now->asked[PATTERN2] = has_fixed ? fixed >= 1 : !has_random && fixed >= 3;
    now->asked[FIXED_OFFSET2] = has_fixed && fixed >= 2;
}

/* The first weights come from what was measured. */
static void
start_weights(struct fitting *now, double *weigh)
{
    double largest = 0.0;

    for (int i = 0; i < now->count; i++)
        largest = fmax(largest, now->points[i].variance);
    now->floor = largest > 0.0 ? LEAST_SHARE * largest : 1.0;
    for (int i = 0; i < now->count; i++)
        weigh[i] = now->points[i].variance > 0.0 ? now->points[i].variance : largest;
}

/* V3: weights and unknowns in turn, until they settle. */
static bool
iterate(struct fitting *now, double *weigh, double x[UNKNOWNS])
{
    double before[UNKNOWNS] = {0.0};

    for (int round = 0; round < ROUNDS; round++) {
        double moved = 0.0, size = 0.0;

        if (!solve_above_zero(now, weigh, x))
            return false;
        for (int i = 0; i < now->count; i++) {
            double old = variance_of(&now->points[i], before);
            double variance = variance_of(&now->points[i], x);

            weigh[i] = variance;
            moved = fmax(moved, fabs(variance - old));
            size = fmax(size, fabs(variance));
        }
        memcpy(before, x, sizeof before);
        if (moved <= SETTLED * size)
            break;
    }
    return true;
}

static void
fill_parts(const struct fitting *now, const double x[UNKNOWNS], bool apart,
           struct qs_model *out)
{
    out->has_apart = apart;
    out->random_read2 = x[RANDOM_READ2];
    out->fixed_offset2 = x[FIXED_OFFSET2];
    out->value[QS_MODEL_READ2] = x[RANDOM_READ2] + x[FIXED_OFFSET2];
    out->value[QS_MODEL_GAIN] = x[GAIN];
    out->value[QS_MODEL_PATTERN2] = x[PATTERN2];
    out->fitted[QS_MODEL_READ2] = now->asked[RANDOM_READ2];
    out->fitted[QS_MODEL_GAIN] = now->asked[GAIN];
    out->fitted[QS_MODEL_PATTERN2] = now->asked[PATTERN2];
}

/* V7: how far the points lie from the model. */
static void
fill_goodness(const struct fitting *now, const double x[UNKNOWNS], struct qs_model *out)
{
    int fitted = 0;

    for (int i = 0; i < now->count; i++) {
        double variance = variance_of(&now->points[i], x);
        double off = (now->points[i].variance - variance) *
                     root_weight(now, &now->points[i], variance);
        double mean = now->points[i].mean;

        out->chi2 += off * off;
        out->mean_low = i == 0 ? mean : fmin(out->mean_low, mean);
        out->mean_high = i == 0 ? mean : fmax(out->mean_high, mean);
    }
    for (int u = 0; u < UNKNOWNS; u++)
        fitted += now->asked[u];
    out->points = now->count;
    out->freedom = fmax(now->count - fitted, 0.0);
    out->scatter = out->freedom >= 1.0 ? fmax(out->chi2 / out->freedom, 1.0) : 1.0;
}

/* V8: covariance of the parts, with all that was asked for free. */
static void
fill_covariance(const struct fitting *now, const double *weigh, struct qs_model *out)
{
    static const int part_of[UNKNOWNS] = {QS_MODEL_READ2, QS_MODEL_GAIN, QS_MODEL_READ2,
                                          QS_MODEL_PATTERN2};
    struct qs_least_squares solved;
    int parts[UNKNOWNS], count = 0;

    if (!solve(now, now->asked, weigh, &solved))
        return;
    for (int u = 0; u < UNKNOWNS; u++)
        if (now->asked[u])
            parts[count++] = part_of[u];
    for (int i = 0; i < count; i++)
        for (int k = 0; k < count; k++)
            out->covariance[parts[i]][parts[k]] +=
                out->scatter * solved.covariance[i][k];
}

static void
fill_standing(struct qs_model *out)
{
    for (int p = 0; p < (int)QS_MODEL_PARTS; p++) {
        double se = sqrt(fmax(out->covariance[p][p], 0.0));

        out->held[p] = out->fitted[p] && !(out->value[p] > 0.0);
        out->told[p] = out->fitted[p] && out->value[p] > TOLD_SE * se;
    }
}

static enum qs_status
fit_with(struct fitting *now, double *weigh, struct qs_model *out, struct qs_error *err)
{
    double x[UNKNOWNS] = {0.0};
    bool apart;

    choose_unknowns(now, &apart);
    start_weights(now, weigh);
    if (!iterate(now, weigh, x))
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "The patches hold too little to tell how noise goes with tone; "
                       "shoot a grey surface at three or more levels.");
    fill_parts(now, x, apart, out);
    fill_goodness(now, x, out);
    fill_covariance(now, weigh, out);
    fill_standing(out);
    return QS_OK;
}

enum qs_status
qs_model_fit(const struct qs_model_point *points, int count, struct qs_model *out,
             struct qs_error *err)
{
    struct fitting now = {.points = points, .count = count};
    double *weigh;
    enum qs_status status;

    *out = (struct qs_model){.points = 0};
    if (count < 1)
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "There is no patch to tell noise from; shoot an even grey "
                       "surface, out of focus.");
    now.a = qs_alloc((size_t)count * UNKNOWNS, sizeof *now.a);
    now.b = qs_alloc((size_t)count, sizeof *now.b);
    weigh = qs_alloc((size_t)count, sizeof *weigh);
    status = now.a == NULL || now.b == NULL || weigh == NULL
                 ? qs_fail_memory(err)
                 : fit_with(&now, weigh, out, err);
    qs_free(now.a);
    qs_free(now.b);
    qs_free(weigh);
    return status;
}

double
qs_model_variance(const struct qs_model *model, double mean)
{
    const double *v = model->value;

    return v[QS_MODEL_READ2] + v[QS_MODEL_GAIN] * mean +
           v[QS_MODEL_PATTERN2] * mean * mean;
}

double
qs_model_variance_se(const struct qs_model *model, double mean)
{
    const double by[QS_MODEL_PARTS] = {1.0, mean, mean * mean};
    double sum = 0.0;

    for (int i = 0; i < (int)QS_MODEL_PARTS; i++)
        for (int k = 0; k < (int)QS_MODEL_PARTS; k++)
            sum += by[i] * by[k] * model->covariance[i][k];
    return sqrt(fmax(sum, 0.0));
}
