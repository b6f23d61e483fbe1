/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * iso_curve.h - a figure known at the ISO values tested, told between them
 *
 * Works in logarithms: x is log2 of ISO, y log2 of the figure.  Between the ISO values
 * a monotone cubic keeps to the measured steps and never swings beyond them; outside
 * of those tested nothing is told.
 *
 * Threads: results depend on the arguments alone.
 * Method: docs/method/plan.md, equations P3 and P4 (Fritsch and Carlson 1980, in the
 * form of Fritsch and Butland 1984; from memory).
 */
#ifndef QS_PLAN_ISO_CURVE_H
#define QS_PLAN_ISO_CURVE_H

#include <stdbool.h>

enum {
    QS_CURVE_POINTS = 256
};

struct qs_iso_curve {
    int count;                 /* at least 1 */
    double x[QS_CURVE_POINTS]; /* log2 ISO, rising */
    double y[QS_CURVE_POINTS];
    double se[QS_CURVE_POINTS]; /* standard error of y */
    double slope[QS_CURVE_POINTS];
    bool has_stage[QS_CURVE_POINTS]; /* a second gain may set in between i and i + 1, */
    double slope_before[QS_CURVE_POINTS]; /*   until when this slope holds */
    bool is_broken[QS_CURVE_POINTS];      /* nothing is told between i and i + 1: an ISO
                                             between them was tested, and has no figure */
    bool reaches_top;                     /* the last point is the highest ISO tested */
    double last_iso;                      /* ISO of the last point, for the caller */
};

/* To be called once count, x, y, se and is_broken are set. */
void
qs_iso_curve_prepare(struct qs_iso_curve *curve);

/* y + sigmas x its standard error at x, which must not lie outside of the points.
   Between points it counts that the way taken there is a guess. */
double
qs_iso_curve_at(const struct qs_iso_curve *curve, double x, double sigmas);

/*
 * The highest x at which y + sigmas se is known to be `least` or more: false where it
 * is nowhere.  *beyond says that it is still so at the last point.
 */
bool
qs_iso_curve_last(const struct qs_iso_curve *curve, double sigmas, double least,
                  double *x, bool *beyond);

#endif
