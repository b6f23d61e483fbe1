/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/iso_curve.h"

#include <math.h>

/* Halvings of an interval between two ISO values: to 1e-9 of a stop and below. */
enum {
    HALVINGS = 40,
    PARTS = 64 /* places looked at between two ISO values for a crossing */
};

/* Standard error of what lies between two points, as a share of its difference from a
   straight line. */
static const double BETWEEN = 0.5;

/* Two-sided 95 % of a normal distribution. */
static const double SIGMAS_95 = 1.959963984540054;

/* Steps from the middle of one to the end of the next. */
static const double BEND = 1.5;

static double
secant(const struct qs_iso_curve *curve, int i)
{
    return (curve->y[i + 1] - curve->y[i]) / (curve->x[i + 1] - curve->x[i]);
}

/* P4: weighted harmonic mean of the slopes on both sides; 0 at a turn. */
static double
inner_slope(const struct qs_iso_curve *curve, int i)
{
    double before = secant(curve, i - 1), after = secant(curve, i);
    double left = curve->x[i] - curve->x[i - 1], right = curve->x[i + 1] - curve->x[i];
    double a = 2.0 * right + left, b = right + 2.0 * left;

    if (before * after <= 0.0)
        return 0.0;
    return (a + b) / (a / before + b / after);
}

/* One-sided, by the parabola through three points, kept monotone. */
static double
end_slope(double near, double far, double near_step, double far_step)
{
    double slope = ((2.0 * near_step + far_step) * near - near_step * far) /
                   (near_step + far_step);

    if (slope * near <= 0.0)
        return 0.0;
    if (near * far <= 0.0 && fabs(slope) > 3.0 * fabs(near))
        return 3.0 * near;
    return slope;
}

/*
 * P4: figures fall faster and faster over ISO, unless a second gain stage lifts them
 * at an ISO that nobody named.  Where a step falls less than both of its neighbours
 * (or the one there is), it may lie anywhere in that step: until then the figure goes
 * on as before, steeper by BEND times what it gained from the step before to that one:
 * from the middle of one step to the end of the next.
 */
static void
find_stage(struct qs_iso_curve *curve, int i)
{
    double before, after, here = secant(curve, i);

    curve->has_stage[i] = false;
    if (i == 0)
        return;
    before = secant(curve, i - 1);
    after = i + 2 < curve->count ? secant(curve, i + 1) : before;
    curve->has_stage[i] = here > fmax(before, after);
    curve->slope_before[i] =
        before + (i > 1 ? BEND * fmin(before - secant(curve, i - 2), 0.0) : 0.0);
}

void
qs_iso_curve_prepare(struct qs_iso_curve *curve)
{
    const int last = curve->count - 1;
    const double *x = curve->x;

    for (int i = 0; i < last; i++)
        find_stage(curve, i);

    if (curve->count == 1) {
        curve->slope[0] = 0.0;
        return;
    }
    if (curve->count == 2) {
        curve->slope[0] = curve->slope[1] = secant(curve, 0);
        return;
    }
    for (int i = 1; i < last; i++)
        curve->slope[i] = inner_slope(curve, i);
    curve->slope[0] =
        end_slope(secant(curve, 0), secant(curve, 1), x[1] - x[0], x[2] - x[1]);
    curve->slope[last] = end_slope(secant(curve, last - 1), secant(curve, last - 2),
                                   x[last] - x[last - 1], x[last - 1] - x[last - 2]);
}

/* The curve between points i and i + 1, at `share` of the way. */
static double
between(const struct qs_iso_curve *curve, int i, double share, double sigmas)
{
    double step = curve->x[i + 1] - curve->x[i], t = share, u = 1.0 - share;
    double doubt;
    double y = curve->y[i] * (1.0 + 2.0 * t) * u * u +
               curve->slope[i] * step * t * u * u +
               curve->y[i + 1] * t * t * (3.0 - 2.0 * t) -
               curve->slope[i + 1] * step * t * t * u;

    /* P4: how far the way taken between two points may be off */
    doubt = BETWEEN * (y - (u * curve->y[i] + t * curve->y[i + 1]));
    if (sigmas < 0.0 && curve->has_stage[i])
        doubt = hypot(doubt, (y - curve->y[i] - curve->slope_before[i] * step * t) /
                                 SIGMAS_95);
    return y + sigmas * hypot(u * curve->se[i] + t * curve->se[i + 1], doubt);
}

double
qs_iso_curve_at(const struct qs_iso_curve *curve, double x, double sigmas)
{
    int i = 0;

    if (curve->count == 1)
        return curve->y[0] + sigmas * curve->se[0];
    while (i + 2 < curve->count && x > curve->x[i + 1])
        i++;
    return between(curve, i, (x - curve->x[i]) / (curve->x[i + 1] - curve->x[i]),
                   sigmas);
}

/* Share of the way at which the curve falls through `least`; it is above at `low`. */
static double
crossing(const struct qs_iso_curve *curve, int i, double low, double high,
         double sigmas, double least)
{
    for (int k = 0; k < HALVINGS; k++) {
        double middle = 0.5 * (low + high);

        if (between(curve, i, middle, sigmas) >= least)
            low = middle;
        else
            high = middle;
    }
    return low;
}

bool
qs_iso_curve_last(const struct qs_iso_curve *curve, double sigmas, double least,
                  double *x, bool *beyond)
{
    const int last = curve->count - 1;

    *beyond = curve->y[last] + sigmas * curve->se[last] >= least;
    *x = curve->x[last];
    if (*beyond)
        return true;
    for (int i = last - 1; i >= 0; i--)
        for (int part = curve->is_broken[i] ? 0 : PARTS - 1; part >= 0; part--) {
            double low = (double)part / PARTS, share = 0.0;

            if (between(curve, i, low, sigmas) < least)
                continue;
            if (!curve->is_broken[i])
                share = crossing(curve, i, low, low + 1.0 / PARTS, sigmas, least);
            *x = curve->x[i] + share * (curve->x[i + 1] - curve->x[i]);
            return true;
        }
    return false;
}
