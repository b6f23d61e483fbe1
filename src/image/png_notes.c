/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/png_notes.h"

#include <string.h>

#include "base/memory.h"

/* After the keyword: its end, not compressed, compression method 0, no language and no
   translated keyword, each ended by a zero (PNG 3rd edition, 11.3.3.4). */
static const char itxt_head[] = QS_PNG_XMP_KEYWORD "\0\0\0\0";

static enum qs_status
xmp_chunk(const struct qs_note *xmp, struct qs_png_chunk *chunk, struct qs_error *err)
{
    size_t head = sizeof itxt_head; /* the closing zero is the fifth */
    uint8_t *bytes = qs_alloc(head + xmp->size, 1);

    if (bytes == NULL)
        return qs_fail_memory(err);
    memcpy(bytes, itxt_head, head);
    memcpy(bytes + head, xmp->bytes, xmp->size);
    *chunk = (struct qs_png_chunk){"iTXt", bytes, head + xmp->size};
    return QS_OK;
}

/* The same notes without XMP.  Lists and values stay the caller's, but for the main
   list, which is to be freed. */
static enum qs_status
without_xmp(const struct qs_notes *notes, struct qs_notes *out, struct qs_error *err)
{
    const struct qs_note_list *all = &notes->at[QS_NOTES_PICTURE];
    struct qs_note_list *kept = &out->at[QS_NOTES_PICTURE];

    *out = *notes;
    kept->notes = qs_alloc(all->count, sizeof *kept->notes);
    kept->count = 0;
    if (kept->notes == NULL)
        return qs_fail_memory(err);
    for (size_t i = 0; i < all->count; i++)
        if (all->notes[i].tag != QS_NOTE_XMP)
            kept->notes[kept->count++] = all->notes[i];
    return QS_OK;
}

static enum qs_status
exif_chunk(const struct qs_notes *notes, int orientation, struct qs_png_chunk *chunk,
           struct qs_error *err)
{
    struct qs_notes rest;
    enum qs_status status = without_xmp(notes, &rest, err);

    if (status != QS_OK)
        return status;
    memcpy(chunk->name, "eXIf", sizeof chunk->name);
    status = qs_notes_stream(&rest, orientation, &chunk->bytes, &chunk->size, err);
    qs_free(rest.at[QS_NOTES_PICTURE].notes);
    return status;
}

static bool
is_empty(const struct qs_notes *notes)
{
    for (int place = 0; place < QS_NOTE_PLACES; place++)
        if (notes->at[place].count > 0)
            return false;
    return true;
}

enum qs_status
qs_png_notes_chunks(const struct qs_notes *notes, int orientation,
                    struct qs_png_chunk chunks[QS_PNG_NOTE_CHUNKS], int *count,
                    struct qs_error *err)
{
    static const struct qs_notes none;
    const struct qs_note_list *list;
    enum qs_status status = QS_OK;

    notes = notes != NULL ? notes : &none;
    list = &notes->at[QS_NOTES_PICTURE];
    *count = 0;
    if (!is_empty(notes) || orientation != 1) {
        status = exif_chunk(notes, orientation, &chunks[0], err);
        *count = status == QS_OK ? 1 : 0;
    }
    for (size_t i = 0; i < list->count && status == QS_OK; i++)
        if (list->notes[i].tag == QS_NOTE_XMP) {
            status = xmp_chunk(&list->notes[i], &chunks[*count], err);
            *count += status == QS_OK ? 1 : 0;
        }
    if (status != QS_OK) {
        qs_png_chunks_free(chunks, *count);
        *count = 0;
    }
    return status;
}

void
qs_png_chunks_free(struct qs_png_chunk *chunks, int count)
{
    for (int i = 0; i < count; i++)
        qs_free(chunks[i].bytes);
}
