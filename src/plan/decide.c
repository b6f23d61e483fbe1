/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/decide.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "plan/exposure.h"
#include "plan/figure.h"
#include "plan/gap.h"
#include "resample/axis_gain.h"

/* Two-sided 95 % of a normal distribution. */
static const double SIGMAS_95 = 1.959963984540054;

/* As a sheet writes numbers: an ISO tested comes out as itself. */
static double
iso_at(double x)
{
    return qs_sheet_round(exp2(x), QS_SHEET_DIGITS);
}

/* P6: the highest ISO and its interval. */
static void
find_iso(const struct qs_deciding *now, const struct qs_iso_curve *curve,
         struct qs_plan_row *row)
{
    double x;
    bool beyond;

    row->has_max_iso = qs_iso_curve_last(curve, 0.0, now->goal, &x, &row->beyond_test);
    if (row->has_max_iso)
        row->max_iso = row->beyond_test ? curve->last_iso : iso_at(x);
    row->has_max_low = qs_iso_curve_last(curve, -SIGMAS_95, now->goal, &x, &beyond);
    if (row->has_max_low)
        row->max_low = beyond ? curve->last_iso : iso_at(x);
    row->has_max_high =
        qs_iso_curve_last(curve, SIGMAS_95, now->goal, &x, &row->high_beyond_test);
    if (row->has_max_high)
        row->max_high = row->high_beyond_test ? curve->last_iso : iso_at(x);
    /* an ISO above, which was tested and has no figure, is not claimed */
    row->beyond_test = row->beyond_test && curve->reaches_top;
    row->high_beyond_test = row->high_beyond_test && curve->reaches_top;
}

/* P7 */
static void
find_light(const struct qs_deciding *now, struct qs_plan_row *row)
{
    struct qs_exposure exposure = {.f_number = now->request->set_up.f_number,
                                   .exposure_s = row->exposure_s,
                                   .iso = row->max_iso};

    if (!row->has_max_iso || qs_exposure_solve(&exposure, now->needed_c, NULL) != QS_OK)
        return;
    row->has_light = true;
    row->light_lx = exposure.light_lx;
    row->ev100 = qs_ev100_of_lux(row->light_lx, now->meter_c);
    row->luminance_cd_m2 = qs_luminance_of_ev100(row->ev100);
}

/* Between two figures of models, in logarithms where both are there. */
static double
blend(double low, double high, double share)
{
    if (low > 0.0 && high > 0.0)
        return exp2((1.0 - share) * log2(low) + share * log2(high));
    return (1.0 - share) * low + share * high;
}

/* P8: the model at an ISO between those tested; false where there is none. */
static bool
model_at(const struct qs_deciding *now, double iso, double value[QS_MODEL_PARTS])
{
    const int channel = (int)now->request->criterion.channel;
    const struct qs_sheet_iso *low = NULL, *high = NULL;
    double share = 0.0;

    for (int i = 0; i < now->sheet->iso_count; i++) {
        const struct qs_sheet_iso *one = &now->sheet->isos[i];

        if (!one->signals[channel].fitted)
            continue;
        if (one->iso <= iso || low == NULL)
            low = one;
        if (high == NULL || high->iso < iso)
            high = one;
    }
    if (low == NULL)
        return false;
    if (high->iso > low->iso)
        share = fmin(fmax(log2(iso / low->iso) / log2(high->iso / low->iso), 0.0), 1.0);
    for (int p = 0; p < (int)QS_MODEL_PARTS; p++)
        value[p] = blend(low->signals[channel].model.value[p],
                         high->signals[channel].model.value[p], share);
    return true;
}

/*
 * P9: at this ISO, the darkest tone that is quiet enough at full size over that at this
 * size.  The criterion in terms of SNR is what this size has at the tone asked for,
 * less what it has to spare.
 */
static void
find_saving(const struct qs_deciding *now, const struct qs_iso_curve *curve,
            const struct qs_iso_curve *native, struct qs_plan_row *row)
{
    double v[QS_MODEL_PARTS], spare, fall, at, variance, snr, here, full;
    double x = log2(row->max_iso);

    if (!row->has_max_iso || !model_at(now, row->max_iso, v))
        return;
    at = qs_iso_curve_at(curve, x, 0.0);
    spare = at - now->goal;
    fall = exp2(qs_iso_curve_at(native, x, 0.0) - at); /* sd here / sd at full size */
    variance = v[QS_MODEL_READ2] + v[QS_MODEL_GAIN] * now->tone +
               v[QS_MODEL_PATTERN2] * now->tone * now->tone;
    if (!(variance > 0.0))
        return;
    snr = now->tone / (fall * sqrt(variance)) * exp2(-spare);
    if (!qs_least_tone(v[0], v[1], v[2], fall, snr, &here) ||
        !qs_least_tone(v[0], v[1], v[2], 1.0, snr, &full))
        return;
    row->has_saves = true;
    row->saves_stops = log2(full / here);
}

static enum qs_status
own_contrast(const struct qs_shrinking *shrinking, struct qs_plan_row *row,
             struct qs_error *err)
{
    struct qs_axis_response x = {1.0, 1.0, 1.0, 0.0}, y = x;
    enum qs_status status = QS_OK;

    if (shrinking->across.scale > 1.0)
        status = qs_axis_response(row->filter, shrinking->across.scale, &x, err);
    if (status == QS_OK && shrinking->down.scale > 1.0)
        status = qs_axis_response(row->filter, shrinking->down.scale, &y, err);
    row->contrast_kept = sqrt(x.kept_half_nyquist * y.kept_half_nyquist);
    return status;
}

static enum qs_status
decide_with(const struct qs_deciding *now, struct qs_box crop,
            const struct qs_shrinking *shrinking, struct qs_plan_row *row,
            struct qs_error *err)
{
    struct qs_iso_curve curve;

    if (!qs_figure_curve(now, shrinking, &curve, row->cells) || !now->has_native)
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "This camera sheet holds no noise that a plan can rest on in "
                       "the colour and tone asked for; make it from frames with flat "
                       "patches.");
    qs_figure_widen(now, &curve);
    find_iso(now, &curve, row);
    find_light(now, row);
    find_saving(now, &curve, &now->native, row);
    if (qs_plan_gap(now, crop, &curve, row, err) != QS_OK)
        return QS_ERR_MEMORY;
    return own_contrast(shrinking, row, err);
}

static enum qs_status
decide_row(const struct qs_deciding *now, struct qs_box crop, struct qs_plan_row *row,
           struct qs_error *err)
{
    struct qs_shrinking shrinking;
    enum qs_status status = qs_shrinking_init(
        &shrinking, row->filter, crop.width, crop.height, row->width, row->height, err);

    row->cells = qs_alloc((size_t)now->sheet->iso_count, sizeof *row->cells);
    if (status == QS_OK && row->cells == NULL)
        status = qs_fail_memory(err);
    if (status == QS_OK)
        status = decide_with(now, crop, &shrinking, row, err);
    qs_shrinking_clear(&shrinking);
    return status;
}

static void
name_size(const struct qs_use *use, struct qs_box crop, struct qs_plan_row *row)
{
    bool is_native = row->width == crop.width && row->height == crop.height;

    (void)snprintf(row->text, sizeof row->text, "%s",
                   is_native && use->size.kind == QS_SIZE_SHARE ? "native"
                                                                : use->size.text);
    row->reduction =
        sqrt((double)crop.width / row->width * (double)crop.height / row->height);
}

/* What the size is made of: a crop that was asked for, or the shape of a sheet that is
   to be filled, turned the frame's way. */
static struct qs_box
crop_of(const struct qs_sheet *sheet, const struct qs_use *use)
{
    struct qs_shape_ratio shape = use->crop;

    if (!(shape.width > 0.0) && use->size.is_filled) {
        bool lies = sheet->width >= sheet->height;

        shape.width = lies ? use->size.a : use->size.b;
        shape.height = lies ? use->size.b : use->size.a;
    }
    return qs_shape_ratio_box(shape, sheet->width, sheet->height);
}

static enum qs_status
decide_use(const struct qs_deciding *now, const struct qs_use *use,
           struct qs_plan *plan, struct qs_error *err)
{
    struct qs_box crop = crop_of(now->sheet, use);
    int width, height;

    if (!qs_size_of(&use->size, crop.width, crop.height, &width, &height)) {
        plan->skipped++;
        return QS_OK;
    }
    for (int f = 0; f < now->request->filter_count; f++) {
        struct qs_plan_row *row = &plan->rows[plan->row_count++];
        enum qs_status status;

        row->use = use;
        row->filter = now->request->filters[f];
        row->width = width;
        row->height = height;
        row->exposure_s = use->is_motion ? now->request->set_up.motion_s
                                         : now->request->set_up.exposure_s;
        name_size(use, crop, row);
        status = decide_row(now, crop, row, err);
        if (status != QS_OK)
            return status;
        plan->any_met = plan->any_met || row->has_max_iso;
    }
    return QS_OK;
}

/* Whether every ISO was tested about as dark and as bright as the tone. */
static bool
is_tested(const struct qs_sheet *sheet, double tone)
{
    for (int i = 0; i < sheet->iso_count; i++)
        if (tone < sheet->isos[i].tone_low / 1.5 ||
            tone > sheet->isos[i].tone_high * 1.5)
            return false;
    return true;
}

static enum qs_status
check(const struct qs_sheet *sheet, const struct qs_plan_request *request,
      struct qs_error *err)
{
    if (sheet->iso_count == 0)
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "This camera sheet is empty: none of its frames could be used. "
                       "It names them, and why; quietsize sheet SHEET shows it.");
    if (sheet->channels == 1 && request->criterion.channel != QS_Y)
        return qs_fail(err, QS_ERR_USAGE,
                       "--channel asks for a colour, but this camera sheet was made "
                       "from grey frames; leave it out.");
    return QS_OK;
}

static void
start_viewing(struct qs_deciding *now)
{
    const struct qs_criterion *criterion = &now->request->criterion;
    double pixels_per_degree = qs_criterion_pixels_per_degree(criterion);

    qs_onlooker_fill(pixels_per_degree, criterion->eye, NULL, &now->onlooker);
    now->viewing = (struct qs_viewing_condition){pixels_per_degree, criterion->eye,
                                                 &now->onlooker};
}

/* Full size, where no filter does anything. */
static enum qs_status
find_native(struct qs_deciding *now, struct qs_error *err)
{
    struct qs_shrinking full;
    enum qs_status status = qs_shrinking_init(&full, QS_FILTER_AREA, 1, 1, 1, 1, err);

    if (status != QS_OK)
        return status;
    now->has_native = qs_figure_curve(now, &full, &now->native, NULL);
    qs_shrinking_clear(&full);
    return QS_OK;
}

enum qs_status
qs_plan_make(const struct qs_sheet *sheet, const struct qs_plan_request *request,
             struct qs_plan *out, struct qs_error *err)
{
    const struct qs_criterion *criterion = &request->criterion;
    double meter_c =
        request->set_up.meter_c > 0.0 ? request->set_up.meter_c : QS_METER_C;
    struct qs_deciding now = {.sheet = sheet,
                              .request = request,
                              .tone = qs_criterion_tone(criterion),
                              .meter_c = meter_c,
                              .needed_c = meter_c};
    enum qs_status status = check(sheet, request, err);

    *out = (struct qs_plan){.criterion = *criterion,
                            .tone = now.tone,
                            .tone_tested = is_tested(sheet, now.tone),
                            .light_factor = 1.0,
                            .iso_count = sheet->iso_count};
    if (status != QS_OK)
        return status;
    if (sheet->calibration.known)
        now.needed_c = qs_calibrated_meter_c(meter_c, sheet->calibration.stops);
    out->light_factor = now.needed_c / meter_c;
    if (criterion->is_viewed)
        start_viewing(&now);
    out->rows = qs_alloc((size_t)request->use_count * (size_t)request->filter_count,
                         sizeof *out->rows);
    status = out->rows == NULL ? qs_fail_memory(err) : find_native(&now, err);
    if (status == QS_OK)
        status = qs_figure_set_goal(&now, err);
    for (int u = 0; status == QS_OK && u < request->use_count; u++)
        status = decide_use(&now, &request->uses[u], out, err);
    if (status != QS_OK)
        qs_plan_clear(out);
    return status;
}

void
qs_plan_clear(struct qs_plan *plan)
{
    for (int r = 0; r < plan->row_count; r++)
        qs_free(plan->rows[r].cells);
    qs_free(plan->rows);
    *plan = (struct qs_plan){.row_count = 0};
}
