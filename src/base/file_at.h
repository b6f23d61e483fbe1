/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * file_at.h - bytes of an open file at a place, all of them
 *
 * Goes on where a signal or the system stops half-way.  The file's own place is left
 * alone, so that any number of threads may do this at once.
 */
#ifndef QS_BASE_FILE_AT_H
#define QS_BASE_FILE_AT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* False where the file ends before (errno is 0) or can't be read. */
bool
qs_read_at(int descriptor, uint64_t offset, void *into, size_t bytes);

/* False where it can't be written; errno says why. */
bool
qs_write_at(int descriptor, uint64_t offset, const void *from, size_t bytes);

#endif
