/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/decide.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "plan/exposure.h"
#include "plan/forecast.h"
#include "plan/iso_curve.h"
#include "plan/motion.h"
#include "resample/axis_gain.h"

/* Two-sided 95 % of a normal distribution. */
static const double SIGMAS_95 = 1.959963984540054;

/*
 * A smaller delivery that is to close a gap has at least half a stop fewer pixels: just
 * below its own size a frame is blurred more than it is averaged.
 */
static const double SMALLER_SHARE = 0.8408964152537145;

/* And at least this share of the frame's width. */
static const double LEAST_SHARE = 0.1;

/* A plan being made. */
struct making {
    const struct qs_sheet *sheet;
    const struct qs_plan_request *request;
    struct qs_viewing_condition viewing;
    double tone;
    double meter_c; /* calibrated */
    double goal;    /* log2 of the figure that is to be reached */
    double goal_se;
};

/*
 * The figure that the criterion is about, as a curve over ISO in logarithms, larger is
 * quieter: SNR, or one over noise as seen.
 */
static bool
fill_point(const struct making *now, const struct qs_sheet_iso *iso,
           const struct qs_shrinking *shrinking, double *y, double *se)
{
    double spread;

    if (now->request->criterion.is_viewed) {
        struct qs_seen_forecast seen = qs_forecast_seen(
            iso, now->sheet->channels, now->tone, shrinking, &now->viewing);

        if (!seen.known)
            return false;
        *y = -log2(seen.visible.total);
        spread = seen.spread;
    } else {
        struct qs_forecast forecast = qs_forecast_at(
            iso, (int)now->request->criterion.channel, now->tone, shrinking);

        if (!forecast.known)
            return false;
        *y = log2(now->tone) - 0.5 * log2(forecast.variance);
        spread = forecast.spread;
    }
    *se = 0.5 * sqrt(spread) / log(2.0);
    return true;
}

/* P3: false where no ISO of the sheet has the figure. */
static bool
fill_curve(const struct making *now, const struct qs_shrinking *shrinking,
           struct qs_iso_curve *curve)
{
    curve->count = 0;
    for (int i = 0; i < now->sheet->iso_count; i++) {
        const struct qs_sheet_iso *iso = &now->sheet->isos[i];
        int k = curve->count;

        if (!fill_point(now, iso, shrinking, &curve->y[k], &curve->se[k]))
            continue;
        curve->x[k] = log2(iso->iso);
        curve->count++;
        curve->last_iso = iso->iso;
    }
    if (curve->count > 0)
        qs_iso_curve_prepare(curve);
    return curve->count > 0;
}

/* P5: what the goal's own uncertainty adds to each point. */
static void
add_goal_se(const struct making *now, struct qs_iso_curve *curve)
{
    for (int i = 0; i < curve->count; i++)
        curve->se[i] = hypot(curve->se[i], now->goal_se);
}

static enum qs_status
goal_like(struct making *now, struct qs_error *err)
{
    const struct qs_sheet *sheet = now->sheet;
    const double like = now->request->criterion.like_iso;
    struct qs_shrinking native;
    struct qs_iso_curve curve;
    enum qs_status status =
        qs_shrinking_init(&native, QS_FILTER_LANCZOS3, sheet->width, sheet->height,
                          sheet->width, sheet->height, err);
    double x = log2(like);

    if (status != QS_OK)
        return status;
    if (!fill_curve(now, &native, &curve))
        status = qs_fail(err, QS_ERR_TOO_FEW,
                         "This camera sheet holds no noise that a plan can rest on; "
                         "make it from frames with flat patches.");
    else if (x < curve.x[0] - 1e-9 || x > curve.x[curve.count - 1] + 1e-9)
        status = qs_fail(err, QS_ERR_USAGE,
                         "--like names ISO %g, which lies outside of what was tested "
                         "(ISO %g to %g); choose one within.",
                         like, exp2(curve.x[0]), exp2(curve.x[curve.count - 1]));
    if (status == QS_OK) {
        now->goal = qs_iso_curve_at(&curve, x, 0.0);
        now->goal_se = qs_iso_curve_at(&curve, x, 1.0) - now->goal;
    }
    qs_shrinking_clear(&native);
    return status;
}

static enum qs_status
set_goal(struct making *now, struct qs_error *err)
{
    const struct qs_criterion *criterion = &now->request->criterion;

    if (criterion->kind == QS_BY_LIKE)
        return goal_like(now, err);
    now->goal =
        criterion->kind == QS_BY_SNR ? log2(criterion->snr) : -log2(criterion->seen);
    return QS_OK;
}

static void
fill_snr(const struct qs_forecast *forecast, double tone, struct qs_plan_cell *cell)
{
    double factor = exp(SIGMAS_95 * 0.5 * sqrt(forecast->spread));

    cell->known = true;
    cell->snr = tone / sqrt(forecast->variance);
    cell->snr_low = cell->snr / factor;
    cell->snr_high = cell->snr * factor;
}

static void
fill_cell(const struct making *now, const struct qs_sheet_iso *iso,
          const struct qs_shrinking *shrinking, struct qs_plan_cell *cell)
{
    struct qs_forecast forecast =
        qs_forecast_at(iso, (int)now->request->criterion.channel, now->tone, shrinking);
    double y, se;

    if (forecast.known)
        fill_snr(&forecast, now->tone, cell);
    if (!fill_point(now, iso, shrinking, &y, &se))
        return;
    cell->meets = y >= now->goal;
    cell->has_seen = now->request->criterion.is_viewed;
    if (cell->has_seen)
        cell->seen = exp2(-y);
}

/* P6: the highest ISO and its interval. */
static void
find_iso(const struct making *now, const struct qs_iso_curve *curve,
         struct qs_plan_row *row)
{
    double x;
    bool beyond;

    row->has_max_iso = qs_iso_curve_last(curve, 0.0, now->goal, &x, &row->beyond_test);
    if (row->has_max_iso)
        row->max_iso = row->beyond_test ? curve->last_iso : exp2(x);
    row->has_max_low = qs_iso_curve_last(curve, -SIGMAS_95, now->goal, &x, &beyond);
    if (row->has_max_low)
        row->max_low = beyond ? curve->last_iso : exp2(x);
    row->has_max_high =
        qs_iso_curve_last(curve, SIGMAS_95, now->goal, &x, &row->high_beyond_test);
    if (row->has_max_high)
        row->max_high = row->high_beyond_test ? curve->last_iso : exp2(x);
}

/* P7 */
static void
find_light(const struct making *now, struct qs_plan_row *row)
{
    struct qs_exposure exposure = {.f_number = now->request->set_up.f_number,
                                   .exposure_s = row->exposure_s,
                                   .iso = row->max_iso};

    if (!row->has_max_iso || qs_exposure_solve(&exposure, now->meter_c, NULL) != QS_OK)
        return;
    row->has_light = true;
    row->light_lx = exposure.light_lx;
    row->ev100 = qs_ev100_of_lux(row->light_lx, QS_METER_C);
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
model_at(const struct making *now, double iso, double value[QS_MODEL_PARTS])
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
find_saving(const struct making *now, const struct qs_iso_curve *curve,
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

/* The longest exposure that movement allows at this size; 0 = unknown. */
static double
longest_exposure(const struct making *now, int width)
{
    const struct qs_set_up *set_up = &now->request->set_up;

    const struct qs_movement movement = {set_up->moves_m_s, set_up->field_width_m};
    double limit = set_up->blur_px > 0.0 ? set_up->blur_px : QS_BLUR_LIMIT_PX;
    double longest = 0.0;

    if (!(set_up->field_width_m > 0.0) ||
        !qs_blur_longest_s(&movement, width, limit, &longest))
        return 0.0;
    return longest;
}

/* What raising the ISO to what the light asks for leaves. */
static void
raise_iso(const struct making *now, const struct qs_iso_curve *curve,
          const struct qs_plan_row *row, struct qs_way *way)
{
    double x = log2(row->needed_iso), y;

    if (x > curve->x[curve->count - 1] || x < curve->x[0])
        return;
    y = qs_iso_curve_at(curve, x, 0.0);
    *way = (struct qs_way){.known = true,
                           .value = row->needed_iso,
                           .stops = row->short_stops,
                           .is_enough = y >= now->goal,
                           .has_other = true,
                           .other = exp2(now->request->criterion.is_viewed ? -y : y)};
}

/* The figure at a share of the width, at an ISO; false where it can't be told. */
static bool
figure_at_share(const struct making *now, enum qs_filter filter, struct qs_box crop,
                double share, double x, double *y, struct qs_error *err)
{
    struct qs_shrinking shrinking;
    struct qs_iso_curve curve;
    int width = (int)fmax(floor(share * crop.width + 0.5), 1.0);
    int height = (int)fmax(floor(share * crop.height + 0.5), 1.0);
    bool known;

    if (qs_shrinking_init(&shrinking, filter, crop.width, crop.height, width, height,
                          err) != QS_OK)
        return false;
    known = fill_curve(now, &shrinking, &curve) && x >= curve.x[0] &&
            x <= curve.x[curve.count - 1];
    if (known)
        *y = qs_iso_curve_at(&curve, x, 0.0);
    qs_shrinking_clear(&shrinking);
    return known;
}

/* The largest size that is quiet enough at the ISO that the light asks for. */
static void
deliver_smaller(const struct making *now, struct qs_box crop,
                const struct qs_plan_row *row, struct qs_way *way)
{
    double low = LEAST_SHARE;
    double high = SMALLER_SHARE * row->width / crop.width;
    double x = log2(row->needed_iso), y;

    if (!(low < high) || !figure_at_share(now, row->filter, crop, low, x, &y, NULL) ||
        y < now->goal)
        return;
    for (int k = 0; k < 12; k++) {
        double middle = 0.5 * (low + high);

        if (!figure_at_share(now, row->filter, crop, middle, x, &y, NULL))
            return;
        if (y >= now->goal)
            low = middle;
        else
            high = middle;
    }
    *way = (struct qs_way){.known = true,
                           .value = floor(low * crop.width),
                           .stops = row->short_stops,
                           .is_enough = true,
                           .has_other = true,
                           .other = floor(low * crop.height)};
}

/* P10 */
static void
find_gap(const struct making *now, struct qs_box crop, const struct qs_iso_curve *curve,
         struct qs_plan_row *row)
{
    const struct qs_set_up *set_up = &now->request->set_up;
    struct qs_exposure exposure = {.f_number = set_up->f_number,
                                   .exposure_s = row->exposure_s,
                                   .light_lx = set_up->light_lx};
    struct qs_gap gap = {.f_number = set_up->f_number,
                         .exposure_s = row->exposure_s,
                         .light_lx = set_up->light_lx,
                         .widest_f = set_up->widest_f};

    if (!(set_up->light_lx > 0.0) ||
        qs_exposure_solve(&exposure, now->meter_c, NULL) != QS_OK)
        return;
    row->has_needed = true;
    row->needed_iso = exposure.iso;
    if (!row->has_light)
        return;
    row->has_short = true;
    row->short_stops = log2(row->light_lx / set_up->light_lx);
    if (!(row->short_stops > 0.0))
        return;
    gap.short_stops = row->short_stops;
    gap.longest_s =
        row->use->is_motion ? row->exposure_s : longest_exposure(now, row->width);
    qs_ways_of_light(&gap, &row->ways);
    raise_iso(now, curve, row, &row->ways.way[QS_WAY_RAISE_ISO]);
    deliver_smaller(now, crop, row, &row->ways.way[QS_WAY_SMALLER]);
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
decide_with(const struct making *now, struct qs_box crop,
            const struct qs_shrinking *shrinking, const struct qs_shrinking *full,
            struct qs_plan_row *row, struct qs_error *err)
{
    struct qs_iso_curve curve, native;

    for (int i = 0; i < now->sheet->iso_count; i++)
        fill_cell(now, &now->sheet->isos[i], shrinking, &row->cells[i]);
    if (!fill_curve(now, shrinking, &curve) || !fill_curve(now, full, &native))
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "This camera sheet holds no noise that a plan can rest on in "
                       "the colour and tone asked for; make it from frames with flat "
                       "patches.");
    add_goal_se(now, &curve);
    find_iso(now, &curve, row);
    find_light(now, row);
    find_saving(now, &curve, &native, row);
    find_gap(now, crop, &curve, row);
    return own_contrast(shrinking, row, err);
}

static enum qs_status
decide_row(const struct making *now, struct qs_box crop, struct qs_plan_row *row,
           struct qs_error *err)
{
    struct qs_shrinking shrinking = {.across = {.scale = 0.0}},
                        full = {.across = {.scale = 0.0}};
    enum qs_status status = qs_shrinking_init(
        &shrinking, row->filter, crop.width, crop.height, row->width, row->height, err);

    if (status == QS_OK)
        status = qs_shrinking_init(&full, row->filter, 1, 1, 1, 1, err);
    row->cells = qs_alloc((size_t)now->sheet->iso_count, sizeof *row->cells);
    if (status == QS_OK && row->cells == NULL)
        status = qs_fail_memory(err);
    if (status == QS_OK)
        status = decide_with(now, crop, &shrinking, &full, row, err);
    qs_shrinking_clear(&shrinking);
    qs_shrinking_clear(&full);
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
decide_use(const struct making *now, const struct qs_use *use, struct qs_plan *plan,
           struct qs_error *err)
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

enum qs_status
qs_plan_make(const struct qs_sheet *sheet, const struct qs_plan_request *request,
             struct qs_plan *out, struct qs_error *err)
{
    const struct qs_criterion *criterion = &request->criterion;
    double meter_c =
        request->set_up.meter_c > 0.0 ? request->set_up.meter_c : QS_METER_C;
    struct making now = {.sheet = sheet,
                         .request = request,
                         .tone = qs_criterion_tone(criterion),
                         .meter_c = meter_c};
    enum qs_status status = check(sheet, request, err);

    *out = (struct qs_plan){.criterion = *criterion,
                            .tone = now.tone,
                            .tone_tested = is_tested(sheet, now.tone),
                            .light_factor = 1.0,
                            .iso_count = sheet->iso_count};
    if (status != QS_OK)
        return status;
    if (sheet->calibration.known)
        now.meter_c = qs_calibrated_meter_c(meter_c, sheet->calibration.stops);
    out->light_factor = now.meter_c / meter_c;
    if (criterion->is_viewed)
        now.viewing = (struct qs_viewing_condition){
            qs_criterion_pixels_per_degree(criterion), criterion->eye};
    out->rows = qs_alloc((size_t)request->use_count * (size_t)request->filter_count,
                         sizeof *out->rows);
    status = out->rows == NULL ? qs_fail_memory(err) : set_goal(&now, err);
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
