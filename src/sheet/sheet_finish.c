/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <limits.h>
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "sheet/sheet.h"

/* Points of one bin of tone are put together: H1. */
#define BINS_PER_STOP 4.0

/* Light below this is as good as none, and has one bin. */
static const double NO_LIGHT = 1e-5;

static int
bin_of(const struct qs_sheet_point *point)
{
    return point->tone > NO_LIGHT ? (int)floor(BINS_PER_STOP * log2(point->tone))
                                  : INT_MIN;
}

/* A total order, so that the sheet does not depend on the order of its frames. */
static int
compare_points(const void *a, const void *b)
{
    const struct qs_sheet_point *p = a, *q = b;
    const double keys[][2] = {
        {p->kind, q->kind}, {bin_of(p), bin_of(q)},     {p->tone, q->tone},
        {p->mean, q->mean}, {p->variance, q->variance}, {p->freedom, q->freedom},
        {p->se, q->se}};

    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        if (keys[i][0] != keys[i][1])
            return keys[i][0] < keys[i][1] ? -1 : 1;
    return 0;
}

static enum qs_status
fit(struct qs_sheet_signal *signal, struct qs_error *err)
{
    struct qs_model_point *points;
    enum qs_status status;

    signal->fitted = false;
    signal->model = (struct qs_model){0};
    if (signal->point_count == 0)
        return QS_OK;
    points = qs_alloc((size_t)signal->point_count, sizeof *points);
    if (points == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < signal->point_count; i++) {
        const struct qs_sheet_point *from = &signal->points[i];

        points[i] = (struct qs_model_point){.kind = from->kind,
                                            .mean = from->mean,
                                            .variance = from->variance,
                                            .freedom = from->freedom,
                                            .se = from->se};
    }
    status = qs_model_fit(points, signal->point_count, &signal->model, err);
    qs_free(points);
    signal->fitted = status == QS_OK;
    return status == QS_ERR_TOO_FEW ? QS_OK : status;
}

/* What the model says of a point of its kind. */
static double
expected(const struct qs_model *model, enum qs_model_kind kind, double mean)
{
    const double *v = model->value;

    if (kind == QS_POINT_RANDOM)
        return model->random_read2 + v[QS_MODEL_GAIN] * mean;
    return qs_model_variance(model, mean);
}

/* H2: fixed noise, weighted by how sure each is. */
static struct qs_sheet_point
merge_fixed(const struct qs_sheet_point *points, int count)
{
    struct qs_sheet_point out = {.kind = points[0].kind};
    double weights = 0.0, square = 0.0, deviation = 0.0;

    for (int i = 0; i < count; i++) {
        double w = 1.0 / (points[i].se * points[i].se);

        weights += w;
        out.tone += w * points[i].tone;
        out.mean += w * points[i].mean;
        out.variance += w * points[i].variance;
        out.patches += points[i].patches;
    }
    out.tone /= weights;
    out.mean /= weights;
    out.variance /= weights;
    for (int i = 0; i < count; i++) {
        deviation = (points[i].variance - out.variance) / points[i].se;
        square += deviation * deviation;
    }
    out.se = sqrt(fmax(count > 1 ? square / (count - 1) : 1.0, 1.0) / weights);
    return out;
}

/*
 * H3: what each point says of the model's variance at its own tone, put together and
 * told at their mean tone.  Points that differ by more than they are unsure of count
 * less.
 */
static struct qs_sheet_point
merge_noise(const struct qs_model *model, const struct qs_sheet_point *points,
            int count)
{
    struct qs_sheet_point out = {.kind = points[0].kind};
    double freedom = 0.0, ratio = 0.0, square = 0.0;

    for (int i = 0; i < count; i++) {
        double f = points[i].freedom;

        freedom += f;
        out.tone += f * points[i].tone;
        out.mean += f * points[i].mean;
        ratio += f * points[i].variance / expected(model, out.kind, points[i].mean);
        out.patches += points[i].patches;
    }
    out.tone /= freedom;
    out.mean /= freedom;
    ratio /= freedom;
    for (int i = 0; i < count; i++) {
        double own = points[i].variance / expected(model, out.kind, points[i].mean);
        double off = own / ratio - 1.0;

        square += points[i].freedom * off * off / 2.0;
    }
    out.variance = ratio * expected(model, out.kind, out.mean);
    out.freedom = freedom / fmax(count > 1 ? square / (count - 1) : 1.0, 1.0);
    return out;
}

static bool
can_merge(const struct qs_model *model, const struct qs_sheet_point *points, int count)
{
    for (int i = 0; i < count; i++) {
        if (points[i].kind == QS_POINT_FIXED ? !(points[i].se > 0.0)
                                             : !(points[i].freedom > 0.0))
            return false;
        if (points[i].kind != QS_POINT_FIXED &&
            !(expected(model, points[i].kind, points[i].mean) > 0.0))
            return false;
    }
    return true;
}

static void
merge(struct qs_sheet_signal *signal)
{
    struct qs_sheet_point *points = signal->points;
    int kept = 0;

    for (int from = 0, to; from < signal->point_count; from = to) {
        for (to = from + 1; to < signal->point_count; to++)
            if (points[to].kind != points[from].kind ||
                bin_of(&points[to]) != bin_of(&points[from]))
                break;
        if (to == from + 1 || !can_merge(&signal->model, points + from, to - from)) {
            while (from < to)
                points[kept++] = points[from++];
        } else if (points[from].kind == QS_POINT_FIXED) {
            points[kept++] = merge_fixed(points + from, to - from);
        } else {
            points[kept++] = merge_noise(&signal->model, points + from, to - from);
        }
    }
    signal->point_count = kept;
}

static void
round_all(double *values, int count, int digits)
{
    for (int i = 0; i < count; i++)
        values[i] = qs_sheet_round(values[i], digits);
}

static void
round_points(struct qs_sheet_signal *signal)
{
    for (int i = 0; i < signal->point_count; i++) {
        struct qs_sheet_point *point = &signal->points[i];

        round_all(&point->tone, 1, QS_SHEET_DIGITS);
        round_all(&point->mean, 1, QS_SHEET_DIGITS);
        round_all(&point->variance, 1, QS_SHEET_DIGITS);
        round_all(&point->freedom, 1, QS_SHEET_DIGITS);
        round_all(&point->se, 1, QS_SHEET_DIGITS);
    }
}

static void
round_model(struct qs_model *model)
{
    round_all(model->value, QS_MODEL_PARTS, QS_SHEET_DIGITS);
    round_all(&model->covariance[0][0], QS_MODEL_PARTS * QS_MODEL_PARTS,
              QS_SHEET_DIGITS);
    round_all(&model->random_read2, 1, QS_SHEET_DIGITS);
    round_all(&model->fixed_offset2, 1, QS_SHEET_DIGITS);
    round_all(&model->chi2, 1, QS_SHEET_DIGITS);
    round_all(&model->freedom, 1, QS_SHEET_DIGITS);
    round_all(&model->scatter, 1, QS_SHEET_DIGITS);
    round_all(&model->mean_low, 1, QS_SHEET_DIGITS);
    round_all(&model->mean_high, 1, QS_SHEET_DIGITS);
}

static void
round_zone(struct qs_sheet_zone *zone)
{
    round_all(&zone->tone, 1, QS_SHEET_DIGITS);
    round_all(&zone->pixels, 1, QS_SHEET_DIGITS);
    round_all(&zone->rows, 1, QS_SHEET_DIGITS);
    round_all(&zone->columns, 1, QS_SHEET_DIGITS);
    round_all(&zone->spectrum.pixel[0][0], QS_SPECTRUM_NODES * QS_SPECTRUM_NODES,
              QS_SHEET_SPECTRUM_DIGITS);
    round_all(zone->spectrum.row, QS_SPECTRUM_NODES, QS_SHEET_SPECTRUM_DIGITS);
    round_all(zone->spectrum.column, QS_SPECTRUM_NODES, QS_SHEET_SPECTRUM_DIGITS);
}

static enum qs_status
finish_signal(struct qs_sheet_signal *signal, struct qs_error *err)
{
    enum qs_status status;

    if (signal->point_count > 0)
        qsort(signal->points, (size_t)signal->point_count, sizeof *signal->points,
              compare_points);
    status = fit(signal, err);
    if (status == QS_OK && signal->fitted)
        merge(signal);
    round_points(signal);
    if (status == QS_OK)
        status = fit(signal, err);
    round_model(&signal->model);
    for (int z = 0; z < QS_SHEET_ZONES; z++)
        round_zone(&signal->zones[z]);
    return status;
}

/* Darkest and brightest tone of the points. */
static void
find_tones(struct qs_sheet_iso *iso)
{
    const struct qs_sheet_signal *y = &iso->signals[QS_Y];

    iso->tone_low = iso->tone_high = 0.0;
    for (int i = 0; i < y->point_count; i++) {
        double tone = y->points[i].tone;

        iso->tone_low = i == 0 ? tone : fmin(iso->tone_low, tone);
        iso->tone_high = i == 0 ? tone : fmax(iso->tone_high, tone);
    }
}

enum qs_status
qs_sheet_finish(struct qs_sheet *sheet, struct qs_error *err)
{
    for (int i = 0; i < sheet->iso_count; i++) {
        for (int s = qs_sheet_first(sheet); s < qs_sheet_end(sheet); s++) {
            enum qs_status status = finish_signal(&sheet->isos[i].signals[s], err);

            if (status != QS_OK)
                return status;
        }
        find_tones(&sheet->isos[i]);
    }
    return QS_OK;
}
