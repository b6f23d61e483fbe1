/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/fft_lock.h"

#include <pthread.h>

static pthread_mutex_t planner = PTHREAD_MUTEX_INITIALIZER;

void
qs_fft_lock(void)
{
    (void)pthread_mutex_lock(&planner);
}

void
qs_fft_unlock(void)
{
    (void)pthread_mutex_unlock(&planner);
}
