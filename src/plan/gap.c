/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/gap.h"

#include <math.h>
#include <stddef.h>

#include "plan/exposure.h"
#include "plan/motion.h"

/*
 * A smaller delivery that is to close a gap has at least half a stop fewer pixels: just
 * below its own size a frame is blurred more than it is averaged.
 */
static const double SMALLER_SHARE = 0.8408964152537145;

/* And at least this share of the frame's width. */
static const double LEAST_SHARE = 0.1;

enum {
    HALVINGS = 12
};

/* The longest exposure that movement allows at this size; 0 = unknown. */
static double
longest_exposure(const struct qs_deciding *now, int width)
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
raise_iso(const struct qs_deciding *now, const struct qs_iso_curve *curve,
          const struct qs_plan_row *row, struct qs_way *way)
{
    double x = log2(row->needed_iso), y;

    *way = (struct qs_way){
        .known = true, .value = row->needed_iso, .stops = row->short_stops};
    if (x > curve->x[curve->count - 1] || x < curve->x[0])
        return; /* not tested: what it leaves can't be told */
    y = qs_iso_curve_at(curve, x, 0.0);
    way->is_enough = y >= now->goal;
    way->has_other = true;
    way->other = exp2(now->request->criterion.is_viewed ? -y : y);
}

/* The figure at a share of the width, at an ISO; *known false where it can't be told.
 */
static enum qs_status
figure_at_share(const struct qs_deciding *now, enum qs_filter filter,
                struct qs_box crop, double share, double x, double *y, bool *known,
                struct qs_error *err)
{
    struct qs_shrinking shrinking;
    struct qs_iso_curve curve;
    int width = (int)fmax(floor(share * crop.width + 0.5), 1.0);
    int height = (int)fmax(floor(share * crop.height + 0.5), 1.0);
    enum qs_status status = qs_shrinking_init(&shrinking, filter, crop.width,
                                              crop.height, width, height, err);

    if (status != QS_OK)
        return status;
    *known = qs_figure_curve(now, &shrinking, &curve, NULL) && x >= curve.x[0] &&
             x <= curve.x[curve.count - 1];
    if (*known)
        *y = qs_iso_curve_at(&curve, x, 0.0);
    qs_shrinking_clear(&shrinking);
    return QS_OK;
}

/* The largest size that is quiet enough at the ISO that the light asks for. */
static enum qs_status
deliver_smaller(const struct qs_deciding *now, struct qs_box crop,
                const struct qs_plan_row *row, struct qs_way *way, struct qs_error *err)
{
    double low = LEAST_SHARE;
    double high = SMALLER_SHARE * row->width / crop.width;
    double x = log2(row->needed_iso), y = 0.0;
    bool known = false;
    enum qs_status status = QS_OK;

    if (low < high)
        status = figure_at_share(now, row->filter, crop, low, x, &y, &known, err);
    if (status != QS_OK || !known || y < now->goal)
        return status;
    for (int k = 0; k < HALVINGS; k++) {
        double middle = 0.5 * (low + high);

        status = figure_at_share(now, row->filter, crop, middle, x, &y, &known, err);
        if (status != QS_OK || !known)
            return status;
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
    return QS_OK;
}

/* P10 */
enum qs_status
qs_plan_gap(const struct qs_deciding *now, struct qs_box crop,
            const struct qs_iso_curve *curve, struct qs_plan_row *row,
            struct qs_error *err)
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
        qs_exposure_solve(&exposure, now->needed_c, NULL) != QS_OK)
        return QS_OK;
    row->has_needed = true;
    row->needed_iso = exposure.iso;
    if (!row->has_light)
        return QS_OK;
    row->has_short = true;
    row->short_stops = log2(row->light_lx / set_up->light_lx);
    if (!(row->short_stops > 0.0))
        return QS_OK;
    gap.short_stops = row->short_stops;
    gap.longest_s =
        row->use->is_motion ? row->exposure_s : longest_exposure(now, row->width);
    qs_ways_of_light(&gap, &row->ways);
    raise_iso(now, curve, row, &row->ways.way[QS_WAY_RAISE_ISO]);
    return deliver_smaller(now, crop, row, &row->ways.way[QS_WAY_SMALLER], err);
}
