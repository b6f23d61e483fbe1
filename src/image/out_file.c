/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/out_file.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/types.h>
#include <unistd.h>

#include "base/write_reason.h"
#include "image/write_back.h"

enum {
    LONG_WRITE = 1 << 17 /* bytes: of pixels, not of tags */
};

static bool
keep_reason(struct qs_out_file *file, int reason)
{
    if (file->reason == 0)
        file->reason = reason != 0 ? reason : EIO;
    return false;
}

enum qs_status
qs_out_open(struct qs_out_file *file, const char *path, struct qs_error *err)
{
    file->reason = 0;
    file->descriptor = open(path, O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    return file->descriptor < 0 ? qs_fail_write(err) : QS_OK;
}

bool
qs_out_write(struct qs_out_file *file, const void *bytes, size_t size)
{
    const unsigned char *next = bytes;

    while (file->reason == 0 && size > 0) {
        ssize_t written = write(file->descriptor, next, size);

        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return keep_reason(file, written < 0 ? errno : EIO);
        next += written;
        size -= (size_t)written;
        if (written >= LONG_WRITE)
            qs_write_back_start(file->descriptor);
    }
    return file->reason == 0;
}

bool
qs_out_seek(struct qs_out_file *file, int64_t offset, bool from_end, uint64_t *position)
{
    off_t there;

    if (file->reason != 0)
        return false;
    if ((int64_t)(off_t)offset != offset)
        return keep_reason(file, EFBIG);
    there = lseek(file->descriptor, (off_t)offset, from_end ? SEEK_END : SEEK_SET);
    if (there < 0)
        return keep_reason(file, errno);
    *position = (uint64_t)there;
    return true;
}

void
qs_out_mute(struct qs_out_file *file)
{
    (void)keep_reason(file, EIO);
}

void
qs_out_close(struct qs_out_file *file)
{
    if (file->descriptor >= 0 && close(file->descriptor) != 0)
        (void)keep_reason(file, errno);
    file->descriptor = -1;
}

enum qs_status
qs_out_fail(const struct qs_out_file *file, struct qs_error *err)
{
    if (file->reason == 0)
        return qs_fail_memory(err);
    errno = file->reason;
    return qs_fail_write(err);
}
