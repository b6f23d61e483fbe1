/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/write_reason.h"

#include <errno.h>
#include <stddef.h>
#include <string.h>

static const struct reason {
    int number;
    const char *text;
} reasons[] = {
    {EACCES, "you may not write there; choose a folder of your own"},
    {EPERM, "you may not write there; choose a folder of your own"},
    {EROFS, "nothing can be written on that disk; choose another place"},
    {ENOENT, "the folder does not exist; create it first"},
    {ENOTDIR, "a part of its path is a file, not a folder; check the path"},
    {EISDIR, "it is a folder; name a file in it"},
    {ENAMETOOLONG, "the name is too long; choose a shorter one"},
    {ENOSPC, "the disk is full; make room, or choose another place"},
    {EFBIG, "it is larger than this disk, or this account, allows a file to be; choose "
            "another place"},
    {EDQUOT, "your share of the disk is used up; make room, or choose another place"},
    {EPIPE, "the program that was reading it has stopped"},
};

enum qs_status
qs_fail_write(struct qs_error *err)
{
    const int number = errno != 0 ? errno : EIO;

    for (size_t i = 0; i < sizeof reasons / sizeof reasons[0]; i++)
        if (reasons[i].number == number)
            return qs_fail(err, QS_ERR_WRITE, "It could not be written: %s.",
                           reasons[i].text);
    return qs_fail(err, QS_ERR_WRITE, "It could not be written: %s.", strerror(number));
}
