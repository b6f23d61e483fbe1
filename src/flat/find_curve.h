/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_curve.h - variance against mean, through points some of which are wrong
 *
 * Part of the search for flat patches (find.h).  Each point is the low cluster
 * of the variances met at one tone.  At some tones that cluster is texture, and
 * lies above the noise; none can lie far below it.  The curve is the one that
 * most points lie on and hardly any below.
 *
 * Units: linear light and its square.
 * Threads: depends on its arguments alone.
 * Method: docs/method/patches.md, equations P6 and P7.
 */
#ifndef QS_FLAT_FIND_CURVE_H
#define QS_FLAT_FIND_CURVE_H

#include <stdbool.h>

enum {
    QS_CURVE_POINTS = 16 /* most points a curve is drawn through */
};

struct qs_curve_point {
    double mean;
    double variance; /* > 0 */
    double weight;   /* > 0 */
};

/* Shapes a curve may have; each is a parabola or less in what it calls x. */
enum qs_curve_shape {
    QS_CURVE_LINEAR, /* variance = k0 + k1 mean + k2 mean^2: a sensor's own */
    QS_CURVE_LOG     /* the same between logarithms: after a tone curve */
};

struct qs_curve {
    enum qs_curve_shape shape;
    double k[3];
    double low; /* means it was drawn over; outside it goes on level */
    double high;
};

/* Variance at `mean`; > 0 for a curve qs_curve_draw returned true for. */
double
qs_curve_at(const struct qs_curve *curve, double mean);

/*
 * Draws the curve through `count` points, 1 to QS_CURVE_POINTS, in order of
 * their means.
 */
void
qs_curve_draw(struct qs_curve *curve, const struct qs_curve_point *points, int count);

#endif
