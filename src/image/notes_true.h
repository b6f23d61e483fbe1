/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * notes_true.h - what a file says of its picture, made true for a delivery
 *
 * Sides in EXIF, in XMP and, with orientation and resolution, wherever else they are
 * said; previews, which show the old picture, are taken out.  What is not said is not
 * added.  Of XMP, tiff:BitsPerSample and tiff:Compression are left alone: readers go
 * by the file itself.
 *
 * Threads: notes belong to one thread at a time.
 */
#ifndef QS_IMAGE_NOTES_TRUE_H
#define QS_IMAGE_NOTES_TRUE_H

#include "base/status.h"
#include "image/notes.h"

struct qs_notes_truth {
    int width; /* pixels */
    int height;
    int orientation; /* 1 to 8 */
    double ppi;      /* 0 = not said */
};

/* QS_OK, or QS_ERR_MEMORY: some notes may be as they were. */
QS_MUST_CHECK enum qs_status
qs_notes_make_true(struct qs_notes *notes, const struct qs_notes_truth *truth,
                   struct qs_error *err);

#endif
