/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * fft_lock.h - FFTW makes and destroys plans one at a time
 *
 * Every use of its planner, in whatever file, stands between these two; running a
 * plan needs no lock.
 */
#ifndef QS_MEASURE_FFT_LOCK_H
#define QS_MEASURE_FFT_LOCK_H

void
qs_fft_lock(void);

void
qs_fft_unlock(void);

#endif
