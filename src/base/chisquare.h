/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chisquare.h - quantiles of the chi-square distribution
 *
 * Needed for degrees of freedom that are not whole and may be very many, where
 * general libraries gave up when tried.  Relative accuracy 1e-6 or better for
 * 1 <= freedom <= 1e9 and probabilities from 0.001 to 0.999; tests hold it
 * against published tables and scipy.
 */
#ifndef QS_BASE_CHISQUARE_H
#define QS_BASE_CHISQUARE_H

/* The value that a chi-square variable stays below with this probability. */
double
qs_chisquare_quantile(double probability, double freedom);

/* The quantile of the normal distribution, to 1e-9, probability in (0, 1). */
double
qs_normal_quantile(double probability);

#endif
