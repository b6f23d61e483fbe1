/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * picture_format.h - what a file format has to offer to be written by writer.c
 *
 * Private to this folder.  Statuses are those of the qs_writer_ calls.
 */
#ifndef QS_IMAGE_PICTURE_FORMAT_H
#define QS_IMAGE_PICTURE_FORMAT_H

#include "image/strip_pack.h"
#include "image/writer.h"

struct qs_picture_format {
    /*
     * Creates the file and writes what comes before the pixels.  On failure nothing
     * is left open and *state is not touched.
     */
    enum qs_status (*open)(const char *path, const struct qs_picture_plan *plan,
                           int strip_rows, void **state, struct qs_error *err);

    /* Fills owned, or bytes alone with the codes given, and size, plain_size and check
       of *out; else leaves it alone. */
    enum qs_status (*pack)(const struct qs_strip *strip,
                           enum qs_compression compression, bool is_first, bool is_last,
                           struct qs_packed *out, struct qs_error *err);

    /* Writes a strip; they come in order. */
    enum qs_status (*put)(void *state, const struct qs_packed *packed,
                          struct qs_error *err);

    /* Writes what comes after the pixels, and checks that the file could be closed. */
    enum qs_status (*finish)(void *state, const char *seal, struct qs_error *err);

    /* Closes, if open, and frees. */
    void (*free)(void *state);
};

#endif
