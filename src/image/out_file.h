/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * out_file.h - a file being written, that remembers why it could not be
 *
 * Private to this folder.  libtiff and libpng tell that a write failed, not why:
 * they write through these calls, which keep the first reason.
 *
 * Threads: each file belongs to one thread at a time.
 */
#ifndef QS_IMAGE_OUT_FILE_H
#define QS_IMAGE_OUT_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

struct qs_out_file {
    int descriptor; /* below 0 = not open */
    int reason;     /* errno of the first failure, 0 = none */
};

/* Creates or empties `path`.  QS_OK or QS_ERR_WRITE; then nothing is open. */
QS_MUST_CHECK enum qs_status
qs_out_open(struct qs_out_file *file, const char *path, struct qs_error *err);

/* Writes all of `size` bytes; false after this or any earlier failure. */
bool
qs_out_write(struct qs_out_file *file, const void *bytes, size_t size);

/*
 * Moves to `offset` bytes from the start, or with `from_end` from the end, and sets
 * *position to where that is.  False after this or any earlier failure.
 */
bool
qs_out_seek(struct qs_out_file *file, int64_t offset, bool from_end,
            uint64_t *position);

/* From now on nothing is written: every call fails. */
void
qs_out_mute(struct qs_out_file *file);

/* Closes, if open; what the system says of it is kept as a reason. */
void
qs_out_close(struct qs_out_file *file);

/*
 * The sentence of a failed call that wrote to `file`: QS_ERR_WRITE with the file's
 * reason or, where it has none, QS_ERR_MEMORY, for nothing else fails then.
 */
enum qs_status
qs_out_fail(const struct qs_out_file *file, struct qs_error *err);

#endif
