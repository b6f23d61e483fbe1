/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Tags carried from file to file: a stream written down by hand in either byte order
 * (layout of TIFF 6.0, section 2; tags of CIPA DC-008, Exif 2.3), and real files, whose
 * tags libtiff finds again (general-purpose reference library).
 */
#include "image/notes.h"

#include <stdlib.h>
#include <string.h>
#include <tiffio.h>
#include <unistd.h>

#include "base/memory.h"
#include "check_main.h"
#include "image/image.h"
#include "image/tiff_write.h"
#include "image/writer.h"
#include "image_check.h"

/* A stream as it grows. */
struct stream {
    unsigned char bytes[512];
    size_t size;
    bool big_endian;
};

static void
number_at(struct stream *s, size_t at, uint32_t value, size_t width)
{
    for (size_t i = 0; i < width; i++)
        s->bytes[s->big_endian ? at + width - 1 - i : at + i] =
            (unsigned char)(value >> 8 * i);
    if (at + width > s->size)
        s->size = at + width;
}

static void
entry_at(struct stream *s, size_t at, uint16_t tag, uint16_t type, uint32_t count,
         uint32_t value)
{
    number_at(s, at, tag, 2);
    number_at(s, at + 2, type, 2);
    number_at(s, at + 4, count, 4);
    number_at(s, at + 8, value, type == 3 && count == 1 ? 2 : 4);
}

/* Main: width (of the file), maker, EXIF, GPS. EXIF: time, ISO, maker note, interop. */
static struct stream
by_hand(bool big_endian)
{
    struct stream s = {.big_endian = big_endian};

    memcpy(s.bytes, big_endian ? "MM" : "II", 2);
    number_at(&s, 2, 42, 2);
    number_at(&s, 4, 8, 4);
    number_at(&s, 8, 4, 2);
    entry_at(&s, 10, 256, 4, 1, 4000);
    entry_at(&s, 22, 271, 2, 10, 400);
    entry_at(&s, 34, 0x8769, 4, 1, 100);
    entry_at(&s, 46, 0x8825, 4, 1, 200);
    number_at(&s, 58, 0, 4);
    memcpy(s.bytes + 400, "Glassroom", 10);
    number_at(&s, 100, 4, 2);
    entry_at(&s, 102, 0x829A, 5, 1, 420);
    entry_at(&s, 114, 0x8827, 3, 1, 3200);
    entry_at(&s, 126, 0x927C, 7, 5, 430);
    entry_at(&s, 138, 0xA005, 4, 1, 300);
    number_at(&s, 150, 0, 4);
    number_at(&s, 420, 1, 4);
    number_at(&s, 424, 50, 4);
    memcpy(s.bytes + 430, "\1\2\3\4\5", 5);
    number_at(&s, 200, 1, 2);
    entry_at(&s, 202, 2, 5, 3, 440);
    number_at(&s, 214, 0, 4);
    for (uint32_t i = 0; i < 6; i++)
        number_at(&s, 440 + 4 * i, 10 + i, 4);
    number_at(&s, 300, 2, 2);
    entry_at(&s, 302, 1, 2, 4, 0);
    memcpy(s.bytes + 310, "R98", 4);
    entry_at(&s, 314, 2, 7, 4, 0);
    memcpy(s.bytes + 322, "0100", 4);
    number_at(&s, 326, 0, 4);
    s.size = 480;
    return s;
}

static struct qs_notes
notes_in(const void *bytes, size_t size)
{
    struct qs_exif_memory memory = {bytes, size};
    struct qs_exif_stream stream;
    struct qs_notes notes;
    struct qs_error err = {0};

    ck_assert(
        qs_exif_start(&stream, (struct qs_exif_source){qs_exif_read_memory, &memory}));
    ck_assert_int_eq(qs_notes_read(&stream, stream.first_directory, &notes, &err),
                     QS_OK);
    return notes;
}

static uint32_t
number_in(struct qs_notes *notes, enum qs_note_place place, uint16_t tag, size_t index)
{
    const struct qs_note *note = qs_notes_find(&notes->at[place], tag);
    uint32_t value = 0;

    ck_assert_ptr_nonnull(note);
    ck_assert_uint_ge(note->size, 4 * index + (note->type == 3 ? 2 : 4));
    if (note->type == 3) {
        uint16_t half;

        memcpy(&half, note->bytes, 2);
        return half;
    }
    memcpy(&value, note->bytes + 4 * index, 4);
    return value;
}

static void
all_there(struct qs_notes *notes)
{
    const size_t counts[QS_NOTE_PLACES] = {1, 3, 1, 2};

    for (int place = 0; place < QS_NOTE_PLACES; place++)
        ck_assert_uint_eq(notes->at[place].count, counts[place]);
    ck_assert_uint_eq(notes->lost, 0);
    ck_assert_str_eq(
        (const char *)qs_notes_find(&notes->at[QS_NOTES_PICTURE], 271)->bytes,
        "Glassroom");
    ck_assert_uint_eq(number_in(notes, QS_NOTES_EXIF, 0x829A, 0), 1);
    ck_assert_uint_eq(number_in(notes, QS_NOTES_EXIF, 0x829A, 1), 50);
    ck_assert_uint_eq(number_in(notes, QS_NOTES_EXIF, 0x8827, 0), 3200);
    ck_assert_mem_eq(qs_notes_find(&notes->at[QS_NOTES_EXIF], 0x927C)->bytes,
                     "\1\2\3\4\5", 5);
    for (uint32_t i = 0; i < 6; i++)
        ck_assert_uint_eq(number_in(notes, QS_NOTES_GPS, 2, i), 10 + i);
    ck_assert_mem_eq(qs_notes_find(&notes->at[QS_NOTES_INTEROP], 1)->bytes, "R98", 4);
}

START_TEST(test_stream_and_back)
{
    for (int big_endian = 0; big_endian < 2; big_endian++) {
        struct stream s = by_hand(big_endian);
        struct qs_notes notes = notes_in(s.bytes, s.size), again;
        struct qs_error err = {0};
        uint8_t *bytes;
        size_t size;

        all_there(&notes);
        ck_assert_int_eq(qs_notes_stream(&notes, 1, &bytes, &size, &err), QS_OK);
        again = notes_in(bytes, size);
        all_there(&again); /* orientation is the writer's */
        qs_free(bytes);
        qs_notes_free(&again);
        qs_notes_free(&notes);
    }
}
END_TEST

START_TEST(test_cut_anywhere)
{
    const struct stream s = by_hand(false);

    for (size_t size = 8; size < s.size; size++) {
        struct qs_notes notes = notes_in(s.bytes, size);

        qs_notes_free(&notes);
    }
}
END_TEST

START_TEST(test_set_and_drop)
{
    struct stream s = by_hand(true);
    struct qs_notes notes = notes_in(s.bytes, s.size);
    struct qs_note_list *exif = &notes.at[QS_NOTES_EXIF];
    struct qs_error err = {0};

    ck_assert_int_eq(qs_notes_set_number(exif, 0x8827, 400, &err), QS_OK);
    ck_assert_int_eq(qs_notes_set_number(exif, 0xA002, 1500, &err), QS_OK);
    ck_assert_int_eq(qs_notes_set_number(exif, 0x0001, 7, &err), QS_OK);
    ck_assert_uint_eq(exif->count, 5);
    for (size_t i = 1; i < exif->count; i++)
        ck_assert_uint_lt(exif->notes[i - 1].tag, exif->notes[i].tag);
    ck_assert_uint_eq(number_in(&notes, QS_NOTES_EXIF, 0x8827, 0), 400);
    qs_notes_drop(exif, 0x927C);
    qs_notes_drop(exif, 0x927C);
    ck_assert_uint_eq(exif->count, 4);
    ck_assert_ptr_null(qs_notes_find(exif, 0x927C));
    qs_notes_free(&notes);
}
END_TEST

/* One small picture with the notes in it. */
static void
write_with(const char *path, const struct qs_notes *notes)
{
    const struct qs_picture_plan plan = {.width = 40,
                                         .height = 30,
                                         .channels = 3,
                                         .bits = 16,
                                         .format = QS_FILE_TIFF,
                                         .compression = QS_COMPRESS_DEFLATE,
                                         .orientation = 1,
                                         .notes = notes};
    uint16_t *codes = calloc((size_t)40 * 30 * 3, sizeof *codes);
    struct qs_writer *writer;
    struct qs_packed packed;
    struct qs_error err = {0};

    ck_assert_int_eq(qs_writer_open(path, &plan, &writer, &err), QS_OK);
    ck_assert_int_eq(qs_writer_pack(writer, 0, codes, 30, &packed, &err), QS_OK);
    ck_assert_int_eq(qs_writer_put(writer, &packed, &err), QS_OK);
    qs_packed_clear(&packed);
    ck_assert_int_eq(qs_writer_close(writer, NULL, &err), QS_OK);
    free(codes);
}

/* What libtiff finds in the file. */
static void
into_a_tiff(void)
{
    struct stream s = by_hand(true);
    struct qs_notes notes = notes_in(s.bytes, s.size), again;
    struct qs_image *image;
    struct qs_error err = {0};
    char path[64], *text = NULL;
    uint64_t exif = 0;
    float time_s = 0.0F;
    TIFF *tiff;

    scratch_file(path);
    write_with(path, &notes);
    tiff = TIFFOpen(path, "r");
    ck_assert_ptr_nonnull(tiff);
    ck_assert_int_eq(TIFFNumberOfDirectories(tiff), 1);
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_MAKE, &text), 1);
    ck_assert_str_eq(text, "Glassroom");
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_EXIFIFD, &exif), 1);
    ck_assert_int_eq(TIFFReadEXIFDirectory(tiff, exif), 1);
    ck_assert_int_eq(TIFFGetField(tiff, EXIFTAG_EXPOSURETIME, &time_s), 1);
    ck_assert_float_eq_tol(time_s, 0.02F, 1e-6F);
    TIFFClose(tiff);
    ck_assert_int_eq(qs_image_open(path, &image, &err), QS_OK);
    ck_assert_int_eq(qs_image_info(image)->width, 40);
    ck_assert_double_eq(qs_image_info(image)->shot.iso, 3200.0);
    ck_assert_int_eq(qs_image_notes(image, &again, &err), QS_OK);
    all_there(&again);
    qs_notes_free(&again);
    qs_image_close(image);
    qs_notes_free(&notes);
    unlink(path);
}

/* BigTIFF's version: as libtiff documents it. */
START_TEST(test_into_a_tiff)
{
    into_a_tiff();
    qs_tiff_set_classic_limit(0);
    into_a_tiff();
    qs_tiff_set_classic_limit(QS_TIFF_CLASSIC_BYTES);
}
END_TEST

/* A second directory, as cameras add for a thumbnail, is not carried. */
START_TEST(test_no_thumbnail)
{
    struct stream s = by_hand(false);
    struct qs_notes notes;
    struct qs_error err = {0};
    uint8_t *bytes;
    size_t size;

    number_at(&s, 58, 484, 4); /* behind the first directory */
    number_at(&s, 480, 0xd9ffd8ff, 4);
    number_at(&s, 484, 2, 2);
    entry_at(&s, 486, 513, 4, 1, 480);
    entry_at(&s, 498, 514, 4, 1, 4);
    number_at(&s, 508, 0, 4);
    notes = notes_in(s.bytes, s.size);
    all_there(&notes);
    ck_assert_int_eq(qs_notes_stream(&notes, 1, &bytes, &size, &err), QS_OK);
    for (size_t i = 0; i + 4 <= size; i++)
        ck_assert(memcmp(bytes + i, "\xff\xd8\xff\xd9", 4) != 0);
    qs_free(bytes);
    qs_notes_free(&notes);
}
END_TEST

QS_TEST_MAIN("notes", test_stream_and_back, test_cut_anywhere, test_set_and_drop,
             test_into_a_tiff, test_no_thumbnail)
