/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/clock.h"

#include <time.h>

double
qs_now_s(void)
{
    struct timespec now = {0, 0};

    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}
