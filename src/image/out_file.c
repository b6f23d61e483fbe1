/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/out_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <sys/stat.h>
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

static enum qs_status
refuse_kind(mode_t mode, struct qs_error *err)
{
    if (S_ISREG(mode))
        return QS_OK;
    if (S_ISDIR(mode)) {
        errno = EISDIR;
        return qs_fail_write(err);
    }
    return qs_fail(err, QS_ERR_WRITE,
                   "It could not be written: it is a pipe or a device, and a picture "
                   "has to go back in its file; name an ordinary file.");
}

/* A pipe that came in the last moment does not block, nor is it emptied. */
static enum qs_status
open_ordinary(int *descriptor, const char *path, struct qs_error *err)
{
    struct stat about;
    enum qs_status status;
    int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOCTTY | O_NONBLOCK, 0666);

    if (file < 0)
        return qs_fail_write(err);
    if (fstat(file, &about) != 0)
        status = qs_fail_write(err);
    else
        status = refuse_kind(about.st_mode, err);
    if (status == QS_OK && ftruncate(file, 0) != 0)
        status = qs_fail_write(err);
    if (status == QS_OK)
        *descriptor = file;
    else
        (void)close(file);
    return status;
}

/* Looked at before it is opened: opening alone makes some devices do something. */
enum qs_status
qs_out_open(struct qs_out_file *file, const char *path, struct qs_error *err)
{
    struct stat about;

    *file = (struct qs_out_file){.descriptor = -1};
    if (stat(path, &about) == 0 && !S_ISREG(about.st_mode))
        return refuse_kind(about.st_mode, err);
    return open_ordinary(&file->descriptor, path, err);
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

size_t
qs_out_read(struct qs_out_file *file, void *into, size_t size)
{
    unsigned char *next = into;
    size_t all = 0;

    while (file->reason == 0 && all < size) {
        ssize_t got = read(file->descriptor, next + all, size - all);

        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            (void)keep_reason(file, errno);
        if (got <= 0)
            break;
        all += (size_t)got;
    }
    return all;
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

/* Some file systems cannot flush and say so: nothing is known to be wrong then. */
bool
qs_out_flush(struct qs_out_file *file)
{
    int result;

    if (file->reason != 0)
        return false;
    do
        result = fsync(file->descriptor);
    while (result != 0 && errno == EINTR);
    return result == 0 || errno == EINVAL || errno == ENOTSUP ||
           keep_reason(file, errno);
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
        return qs_fail(err, QS_ERR_WRITE,
                       "It could not be written: the library that makes such files "
                       "gave up and does not say why; if memory is short, close other "
                       "programs, and else choose another compression.");
    errno = file->reason;
    return qs_fail_write(err);
}

enum qs_status
qs_out_finish(struct qs_out_file *file, struct qs_error *err)
{
    (void)qs_out_flush(file); /* what went wrong is kept */
    qs_out_close(file);
    return file->reason == 0 ? QS_OK : qs_out_fail(file, err);
}
