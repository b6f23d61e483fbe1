/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/image_reader.h"

#include <inttypes.h>

enum qs_status
qs_reader_check_size(uint64_t width, uint64_t height, struct qs_error *err)
{
    if (width == 0 || height == 0)
        return qs_fail(err, QS_ERR_READ,
                       "The file says that its picture has no pixels: it is damaged; "
                       "export it again.");
    if (width > QS_READER_LONGEST_SIDE || height > QS_READER_LONGEST_SIDE)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "The picture is said to be %" PRIu64 " x %" PRIu64
                       " pixels, and %d a side is the most that is read; export it "
                       "smaller or in parts.",
                       width, height, QS_READER_LONGEST_SIDE);
    return QS_OK;
}

enum qs_status
qs_reader_check_bytes(uint64_t bytes, const char *what, struct qs_error *err)
{
    if (bytes <= QS_READER_LARGEST_BYTES)
        return QS_OK;
    return qs_fail(err, QS_ERR_UNSUPPORTED,
                   "The picture is stored in %s that need more than 1 GiB of memory at "
                   "a time; export it again as a plain TIFF in strips.",
                   what);
}

enum qs_status
qs_reader_breaks_off(int row, int height, struct qs_error *err)
{
    return qs_fail(
        err, QS_ERR_READ,
        "The picture data breaks off at row %d of %d: the file is damaged or "
        "was not copied whole; copy or export it again.",
        row + 1, height);
}
