/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * curve.h - the transfer curves that have a name
 *
 * Every one of them is a straight toe and a shifted power, so a curve is five
 * numbers and the table needs no code of its own.
 *
 * Units: fractions of the code range (0 = black, 1 = white) to linear light.
 * Threads: the table is constant; results depend on the arguments alone.
 * Method: docs/method/linear.md, L1 to L3.
 */
#ifndef QS_LINEAR_CURVE_H
#define QS_LINEAR_CURVE_H

#include <stdbool.h>

#include "base/status.h"
#include "linear/primaries.h"

struct qs_curve {
    const char *key;     /* what users write; "gamma:" for a gamma of their own */
    const char *name;    /* for people; NULL for a gamma: it is made from the number */
    double gamma;        /* exponent of the power */
    double offset;       /* what is added to a code before the power is taken */
    double slope;        /* of the toe: code = slope x light; 0 = no toe */
    double knee;         /* highest code of the toe */
    enum qs_space space; /* whose primaries go with it where the file names none */
};

/* Limits of the exponent of gamma:G. */
#define QS_GAMMA_MIN 0.2
#define QS_GAMMA_MAX 5.0

/*
 * Finds the curve a user names.
 *
 *   QS_OK         *out is the curve
 *   QS_ERR_USAGE  no curve has that name; the sentence lists them
 */
QS_MUST_CHECK enum qs_status
qs_curve_find(const char *key, struct qs_curve *out, struct qs_error *err);

/* Row `index` of the table of named curves, or NULL past its end. */
const struct qs_curve *
qs_curve_row(int index);

/* A bare power; gamma > 0. */
struct qs_curve
qs_curve_gamma(double gamma);

/* Whether codes under this curve are linear light already. */
bool
qs_curve_is_linear(const struct qs_curve *curve);

/*
 * Linear light of a fraction.  Above 1 the power goes on; below 0 the toe goes on
 * where there is one, else the power is mirrored: light(-v) = -light(v).
 */
double
qs_curve_light(const struct qs_curve *curve, double fraction);

/*
 * The other way: the fraction whose linear light is `light`.  Below 0 as
 * qs_curve_light.
 */
double
qs_curve_fraction(const struct qs_curve *curve, double light);

/* How steeply the fraction rises with light, there. */
double
qs_curve_steepness(const struct qs_curve *curve, double light);

/* The row of sRGB. */
const struct qs_curve *
qs_curve_srgb(void);

#endif
