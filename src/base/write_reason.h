/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * write_reason.h - why a file could not be written, in words
 *
 * Threads: results depend on the arguments, and errno, alone.
 */
#ifndef QS_BASE_WRITE_REASON_H
#define QS_BASE_WRITE_REASON_H

#include "base/status.h"

/* Records what errno says of a failed write; returns QS_ERR_WRITE. */
enum qs_status
qs_fail_write(struct qs_error *err);

#endif
