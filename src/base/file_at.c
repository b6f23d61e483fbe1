/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/file_at.h"

#include <errno.h>
#include <sys/types.h>
#include <unistd.h>

/* Whether the system can count that far. */
static bool
can_reach(uint64_t offset, size_t bytes)
{
    const uint64_t end = offset + bytes;

    if (end >= offset && end <= INT64_MAX && (uint64_t)(off_t)end == end)
        return true;
    errno = EFBIG;
    return false;
}

bool
qs_read_at(int descriptor, uint64_t offset, void *into, size_t bytes)
{
    unsigned char *to = into;

    if (!can_reach(offset, bytes))
        return false;
    while (bytes > 0) {
        ssize_t got = pread(descriptor, to, bytes, (off_t)offset);

        if (got < 0 && errno == EINTR)
            continue;
        if (got == 0)
            errno = 0;
        if (got <= 0)
            return false;
        to += got;
        offset += (uint64_t)got;
        bytes -= (size_t)got;
    }
    return true;
}

bool
qs_write_at(int descriptor, uint64_t offset, const void *from, size_t bytes)
{
    const unsigned char *next = from;

    if (!can_reach(offset, bytes))
        return false;
    while (bytes > 0) {
        ssize_t written = pwrite(descriptor, next, bytes, (off_t)offset);

        if (written < 0 && errno == EINTR)
            continue;
        if (written == 0)
            errno = EIO;
        if (written <= 0)
            return false;
        next += written;
        offset += (uint64_t)written;
        bytes -= (size_t)written;
    }
    return true;
}
