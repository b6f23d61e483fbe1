/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * weights.h - one filter along one axis, at one reduction
 *
 * For every delivered pixel: which source pixels it sees and with what weight.
 * Delivered pixel i is centred at (i + 0.5) scale - 0.5 in source pixels; the
 * weights of each one sum to 1.  Where the kernel reaches beyond the source,
 * those taps are left out and the rest is normalised.  Where source and
 * delivery are equally long nothing is filtered: one tap of weight 1.
 *
 * From the weights follows what decides how noise falls: their mean autocorrelation.
 *
 * Units: source pixels; frequencies in cycles per source pixel (_cpp).
 * Threads: after qs_weights_init only read.
 * Method: docs/method/filters.md, equations F1 to F6.
 */
#ifndef QS_RESAMPLE_WEIGHTS_H
#define QS_RESAMPLE_WEIGHTS_H

#include "base/status.h"
#include "resample/filter.h"

struct qs_weights {
    int in;          /* source pixels along the axis */
    int out;         /* delivered pixels */
    double scale;    /* source pixels a delivered pixel spans, >= 1 */
    int taps;        /* room for taps of one delivered pixel */
    int whole_first; /* delivered pixels whose kernel lies within the source: */
    int whole_end;   /*   whole_first <= i < whole_end */
    int *first;      /* [out] first source pixel */
    int *count;      /* [out] number of taps */
    float *weight;   /* [out x taps] */
};

/*
 * Weights for shrinking `in` source pixels to `out` delivered ones,
 * 1 <= out <= in.
 *
 *   QS_OK           clear with qs_weights_clear
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_weights_init(struct qs_weights *weights, enum qs_filter filter, int in, int out,
                struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_weights_clear(struct qs_weights *weights);

/*
 * Weights of a delivered pixel centred at `centre` of an endless source, for
 * a reduction that need not be a ratio of whole numbers.  Writes at most
 * qs_taps_room(filter, scale) values to `weight`, the first source pixel to
 * *first, and returns how many there are.
 */
int
qs_taps_at(enum qs_filter filter, double scale, double centre, int *first,
           double *weight);

int
qs_taps_room(enum qs_filter filter, double scale);

/*
 * The weights' autocorrelation, split by the parity of the first of the two
 * source pixels: a[parity][lag + lags] is the mean over delivered pixels (the whole
 * ones, or all where none is whole) of the sum of w(n) w(n + lag) over the
 * taps n whose place in the frame (n + origin) has that parity.  `lags` is
 * weights->taps - 1; the arrays have 2 lags + 1 elements.  Both parities added give
 * the plain autocorrelation, whose element at lag 0 is the white-noise gain in power.
 */
void
qs_weights_autocorrelation(const struct qs_weights *weights, int origin, double *even,
                           double *odd);

#endif
