/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * image_reader.h - what a file format has to offer to be read as an image
 *
 * Private to this folder.  image.c picks a reader by the first bytes of the file
 * and asks it for rows by number, going forward except after a rewind.  A reader
 * skips by being asked for a later row, and starts over by being asked for an
 * earlier one.
 */
#ifndef QS_IMAGE_IMAGE_READER_H
#define QS_IMAGE_IMAGE_READER_H

#include <stdint.h>

#include "base/status.h"
#include "image/image.h"

/* No row, band of tiles or interlaced picture may need more memory than this. */
#define QS_READER_LARGEST_BYTES ((uint64_t)1 << 30)

/* Pixels; a side beyond it is taken for damage. */
#define QS_READER_LONGEST_SIDE 1000000

struct qs_image_reader {
    /*
     * Opens `path` and fills *info, which was zeroed; `with_alpha`: as
     * qs_image_open_with_alpha.  On failure nothing is left open and *state is not
     * touched.  Statuses as for qs_image_open.
     */
    enum qs_status (*open)(const char *path, bool with_alpha,
                           struct qs_image_info *info, void **state,
                           struct qs_error *err);

    /* Reads rows first ... first + rows - 1, which exist.  Statuses as qs_image_read.
     */
    enum qs_status (*read)(void *state, int first, int rows, void *into,
                           struct qs_error *err);

    /* As qs_image_notes; NULL = the format has none. */
    enum qs_status (*notes)(void *state, struct qs_notes *out, struct qs_error *err);

    /* Frees the state and what *info points to. */
    void (*close)(void *state);

    /* NULL, or whether `window` reads this very file. */
    bool (*has_windows)(const void *state);

    /* Reads the pixels of a box, row by row, from any thread.  Statuses as
     * qs_image_read.
     */
    enum qs_status (*window)(const void *state, struct qs_box box, void *into,
                             struct qs_error *err);
};

/*
 * QS_OK for a picture whose sides are 1 to QS_READER_LONGEST_SIDE pixels;
 * QS_ERR_READ for an empty one, QS_ERR_UNSUPPORTED for one too large.
 */
QS_MUST_CHECK enum qs_status
qs_reader_check_size(uint64_t width, uint64_t height, struct qs_error *err);

/*
 * QS_OK, or QS_ERR_UNSUPPORTED where more than QS_READER_LARGEST_BYTES at a time
 * would be needed for `what`, a plural such as "rows".
 */
QS_MUST_CHECK enum qs_status
qs_reader_check_bytes(uint64_t bytes, const char *what, struct qs_error *err);

/* The sentence for picture data that cannot be decoded from `row` (0 = top) on. */
enum qs_status
qs_reader_breaks_off(int row, int height, struct qs_error *err);

#endif
