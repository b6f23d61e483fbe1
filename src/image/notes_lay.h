/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * notes_lay.h - notes laid out as the directories of a TIFF stream
 *
 * Private to this folder.  Layouts: TIFF 6.0, section 2, and BigTIFF as libtiff
 * documents it; numbers in the machine's byte order.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_IMAGE_NOTES_LAY_H
#define QS_IMAGE_NOTES_LAY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "image/notes.h"

/* Directories as they will stand in a file, from offset `at` on. */
struct qs_laid_notes {
    uint8_t *bytes; /* freed with qs_free */
    size_t size;
    uint64_t directory; /* offset in the file of the main one */
};

/* Bytes of an entry of a directory, and of the number of entries before the first. */
size_t
qs_entry_bytes(bool is_big);

size_t
qs_entry_count_bytes(bool is_big);

/*
 * Lays out all notes for a file, classic or BigTIFF, at the even offset `at`.  The main
 * directory also gets the `count` entries in `entries`, which are in the file's own
 * form already.
 *
 *   QS_OK            *out is filled
 *   QS_ERR_MEMORY    out->bytes is NULL
 */
QS_MUST_CHECK enum qs_status
qs_notes_lay(const struct qs_notes *notes, bool is_big, uint64_t at,
             const uint8_t *entries, size_t count, struct qs_laid_notes *out,
             struct qs_error *err);

#endif
