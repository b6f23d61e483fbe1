/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/notes.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum {
    TYPE_LONG = 4,
    TYPE_IFD = 13,
    TYPE_LONG8 = 16,
    TYPE_SLONG8 = 17,
    TYPE_IFD8 = 18,
    FIRST_ROOM = 16
};

/* Tags that lead to a directory of notes. */
static const struct door {
    enum qs_note_place from;
    uint16_t tag;
    enum qs_note_place to;
} doors[] = {
    {QS_NOTES_PICTURE, 0x8769, QS_NOTES_EXIF},
    {QS_NOTES_PICTURE, 0x8825, QS_NOTES_GPS},
    {QS_NOTES_EXIF, 0xA005, QS_NOTES_INTEROP},
};

/* Tags of a picture's directory that say how pixels lie in that file, or how a preview
   does, or what the writer sets; ranges, both ends included. */
static const struct range {
    uint16_t first, last;
} of_the_file[] = {
    {254, 263}, /* kind of page, sides, depth, compression, meaning, thresholding */
    {264, 266}, /* halftone cell, order of bits */
    {273, 274}, /* strips, orientation */
    {277, 284}, /* samples, strips, range of codes, resolution, planes */
    {288, 293}, /* free space, grey response, fax */
    {296, 297}, /* unit of resolution, number of the page */
    {301, 301}, /* transfer function: the profile says it */
    {317,
     330}, /* predictor, white point, primaries, colour map, tiles, subdirectories */
    {338, 347},     /* extra samples, format of a sample, its range, JPEG tables */
    {512, 521},     /* JPEG, and the preview of a directory */
    {529, 532},     /* YCbCr */
    {32995, 32998}, /* kind of alpha, of a sample, depth: older ways to say them */
    {33421, 33422}, /* colour filter of a sensor's pixels */
    {34675, 34675}, /* colour profile */
    {37724, 37724}, /* an editor's layers, which it would show instead */
    {50706, 50707}, /* marks a DNG, whose pixels are read otherwise */
    {50710, 50720}, /* DNG: filter, levels, and sides of a sensor's pixels */
    {50829, 50830}, /* DNG: lit and unlit parts of the sensor */
    {51008, 51009}, /* DNG: what is still to be done to the pixels */
    {51022, 51022}, /* likewise */
    {51089, 51091}, /* DNG: sides of an older version */
    {51125, 51125}, /* DNG: a crop still to be done */
};

/* Where reading is. */
struct reading {
    const struct qs_exif_stream *stream;
    struct qs_notes *notes;
    enum qs_note_place place;
    size_t room[QS_NOTE_PLACES];
    size_t bytes; /* of all values */
    uint64_t next[QS_NOTE_PLACES];
    bool has_next[QS_NOTE_PLACES];
    enum qs_status status;
    struct qs_error *err;
};

static bool
belongs_to_file(enum qs_note_place place, uint16_t tag)
{
    for (size_t i = 0; i < sizeof of_the_file / sizeof of_the_file[0]; i++)
        if (place == QS_NOTES_PICTURE && tag >= of_the_file[i].first &&
            tag <= of_the_file[i].last)
            return true;
    return false;
}

/* True where the entry leads elsewhere, whether it is followed or not. */
static bool
is_door(struct reading *reading, const struct qs_exif_entry *entry)
{
    for (size_t i = 0; i < sizeof doors / sizeof doors[0]; i++) {
        enum qs_note_place to = doors[i].to;

        if (doors[i].from != reading->place || doors[i].tag != entry->tag)
            continue;
        if (!reading->has_next[to])
            reading->has_next[to] =
                qs_exif_offset(reading->stream, entry, &reading->next[to]);
        return true;
    }
    return entry->type == TYPE_IFD || entry->type == TYPE_IFD8;
}

static bool
is_machine_big_endian(void)
{
    const uint16_t one = 1;
    uint8_t first;

    memcpy(&first, &one, 1);
    return first == 0;
}

/* Rationals are two numbers of four bytes. */
static size_t
number_bytes(uint16_t type)
{
    return type == 5 || type == 10 ? 4 : qs_exif_type_bytes(type);
}

static void
turn_numbers(struct qs_note *note)
{
    size_t width = number_bytes(note->type);

    for (size_t i = 0; width > 1 && i + width <= note->size; i += width)
        for (size_t k = 0; k < width / 2; k++) {
            uint8_t kept = note->bytes[i + k];

            note->bytes[i + k] = note->bytes[i + width - 1 - k];
            note->bytes[i + width - 1 - k] = kept;
        }
}

/* 64-bit numbers are BigTIFF's alone: as 32-bit ones, where all of them fit. */
static bool
narrow(struct qs_note *note)
{
    if (note->type != TYPE_LONG8 && note->type != TYPE_SLONG8)
        return true;
    for (size_t i = 0; i < note->count; i++) {
        uint64_t wide;
        uint32_t value;

        memcpy(&wide, note->bytes + 8 * i, sizeof wide);
        value = (uint32_t)wide;
        if (note->type == TYPE_LONG8 ? wide != value
                                     : (int64_t)wide != (int64_t)(int32_t)value)
            return false;
        memcpy(note->bytes + 4 * i, &value, sizeof value);
    }
    note->type = note->type == TYPE_LONG8 ? TYPE_LONG : 9;
    note->size = 4 * (size_t)note->count;
    return true;
}

static bool
grow(struct qs_note_list *list, size_t *room)
{
    size_t more = *room > 0 ? 2 * *room : FIRST_ROOM;
    struct qs_note *notes;

    if (list->count < *room)
        return true;
    notes = qs_realloc(list->notes, more, sizeof *notes);
    if (notes == NULL)
        return false;
    list->notes = notes;
    *room = more;
    return true;
}

/* XMP, IPTC and resources of an editor are bytes, though some call them numbers. */
static bool
is_packet(enum qs_note_place place, uint16_t tag)
{
    return place == QS_NOTES_PICTURE &&
           (tag == QS_NOTE_XMP || tag == 0x83BB || tag == 0x8649);
}

/* Fetches the values; false where they are not all there. */
static bool
fetch(struct reading *reading, const struct qs_exif_entry *entry, struct qs_note *note)
{
    const struct qs_exif_source *source = &reading->stream->source;

    if (!source->read_at(source->context, entry->value_offset, note->bytes, note->size))
        return false;
    if (is_packet(reading->place, note->tag))
        return true;
    if (reading->stream->big_endian != is_machine_big_endian())
        turn_numbers(note);
    return narrow(note);
}

static bool
stop_for_memory(struct reading *reading)
{
    reading->status = qs_fail_memory(reading->err);
    return false;
}

static bool
take(void *context, const struct qs_exif_entry *entry)
{
    struct reading *reading = context;
    struct qs_note_list *list = &reading->notes->at[reading->place];
    struct qs_note note = {.tag = entry->tag, .type = entry->type};
    size_t width = qs_exif_type_bytes(entry->type);

    if (is_door(reading, entry) || belongs_to_file(reading->place, entry->tag) ||
        qs_notes_find(list, entry->tag) != NULL)
        return true;
    if (entry->count > (QS_NOTES_MOST_BYTES - reading->bytes) / width) {
        reading->notes->lost++;
        return true;
    }
    note.count = entry->count;
    note.size = width * (size_t)entry->count;
    note.bytes = qs_alloc(note.size, 1);
    if (note.bytes == NULL)
        return stop_for_memory(reading);
    if (!fetch(reading, entry, &note)) {
        reading->notes->lost++;
        qs_free(note.bytes);
        return true;
    }
    if (!grow(list, &reading->room[reading->place])) {
        qs_free(note.bytes);
        return stop_for_memory(reading);
    }
    list->notes[list->count++] = note;
    reading->bytes += note.size;
    return true;
}

static int
by_tag(const void *a, const void *b)
{
    const struct qs_note *first = a, *second = b;

    return (first->tag > second->tag) - (first->tag < second->tag);
}

enum qs_status
qs_notes_read(const struct qs_exif_stream *stream, uint64_t directory,
              struct qs_notes *out, struct qs_error *err)
{
    struct reading reading = {.stream = stream, .notes = out, .err = err};

    *out = (struct qs_notes){0};
    reading.next[QS_NOTES_PICTURE] = directory;
    reading.has_next[QS_NOTES_PICTURE] = true;
    for (int place = 0; place < QS_NOTE_PLACES && reading.status == QS_OK; place++) {
        struct qs_note_list *list = &out->at[place];

        reading.place = (enum qs_note_place)place;
        if (reading.has_next[place])
            qs_exif_each(stream, reading.next[place], take, &reading);
        if (list->count > 1)
            qsort(list->notes, list->count, sizeof *list->notes, by_tag);
    }
    if (reading.status != QS_OK)
        qs_notes_free(out);
    return reading.status;
}

void
qs_notes_free(struct qs_notes *notes)
{
    for (int place = 0; place < QS_NOTE_PLACES; place++) {
        for (size_t i = 0; i < notes->at[place].count; i++)
            qs_free(notes->at[place].notes[i].bytes);
        qs_free(notes->at[place].notes);
    }
    *notes = (struct qs_notes){0};
}

struct qs_note *
qs_notes_find(struct qs_note_list *list, uint16_t tag)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->notes[i].tag == tag)
            return &list->notes[i];
    return NULL;
}

void
qs_notes_drop(struct qs_note_list *list, uint16_t tag)
{
    struct qs_note *note = qs_notes_find(list, tag);
    size_t at;

    if (note == NULL)
        return;
    qs_free(note->bytes);
    at = (size_t)(note - list->notes);
    memmove(note, note + 1, (list->count - at - 1) * sizeof *note);
    list->count--;
}

/* Makes room for one note and puts it in its place. */
static enum qs_status
insert(struct qs_note_list *list, const struct qs_note *note, struct qs_error *err)
{
    struct qs_note *notes = qs_realloc(list->notes, list->count + 1, sizeof *notes);
    size_t at = list->count;

    if (notes == NULL)
        return qs_fail_memory(err);
    list->notes = notes;
    for (; at > 0 && notes[at - 1].tag > note->tag; at--)
        notes[at] = notes[at - 1];
    notes[at] = *note;
    list->count++;
    return QS_OK;
}

enum qs_status
qs_notes_set_bytes(struct qs_note_list *list, uint16_t tag, uint16_t type,
                   const void *bytes, size_t size, struct qs_error *err)
{
    struct qs_note note = {tag, type, size / qs_exif_type_bytes(type),
                           qs_alloc(size, 1), size};
    struct qs_note *old = qs_notes_find(list, tag);
    enum qs_status status;

    if (note.bytes == NULL)
        return qs_fail_memory(err);
    memcpy(note.bytes, bytes, size);
    if (old != NULL) {
        qs_free(old->bytes);
        *old = note;
        return QS_OK;
    }
    status = insert(list, &note, err);
    if (status != QS_OK)
        qs_free(note.bytes);
    return status;
}

enum qs_status
qs_notes_set_number(struct qs_note_list *list, uint16_t tag, uint32_t value,
                    struct qs_error *err)
{
    return qs_notes_set_bytes(list, tag, TYPE_LONG, &value, sizeof value, err);
}
