/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * chart_bytes.h - bytes gathered in memory
 *
 * Threads: one at a time for a struct qs_chart_bytes.
 */
#ifndef QS_REPORT_CHART_BYTES_H
#define QS_REPORT_CHART_BYTES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/* All zero = empty; clear with qs_chart_bytes_clear. */
struct qs_chart_bytes {
    char *bytes; /* no closing zero */
    size_t used;
    size_t room;
    bool has_failed; /* memory was short: what was added since is lost */
};

/* Adds `count` bytes. */
void
qs_chart_bytes_add(struct qs_chart_bytes *bytes, const void *from, size_t count);

/* Adds at most 255 bytes of text. */
void
qs_chart_bytes_say(struct qs_chart_bytes *bytes, const char *format, ...)
    QS_PRINTF(2, 3);

/* Adds text that qs_chart_clean made as it stands in XML 1.0, in an element or between
   quotes. */
void
qs_chart_escape(struct qs_chart_bytes *bytes, const char *text);

/* Frees; an empty one is allowed. */
void
qs_chart_bytes_clear(struct qs_chart_bytes *bytes);

#endif
