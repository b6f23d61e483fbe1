/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/notes_lay.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum {
    TYPE_SHORT = 3,
    TYPE_LONG = 4,
    TYPE_IFD8 = 18,
    TAG_ORIENTATION = 274,
    TAG_EXIF = 0x8769,
    TAG_GPS = 0x8825,
    TAG_INTEROP = 0xA005,
    VERSION_CLASSIC = 42,
    HEADER_BYTES = 8,
    CLASSIC_ENTRY_BYTES = 12,
    MOST_DOORS = 2
};

/* A directory that another leads to; an offset of 0 = there is none. */
struct door {
    uint16_t tag;
    uint64_t offset;
};

/* Bytes that grow; after a failure nothing is added. */
struct block {
    uint8_t *bytes;
    size_t size, room;
    uint64_t at; /* offset of the first byte in the file; even */
    bool is_big;
    bool failed;
};

static size_t
field_bytes(bool is_big)
{
    return is_big ? 8 : 4;
}

size_t
qs_entry_bytes(bool is_big)
{
    return 4 + 2 * field_bytes(is_big);
}

size_t
qs_entry_count_bytes(bool is_big)
{
    return is_big ? 8 : 2;
}

static void
add(struct block *block, const void *bytes, size_t size)
{
    if (block->failed || size == 0)
        return;
    if (size > block->room - block->size) {
        size_t room = 2 * (block->size + size);
        uint8_t *more = qs_realloc(block->bytes, room, 1);

        if (more == NULL) {
            block->failed = true;
            return;
        }
        block->bytes = more;
        block->room = room;
    }
    memcpy(block->bytes + block->size, bytes, size);
    block->size += size;
}

/* Values and directories begin at even offsets, TIFF 6.0, section 2. */
static void
make_even(struct block *block)
{
    static const uint8_t none;

    if (block->size % 2 != 0)
        add(block, &none, 1);
}

/* `value` as a whole number of 2, 4 or 8 bytes. */
static void
put_number(uint8_t *into, uint64_t value, size_t bytes)
{
    const uint16_t two = (uint16_t)value;
    const uint32_t four = (uint32_t)value;

    if (bytes == 2)
        memcpy(into, &two, 2);
    else if (bytes == 4)
        memcpy(into, &four, 4);
    else
        memcpy(into, &value, 8);
}

static uint8_t *
put_head(uint8_t *entry, uint16_t tag, uint16_t type, uint64_t count, bool is_big)
{
    put_number(entry, tag, 2);
    put_number(entry + 2, type, 2);
    put_number(entry + 4, count, field_bytes(is_big));
    return entry + 4 + field_bytes(is_big);
}

/* Short values stand in the entry itself, others before the directory. */
static void
put_note(struct block *block, const struct qs_note *note, uint8_t *entry)
{
    uint8_t *field = put_head(entry, note->tag, note->type, note->count, block->is_big);

    if (note->size <= field_bytes(block->is_big)) {
        memcpy(field, note->bytes, note->size);
        return;
    }
    make_even(block);
    put_number(field, block->at + block->size, field_bytes(block->is_big));
    add(block, note->bytes, note->size);
}

static void
put_door(const struct block *block, const struct door *door, uint8_t *entry)
{
    uint8_t *field = put_head(entry, door->tag, block->is_big ? TYPE_IFD8 : TYPE_LONG,
                              1, block->is_big);

    put_number(field, door->offset, field_bytes(block->is_big));
}

static int
by_tag(const void *a, const void *b)
{
    uint16_t first, second;

    memcpy(&first, a, sizeof first);
    memcpy(&second, b, sizeof second);
    return (first > second) - (first < second);
}

/* What a directory is made of. */
struct parts {
    const struct qs_note_list *list;
    const struct door *doors;
    size_t door_count;
    const uint8_t *entries; /* ready ones */
    size_t entry_count;
};

/* All entries, by rising tag; how many. */
static size_t
put_entries(struct block *block, const struct parts *parts, uint8_t *entries)
{
    size_t bytes = qs_entry_bytes(block->is_big), count = parts->entry_count;

    if (count > 0)
        memcpy(entries, parts->entries, count * bytes);
    for (size_t i = 0; i < parts->list->count; i++)
        put_note(block, &parts->list->notes[i], entries + count++ * bytes);
    for (size_t i = 0; i < parts->door_count; i++)
        if (parts->doors[i].offset != 0)
            put_door(block, &parts->doors[i], entries + count++ * bytes);
    qsort(entries, count, bytes, by_tag);
    return count;
}

/* Adds a directory after its values; its offset, or 0 for one without an entry. */
static uint64_t
add_directory(struct block *block, const struct parts *parts)
{
    size_t most = parts->entry_count + parts->list->count + parts->door_count;
    uint8_t *entries = qs_alloc(most, qs_entry_bytes(block->is_big)), number[8];
    uint64_t offset = 0;
    size_t count;

    if (entries == NULL) {
        block->failed = true;
        return 0;
    }
    count = put_entries(block, parts, entries);
    if (count > 0) {
        make_even(block);
        offset = block->at + block->size;
        put_number(number, count, qs_entry_count_bytes(block->is_big));
        add(block, number, qs_entry_count_bytes(block->is_big));
        add(block, entries, count * qs_entry_bytes(block->is_big));
        put_number(number, 0, field_bytes(block->is_big)); /* no directory follows */
        add(block, number, field_bytes(block->is_big));
    }
    qs_free(entries);
    return offset;
}

enum qs_status
qs_notes_lay(const struct qs_notes *notes, bool is_big, uint64_t at,
             const uint8_t *entries, size_t count, struct qs_laid_notes *out,
             struct qs_error *err)
{
    struct block block = {.at = at, .is_big = is_big};
    struct door interop = {TAG_INTEROP, 0}, main_doors[MOST_DOORS];

    assert(at % 2 == 0);
    *out = (struct qs_laid_notes){0};
    interop.offset =
        add_directory(&block, &(struct parts){.list = &notes->at[QS_NOTES_INTEROP]});
    main_doors[0] = (struct door){
        TAG_EXIF, add_directory(&block, &(struct parts){&notes->at[QS_NOTES_EXIF],
                                                        &interop, 1, NULL, 0})};
    main_doors[1] = (struct door){
        TAG_GPS,
        add_directory(&block, &(struct parts){.list = &notes->at[QS_NOTES_GPS]})};
    out->directory =
        add_directory(&block, &(struct parts){&notes->at[QS_NOTES_PICTURE], main_doors,
                                              MOST_DOORS, entries, count});
    if (block.failed) {
        qs_free(block.bytes);
        *out = (struct qs_laid_notes){0};
        return qs_fail_memory(err);
    }
    out->bytes = block.bytes;
    out->size = block.size;
    return QS_OK;
}

enum qs_status
qs_notes_stream(const struct qs_notes *notes, int orientation, uint8_t **out,
                size_t *size, struct qs_error *err)
{
    const uint16_t one = 1;
    const char *order = *(const uint8_t *)&one == 1 ? "II" : "MM";
    uint8_t entry[CLASSIC_ENTRY_BYTES] = {0}, *bytes;
    struct qs_laid_notes laid;
    enum qs_status status;

    *out = NULL;
    *size = 0;
    put_number(put_head(entry, TAG_ORIENTATION, TYPE_SHORT, 1, false),
               (uint64_t)orientation, 2);
    status = qs_notes_lay(notes, false, HEADER_BYTES, entry, 1, &laid, err);
    if (status != QS_OK)
        return status;
    bytes = qs_alloc(HEADER_BYTES + laid.size, 1);
    if (bytes == NULL) {
        qs_free(laid.bytes);
        return qs_fail_memory(err);
    }
    memcpy(bytes, order, 2);
    put_number(bytes + 2, VERSION_CLASSIC, 2);
    put_number(bytes + 4, laid.directory, 4);
    if (laid.size > 0)
        memcpy(bytes + HEADER_BYTES, laid.bytes, laid.size);
    qs_free(laid.bytes);
    *out = bytes;
    *size = HEADER_BYTES + laid.size;
    return QS_OK;
}
