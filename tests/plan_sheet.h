/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plan_sheet.h - a camera sheet whose noise is written down, for tests
 *
 * White noise of a grey camera of 8000 x 5000 pixels (40 MP): var(m) = read2 + gain m +
 * pattern2 m^2 at each ISO, without doubt.
 */
#ifndef QS_TESTS_PLAN_SHEET_H
#define QS_TESTS_PLAN_SHEET_H

#include <check.h>

#include "sheet/sheet.h"

/* The three parts at an ISO. */
typedef void
plan_sheet_model(double iso, double value[QS_MODEL_PARTS]);

static inline void
plan_sheet_zone(struct qs_sheet_zone *zone, double tone)
{
    *zone = (struct qs_sheet_zone){
        .known = true, .tone = tone, .pixels = 1e12, .rows = 1e9, .columns = 1e9};
    for (int j = 0; j < (int)QS_SPECTRUM_NODES; j++)
        for (int i = 0; i < (int)QS_SPECTRUM_NODES; i++)
            zone->spectrum.pixel[j][i] = 1.0;
}

static inline void
plan_sheet_add(struct qs_sheet *sheet, double iso, plan_sheet_model *model)
{
    struct qs_sheet_iso *one = qs_sheet_iso_at(sheet, iso);
    struct qs_sheet_signal *y;

    ck_assert_ptr_nonnull(one);
    y = &one->signals[QS_Y];
    one->tone_low = 1e-4;
    one->tone_high = 1.0;
    y->fitted = true;
    y->model = (struct qs_model){.scatter = 1.0};
    model(iso, y->model.value);
    for (int p = 0; p < (int)QS_MODEL_PARTS; p++)
        y->model.fitted[p] = true;
    for (int z = 0; z < QS_SHEET_ZONES; z++)
        plan_sheet_zone(&y->zones[z], 0.005 * (1 + 10 * z));
}

static inline struct qs_sheet
plan_sheet(plan_sheet_model *model, const double *isos, int count)
{
    struct qs_sheet sheet = {.width = 8000, .height = 5000, .channels = 1};

    for (int i = 0; i < count; i++)
        plan_sheet_add(&sheet, isos[i], model);
    return sheet;
}

/* ISO 100 to 12800, doubled. */
static inline struct qs_sheet
plan_sheet_full(plan_sheet_model *model)
{
    static const double isos[] = {100, 200, 400, 800, 1600, 3200, 6400, 12800};

    return plan_sheet(model, isos, 8);
}

#endif
