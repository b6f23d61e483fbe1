/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/status.h"

#include <stdarg.h>
#include <stdio.h>

void
qs_error_clear(struct qs_error *err)
{
    err->status = QS_OK;
    err->text[0] = '\0';
}

enum qs_status
qs_fail(struct qs_error *err, enum qs_status status, const char *format, ...)
{
    if (err != NULL && err->status == QS_OK) {
        va_list args;

        err->status = status;
        va_start(args, format);
        (void)vsnprintf(err->text, sizeof err->text, format, args);
        va_end(args);
    }
    return status;
}

enum qs_status
qs_fail_memory(struct qs_error *err)
{
    return qs_fail(err, QS_ERR_MEMORY,
                   "There is not enough memory left; close other programs, or measure "
                   "fewer and smaller patches at a time.");
}
