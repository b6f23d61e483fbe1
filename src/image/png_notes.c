/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/png_notes.h"

#include <string.h>
#include <zlib.h>

#include "base/memory.h"

/* After the keyword: its end, not compressed, compression method 0, no language and no
   translated keyword, each ended by a zero (PNG 3rd edition, 11.3.3.4). */
static const char itxt_head[] = QS_PNG_XMP_KEYWORD "\0\0\0\0";

enum {
    TYPE_BYTE = 1,
    KEYWORD_BYTES = sizeof QS_PNG_XMP_KEYWORD /* with the closing zero */
};

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

/* Past the zero that ends a text of at most `size` bytes; NULL = there is none. */
static const uint8_t *
after_text(const uint8_t *bytes, const uint8_t *end)
{
    const uint8_t *zero = memchr(bytes, 0, (size_t)(end - bytes));

    return zero != NULL ? zero + 1 : NULL;
}

/* Room is doubled until all is there; nothing beyond QS_NOTES_MOST_BYTES is taken. */
static enum qs_status
take_compressed(const uint8_t *bytes, size_t size, struct qs_note_list *list,
                struct qs_error *err)
{
    for (size_t room = 4 * size + 1024; room <= QS_NOTES_MOST_BYTES; room *= 2) {
        uint8_t *plain = qs_alloc(room, 1);
        uLongf got = room;
        enum qs_status status = QS_OK;
        int result;

        if (plain == NULL)
            return qs_fail_memory(err);
        result = uncompress(plain, &got, bytes, size);
        if (result == Z_OK)
            status = qs_notes_set_bytes(list, QS_NOTE_XMP, TYPE_BYTE, plain, got, err);
        qs_free(plain);
        if (result == Z_MEM_ERROR)
            return qs_fail_memory(err);
        if (result != Z_BUF_ERROR)
            return status;
    }
    return QS_OK;
}

static enum qs_status
take_xmp(const uint8_t *bytes, size_t size, struct qs_notes *notes,
         struct qs_error *err)
{
    const uint8_t *end = bytes + size, *text;
    bool is_compressed;

    if (size < KEYWORD_BYTES + 2 ||
        memcmp(bytes, QS_PNG_XMP_KEYWORD, KEYWORD_BYTES) != 0)
        return QS_OK;
    is_compressed = bytes[KEYWORD_BYTES] != 0;
    text = after_text(bytes + KEYWORD_BYTES + 2, end); /* the language */
    if (text != NULL)
        text = after_text(text, end); /* the translated keyword */
    if (text == NULL || text == end)
        return QS_OK;
    if (is_compressed)
        return take_compressed(text, (size_t)(end - text), &notes->at[QS_NOTES_PICTURE],
                               err);
    return qs_notes_set_bytes(&notes->at[QS_NOTES_PICTURE], QS_NOTE_XMP, TYPE_BYTE,
                              text, (size_t)(end - text), err);
}

/* XMP that came before stays. */
static enum qs_status
take_exif(const uint8_t *bytes, size_t size, struct qs_notes *notes,
          struct qs_error *err)
{
    struct qs_exif_memory memory = {bytes, size};
    struct qs_exif_stream stream;
    struct qs_notes read;
    const struct qs_note *xmp =
        qs_notes_find(&notes->at[QS_NOTES_PICTURE], QS_NOTE_XMP);
    enum qs_status status;

    if (!qs_exif_start(&stream, (struct qs_exif_source){qs_exif_read_memory, &memory}))
        return QS_OK;
    status = qs_notes_read(&stream, stream.first_directory, &read, err);
    if (status == QS_OK && xmp != NULL)
        status = qs_notes_set_bytes(&read.at[QS_NOTES_PICTURE], QS_NOTE_XMP, TYPE_BYTE,
                                    xmp->bytes, xmp->size, err);
    if (status != QS_OK) {
        qs_notes_free(&read);
        return status;
    }
    qs_notes_free(notes);
    *notes = read;
    return QS_OK;
}

enum qs_status
qs_png_notes_take(const char *name, const uint8_t *bytes, size_t size,
                  struct qs_notes *notes, struct qs_error *err)
{
    if (memcmp(name, "eXIf", 4) == 0)
        return take_exif(bytes, size, notes, err);
    if (memcmp(name, "iTXt", 4) == 0)
        return take_xmp(bytes, size, notes, err);
    return QS_OK;
}
