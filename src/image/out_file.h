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

/*
 * Creates or empties `path`, which must be an ordinary file or a link to one: a pipe,
 * a device or a folder is refused, neither waited for nor opened.
 *
 *   QS_OK         *file is to be ended by qs_out_close
 *   QS_ERR_WRITE  nothing is open
 */
QS_MUST_CHECK enum qs_status
qs_out_open(struct qs_out_file *file, const char *path, struct qs_error *err);

/* Writes all of `size` bytes; false after this or any earlier failure. */
bool
qs_out_write(struct qs_out_file *file, const void *bytes, size_t size);

/*
 * Reads up to `size` bytes from where the file stands; how many there were.  Fewer: the
 * file ends there, or reading failed, and then its reason is kept.
 */
size_t
qs_out_read(struct qs_out_file *file, void *into, size_t size);

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

/*
 * Has the system bring all that was written to the disk, and waits for it: what is
 * written late can fail late.  A file system that cannot do it is passed over.  False
 * after this or any earlier failure.
 */
bool
qs_out_flush(struct qs_out_file *file);

/* Closes, if open; what the system says of it is kept as a reason. */
void
qs_out_close(struct qs_out_file *file);

/*
 * The sentence of a failed call that wrote to `file`, and QS_ERR_WRITE: the file's
 * reason or, where it has none, that the library gave up by itself.  A caller that
 * knows memory to be the cause says so instead.
 */
enum qs_status
qs_out_fail(const struct qs_out_file *file, struct qs_error *err);

/*
 * Flushes and closes a file that is whole.
 *
 *   QS_OK         every byte is on the disk, as far as the system has said
 *   QS_ERR_WRITE  not so; the file is closed all the same
 */
QS_MUST_CHECK enum qs_status
qs_out_finish(struct qs_out_file *file, struct qs_error *err);

#endif
