/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/chisquare.h"

#include <math.h>

double
qs_normal_quantile(double probability)
{
    static const double ROOT_TWO_PI = 2.50662827463100050242;
    double x = 0.0;

    /* Newton's method on the exact distribution; steps are held short far out. */
    for (int round = 0; round < 60; round++) {
        double error = 0.5 * erfc(-x / sqrt(2.0)) - probability;
        double step = error * ROOT_TWO_PI * exp(0.5 * x * x);

        x -= fmax(-1.0, fmin(1.0, step));
        if (fabs(step) < 1e-12)
            break;
    }
    return x;
}

/*
 * ln of the gamma function for a > 0, by Stirling's series from 10 on and the
 * recurrence below.  The C library's lgamma writes to a global variable, which
 * threads would race for.
 */
static double
log_gamma(double a)
{
    double shift = 1.0, r2;

    for (; a < 10.0; a += 1.0)
        shift *= a;
    r2 = 1.0 / (a * a);
    return (a - 0.5) * log(a) - a + 0.91893853320467274178 +
           (1.0 / 12.0 - r2 * (1.0 / 360.0 - r2 * (1.0 / 1260.0 - r2 / 1680.0))) / a -
           log(shift);
}

/* Series of the regularised lower incomplete gamma function, for x < a + 1. */
static double
gamma_series(double a, double x, double front)
{
    double term = 1.0 / a, sum = term;

    for (int n = 1; n < 100000 && term > sum * 1e-16; n++) {
        term *= x / (a + n);
        sum += term;
    }
    return sum * front;
}

/* Continued fraction of the upper one (modified Lentz), for x >= a + 1. */
static double
gamma_fraction(double a, double x, double front)
{
    double b = x + 1.0 - a, c = 1e300, d = 1.0 / b, h = d;

    for (int n = 1; n < 100000; n++) {
        double an = -n * (n - a);
        double step;

        b += 2.0;
        d = 1.0 / (an * d + b);
        c = b + an / c;
        step = c * d;
        h *= step;
        if (fabs(step - 1.0) < 1e-15)
            break;
    }
    return h * front;
}

/* Probability that a chi-square variable stays below `value`. */
static double
chisquare_probability(double value, double freedom)
{
    double a = freedom / 2.0, x = value / 2.0;
    double front = exp(-x + a * log(x) - log_gamma(a));

    return x < a + 1.0 ? gamma_series(a, x, front) : 1.0 - gamma_fraction(a, x, front);
}

static double
chisquare_density(double value, double freedom)
{
    double a = freedom / 2.0, x = value / 2.0;

    return 0.5 * exp(-x + (a - 1.0) * log(x) - log_gamma(a));
}

double
qs_chisquare_quantile(double probability, double freedom)
{
    /* Wilson and Hilferty 1931: the cube root is very nearly normal */
    double share = 2.0 / (9.0 * freedom);
    double root = 1.0 - share + qs_normal_quantile(probability) * sqrt(share);
    double value = freedom * root * root * root;

    if (freedom > 1e4) /* there the cube root errs by less than 1e-6 */
        return value;
    if (root < 0.05)
        value = freedom * 1e-4;
    for (int round = 0; round < 60; round++) {
        double error = chisquare_probability(value, freedom) - probability;
        double next = value - error / chisquare_density(value, freedom);

        if (next <= 0.0)
            next = value / 4.0;
        if (fabs(next - value) < 1e-12 * value)
            return next;
        value = next;
    }
    return value;
}
