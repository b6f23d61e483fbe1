/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * png_notes.h - notes as chunks of a PNG file
 *
 * Private to this folder.  XMP goes where PNG readers look for it, into an iTXt chunk;
 * all else into the eXIf chunk (PNG 3rd edition, 11.3.4.5).
 */
#ifndef QS_IMAGE_PNG_NOTES_H
#define QS_IMAGE_PNG_NOTES_H

#include "image/notes.h"

/* A chunk, written as it is. */
struct qs_png_chunk {
    char name[5]; /* four letters, and a zero */
    uint8_t *bytes;
    size_t size;
};

enum {
    QS_PNG_NOTE_CHUNKS = 2 /* at most */
};

/* How the text chunk of an XMP packet begins: its keyword (XMP specification part 3,
   1.1.5, from memory). */
#define QS_PNG_XMP_KEYWORD "XML:com.adobe.xmp"

/*
 * Makes the chunks of `notes` (NULL = none) and of the orientation, 1 to 8.
 *
 *   QS_OK           chunks[0] ... chunks[*count - 1] are to be freed by
 *                   qs_png_chunks_free
 *   QS_ERR_MEMORY   none are
 */
QS_MUST_CHECK enum qs_status
qs_png_notes_chunks(const struct qs_notes *notes, int orientation,
                    struct qs_png_chunk chunks[QS_PNG_NOTE_CHUNKS], int *count,
                    struct qs_error *err);

/*
 * Adds what a chunk read from a file says, if it is one that holds notes; a damaged one
 * adds nothing.
 *
 *   QS_OK
 *   QS_ERR_MEMORY   *notes holds what was added before
 */
QS_MUST_CHECK enum qs_status
qs_png_notes_take(const char *name, const uint8_t *bytes, size_t size,
                  struct qs_notes *notes, struct qs_error *err);

void
qs_png_chunks_free(struct qs_png_chunk *chunks, int count);

#endif
