/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * fft_plans.h - Fourier transforms of rows and of columns, planned once
 *
 * Planning a transform takes about as long as running it, and patches come in few
 * sizes: a plan that is given back waits for the next one of its size.  Plans are by
 * estimate, never by stopwatch: the same bits in every run.
 *
 * Memory: arrays come from fftw_alloc_real and fftw_alloc_complex; a few dozen idle
 * plans are kept.
 * Threads: safe from any; one plan may be run by several threads at once.
 */
#ifndef QS_MEASURE_FFT_PLANS_H
#define QS_MEASURE_FFT_PLANS_H

#include <complex.h>
#include <fftw3.h>

enum qs_fft_kind {
    QS_FFT_ROWS,         /* real rows of n -> rows of n / 2 + 1 */
    QS_FFT_ROWS_BACK,    /* and back, the complex rows being lost */
    QS_FFT_COLUMNS,      /* complex columns of n, side by side, in place */
    QS_FFT_COLUMNS_BACK, /* the same with the other sign; neither scales */
    QS_FFT_KINDS
};

struct qs_fft;

/* A transform of `many` rows or columns of length n; NULL where memory is short. */
struct qs_fft *
qs_fft_take(enum qs_fft_kind kind, int n, int many);

/* NULL is allowed. */
void
qs_fft_give_back(struct qs_fft *fft);

/* Runs QS_FFT_ROWS. */
void
qs_fft_rows(const struct qs_fft *fft, double *in, fftw_complex *out);

/* Runs QS_FFT_ROWS_BACK. */
void
qs_fft_rows_back(const struct qs_fft *fft, fftw_complex *in, double *out);

/* Runs QS_FFT_COLUMNS or QS_FFT_COLUMNS_BACK. */
void
qs_fft_columns(const struct qs_fft *fft, fftw_complex *plane);

#endif
