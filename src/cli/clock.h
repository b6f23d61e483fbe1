/* SPDX-License-Identifier: GPL-3.0-or-later */
/* clock.h - how long things take */
#ifndef QS_CLI_CLOCK_H
#define QS_CLI_CLOCK_H

/* Seconds since some moment in the past; never goes back. */
double
qs_now_s(void);

#endif
