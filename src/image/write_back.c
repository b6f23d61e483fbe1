/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef __linux__
#define _GNU_SOURCE /* sync_file_range is Linux's own */
#endif

#include "image/write_back.h"

#include <fcntl.h>

void
qs_write_back_start(int descriptor)
{
#ifdef SYNC_FILE_RANGE_WRITE
    (void)sync_file_range(descriptor, 0, 0, SYNC_FILE_RANGE_WRITE);
#else
    (void)descriptor;
#endif
}
