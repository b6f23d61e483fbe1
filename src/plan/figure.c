/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/figure.h"

#include <math.h>

/* Two-sided 95 % of a normal distribution. */
static const double SIGMAS_95 = 1.959963984540054;

/* CIELAB units: what is below is none to any eye; so that a logarithm is there. */
static const double LEAST_SEEN = 1e-6;

/*
 * The figure that the criterion is about, as a curve over ISO in logarithms, larger is
 * quieter: SNR, or one over noise as seen.
 */
static bool
fill_point(const struct qs_deciding *now, const struct qs_sheet_iso *iso,
           const struct qs_shrinking *shrinking, double *y, double *se)
{
    double spread;

    if (now->request->criterion.is_viewed) {
        struct qs_seen_forecast seen = qs_forecast_seen(
            iso, now->sheet->channels, now->tone, shrinking, &now->viewing);

        if (!seen.known)
            return false;
        *y = -log2(fmax(seen.visible.total, LEAST_SEEN));
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
    return isfinite(*y) && isfinite(*se); /* a forged sheet may hold anything */
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

/* One ISO of a plan's table; `y` the figure there, where it is known. */
static void
fill_cell(const struct qs_deciding *now, const struct qs_sheet_iso *iso,
          const struct qs_shrinking *shrinking, bool known, double y,
          struct qs_plan_cell *cell)
{
    struct qs_forecast forecast =
        qs_forecast_at(iso, (int)now->request->criterion.channel, now->tone, shrinking);

    if (forecast.known)
        fill_snr(&forecast, now->tone, cell);
    cell->meets = known && y >= now->goal;
    cell->has_seen = known && now->request->criterion.is_viewed;
    if (cell->has_seen)
        cell->seen = exp2(-y);
}

/* P3: false where no ISO of the sheet has the figure. */
bool
qs_figure_curve(const struct qs_deciding *now, const struct qs_shrinking *shrinking,
                struct qs_iso_curve *curve, struct qs_plan_cell *cells)
{
    curve->count = 0;
    curve->reaches_top = false;
    for (int i = 0; i < now->sheet->iso_count; i++) {
        const struct qs_sheet_iso *iso = &now->sheet->isos[i];
        int k = curve->count;

        curve->reaches_top =
            fill_point(now, iso, shrinking, &curve->y[k], &curve->se[k]);
        if (cells != NULL)
            fill_cell(now, iso, shrinking, curve->reaches_top, curve->y[k], &cells[i]);
        if (!curve->reaches_top) {
            if (k > 0)
                curve->is_broken[k - 1] = true;
            continue;
        }
        curve->x[k] = log2(iso->iso);
        curve->is_broken[k] = false;
        curve->count++;
        curve->last_iso = iso->iso;
    }
    if (curve->count > 0)
        qs_iso_curve_prepare(curve);
    return curve->count > 0;
}

/* P5: what the goal's own uncertainty adds to each point. */
void
qs_figure_widen(const struct qs_deciding *now, struct qs_iso_curve *curve)
{
    for (int i = 0; i < curve->count; i++)
        curve->se[i] = hypot(curve->se[i], now->goal_se);
}

static enum qs_status
goal_like(struct qs_deciding *now, struct qs_error *err)
{
    const struct qs_iso_curve *native = &now->native;
    const double like = now->request->criterion.like_iso;
    double x = log2(like);

    if (!now->has_native)
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "This camera sheet holds no noise that a plan can rest on; "
                       "make it from frames with flat patches.");
    if (x < native->x[0] - 1e-9 || x > native->x[native->count - 1] + 1e-9)
        return qs_fail(err, QS_ERR_USAGE,
                       "--like names ISO %g, which lies outside of what was tested "
                       "(ISO %g to %g); choose one within.",
                       like, exp2(native->x[0]), exp2(native->x[native->count - 1]));
    now->goal = qs_iso_curve_at(native, x, 0.0);
    now->goal_se = qs_iso_curve_at(native, x, 1.0) - now->goal;
    return QS_OK;
}

enum qs_status
qs_figure_set_goal(struct qs_deciding *now, struct qs_error *err)
{
    const struct qs_criterion *criterion = &now->request->criterion;

    if (criterion->kind == QS_BY_LIKE)
        return goal_like(now, err);
    now->goal =
        criterion->kind == QS_BY_SNR ? log2(criterion->snr) : -log2(criterion->seen);
    return QS_OK;
}
