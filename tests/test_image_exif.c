/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a shot says of itself: EXIF written by libtiff comes back from TIFF files,
 * and blocks made here by hand (TIFF 6.0, section 2: header, directory, types)
 * test each rule, both byte orders, and damage.  Tag numbers: CIPA DC-008.
 */
#include <math.h>
#include <stdint.h>
#include <tiffio.h>

#include "check_main.h"
#include "image/exif_shot.h"
#include "image_check.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* The block's two directories lie at fixed places, each with room for 20 entries. */
enum {
    MAIN_AT = 8,
    EXIF_AT = 300,
    DATA_AT = 600,
    BLOCK_BYTES = 2048,
    MOST_ENTRIES = 12
};

enum type {
    ASCII = 2,
    SHORT = 3,
    LONG = 4,
    RATIONAL = 5,
    SRATIONAL = 10,
    DOUBLE = 12
};

struct entry {
    int in_exif; /* else in the main directory */
    unsigned tag;
    enum type type;
    int64_t number; /* numerator of rationals; DOUBLE: thousandths */
    int64_t divisor;
    const char *text;
};

struct block {
    bool big_endian;
    unsigned char bytes[BLOCK_BYTES];
    size_t data; /* where the next long value goes */
};

static void
put(struct block *block, size_t at, uint64_t number, size_t bytes)
{
    for (size_t i = 0; i < bytes; i++) {
        size_t place = block->big_endian ? bytes - 1 - i : i;

        block->bytes[at + place] = (unsigned char)(number >> (8 * i));
    }
}

static void
put_long_value(struct block *block, const struct entry *entry)
{
    double value = (double)entry->number / 1000.0;
    uint64_t bits;

    memcpy(&bits, &value, sizeof bits);
    if (entry->type == ASCII) {
        memcpy(block->bytes + block->data, entry->text, strlen(entry->text) + 1);
        block->data += strlen(entry->text) + 1;
    } else if (entry->type == DOUBLE) {
        put(block, block->data, bits, 8);
        block->data += 8;
    } else {
        put(block, block->data, (uint64_t)entry->number, 4);
        put(block, block->data + 4, (uint64_t)entry->divisor, 4);
        block->data += 8;
    }
}

static void
put_entry(struct block *block, size_t directory, unsigned index,
          const struct entry *entry)
{
    size_t at = directory + 2 + 12 * (size_t)index;
    size_t count = entry->type == ASCII ? strlen(entry->text) + 1 : 1;

    put(block, directory, index + 1, 2);
    put(block, at, entry->tag, 2);
    put(block, at + 2, (uint64_t)entry->type, 2);
    put(block, at + 4, count, 4);
    if (entry->type == SHORT || entry->type == LONG) {
        put(block, at + 8, (uint64_t)entry->number, entry->type == SHORT ? 2 : 4);
    } else if (entry->type == ASCII && count <= 4) {
        memcpy(block->bytes + at + 8, entry->text, count);
    } else {
        put(block, at + 8, block->data, 4);
        put_long_value(block, entry);
    }
}

static void
make_block(struct block *block, bool big_endian, const struct entry *entries)
{
    static const struct entry pointer = {0, 0x8769, LONG, EXIF_AT, 1, NULL};
    unsigned in_main = 0;
    unsigned in_exif = 0;

    memset(block, 0, sizeof *block);
    block->big_endian = big_endian;
    block->data = DATA_AT;
    memcpy(block->bytes, big_endian ? "MM" : "II", 2);
    put(block, 2, 42, 2);
    put(block, 4, MAIN_AT, 4);
    put_entry(block, MAIN_AT, in_main++, &pointer);
    for (int i = 0; i < MOST_ENTRIES && entries[i].tag != 0; i++) {
        if (entries[i].in_exif)
            put_entry(block, EXIF_AT, in_exif++, &entries[i]);
        else
            put_entry(block, MAIN_AT, in_main++, &entries[i]);
    }
}

static void
read_block(const unsigned char *bytes, size_t size, struct qs_shot *shot)
{
    /* A copy of just that size, so that sanitizers see a read beyond it. */
    unsigned char *copy = malloc(size > 0 ? size : 1);
    struct qs_exif_memory memory = {copy, size};
    struct qs_exif_source source = {qs_exif_read_memory, &memory};

    ck_assert_ptr_nonnull(copy);
    memcpy(copy, bytes, size);
    qs_exif_shot(source, 0, shot);
    free(copy);
}

struct rule {
    const char *name;
    struct entry entries[MOST_ENTRIES];
    struct qs_shot expected; /* orientation 0 stands for 1 */
};

#define UNKNOWN                                                                        \
    {                                                                                  \
        0, 0, 0, false, 0, 0, ""                                                       \
    }

static const struct rule rules[] = {
    {"nothing", {{0, 0, SHORT, 0, 1, NULL}}, UNKNOWN},
    {"plain values",
     {{1, 0x8827, SHORT, 12800, 1, NULL},
      {1, 0x829A, RATIONAL, 1, 125, NULL},
      {1, 0x829D, RATIONAL, 28, 10, NULL},
      {1, 0x9204, SRATIONAL, -2, 3, NULL},
      {0, 0x0112, SHORT, 6, 1, NULL},
      {0, 0x010F, ASCII, 0, 1, "Kestrel Optical"},
      {0, 0x0110, ASCII, 0, 1, "K-7 mark 3"}},
     {12800, 0.008, 2.8, true, -2.0 / 3.0, 6, "Kestrel Optical K-7 mark 3"}},
    {"APEX: 2^-7 s, 2^(5/2)",
     {{1, 0x9201, SRATIONAL, 7, 1, NULL}, {1, 0x9202, RATIONAL, 5, 1, NULL}},
     {0, 0.0078125, 5.656854249492380, false, 0, 0, ""}},
    {"the plain value goes before APEX",
     {{1, 0x9201, SRATIONAL, 7, 1, NULL}, {1, 0x829A, RATIONAL, 1, 100, NULL}},
     {0, 0.01, 0, false, 0, 0, ""}},
    {"0 and x/0 are unknown",
     {{1, 0x8827, SHORT, 0, 1, NULL},
      {1, 0x829A, RATIONAL, 1, 0, NULL},
      {1, 0x829D, RATIONAL, 0, 0, NULL},
      {1, 0x9204, SRATIONAL, 0, 0, NULL}},
     UNKNOWN},
    {"negative is unknown", {{1, 0x829A, SRATIONAL, -1, 125, NULL}}, UNKNOWN},
    {"a bias of zero is known",
     {{1, 0x9204, SRATIONAL, 0, 1, NULL}},
     {0, 0, 0, true, 0, 0, ""}},
    {"APEX out of all bounds", {{1, 0x9201, SRATIONAL, -2000000, 1, NULL}}, UNKNOWN},
    {"ISO in the main directory alone",
     {{0, 0x8827, SHORT, 6400, 1, NULL},
      {0, 0x829A, RATIONAL, 1, 50, NULL},
      {0, 0x829D, RATIONAL, 4, 1, NULL}},
     {6400, 0.02, 4, false, 0, 0, ""}},
    {"EXIF goes before the main directory",
     {{0, 0x8827, SHORT, 100, 1, NULL}, {1, 0x8827, SHORT, 3200, 1, NULL}},
     {3200, 0, 0, false, 0, 0, ""}},
    {"ISO as LONG, and a rational of another type",
     {{1, 0x8827, LONG, 51200, 1, NULL}, {1, 0x829A, DOUBLE, 317, 1, NULL}},
     {51200, 0.317, 0, false, 0, 0, ""}},
    {"ISO as text is no number", {{1, 0x8827, ASCII, 0, 1, "800"}}, UNKNOWN},
    {"full ISO, type REI",
     {{1, 0x8827, SHORT, 65535, 1, NULL},
      {1, 0x8830, SHORT, 2, 1, NULL},
      {1, 0x8831, LONG, 90000, 1, NULL},
      {1, 0x8832, LONG, 102400, 1, NULL},
      {1, 0x8833, LONG, 80000, 1, NULL}},
     {102400, 0, 0, false, 0, 0, ""}},
    {"full ISO, type SOS",
     {{1, 0x8827, SHORT, 65535, 1, NULL},
      {1, 0x8830, SHORT, 1, 1, NULL},
      {1, 0x8831, LONG, 90000, 1, NULL},
      {1, 0x8832, LONG, 102400, 1, NULL}},
     {90000, 0, 0, false, 0, 0, ""}},
    {"full ISO, type ISO speed",
     {{1, 0x8827, SHORT, 65535, 1, NULL},
      {1, 0x8830, SHORT, 3, 1, NULL},
      {1, 0x8832, LONG, 102400, 1, NULL},
      {1, 0x8833, LONG, 80000, 1, NULL}},
     {80000, 0, 0, false, 0, 0, ""}},
    {"full ISO, type 5 lacks REI",
     {{1, 0x8827, SHORT, 65535, 1, NULL},
      {1, 0x8830, SHORT, 5, 1, NULL},
      {1, 0x8831, LONG, 204800, 1, NULL}},
     {204800, 0, 0, false, 0, 0, ""}},
    {"full ISO and a nonsense type",
     {{1, 0x8827, SHORT, 65535, 1, NULL},
      {1, 0x8830, SHORT, 999, 1, NULL},
      {1, 0x8832, LONG, 409600, 1, NULL}},
     {409600, 0, 0, false, 0, 0, ""}},
    {"full ISO and nothing more", {{1, 0x8827, SHORT, 65535, 1, NULL}}, UNKNOWN},
    {"orientation out of range", {{0, 0x0112, SHORT, 9, 1, NULL}}, UNKNOWN},
    {"orientation in EXIF is none", {{1, 0x0112, SHORT, 3, 1, NULL}}, UNKNOWN},
    {"model begins with the maker",
     {{0, 0x010F, ASCII, 0, 1, "Kestrel"}, {0, 0x0110, ASCII, 0, 1, "KESTREL K-7"}},
     {0, 0, 0, false, 0, 0, "KESTREL K-7"}},
    {"model begins with the maker's first word",
     {{0, 0x010F, ASCII, 0, 1, "KESTREL CORPORATION"},
      {0, 0x0110, ASCII, 0, 1, "KESTREL Z 9"}},
     {0, 0, 0, false, 0, 0, "KESTREL Z 9"}},
    {"a longer word is another word",
     {{0, 0x010F, ASCII, 0, 1, "Kes Works"}, {0, 0x0110, ASCII, 0, 1, "Kestrel 7"}},
     {0, 0, 0, false, 0, 0, "Kes Works Kestrel 7"}},
    {"spaces, control characters, broken UTF-8",
     {{0, 0x010F, ASCII, 0, 1, "  F\x01oo\x7f\xc2\x85\xff "},
      {0, 0x0110, ASCII, 0, 1, "\t\xc3\xa9t\xc3\xa9\xc0\xaf\xed\xa0\x80 1\xe2\x82   "}},
     {0, 0, 0, false, 0, 0, "Foo \xc3\xa9t\xc3\xa9 1"}},
    {"maker alone", {{0, 0x010F, ASCII, 0, 1, "Foo"}}, {0, 0, 0, false, 0, 0, "Foo"}},
    {"model alone", {{0, 0x0110, ASCII, 0, 1, "X1"}}, {0, 0, 0, false, 0, 0, "X1"}},
};

/* Values are ratios of small whole numbers, or powers of 2: a few roundings. */
static void
check_shot(const char *name, const struct qs_shot *got, const struct qs_shot *expected)
{
    int orientation = expected->orientation == 0 ? 1 : expected->orientation;

    ck_assert_msg(fabs(got->iso - expected->iso) <= 1e-12 * expected->iso, "%s", name);
    ck_assert_msg(fabs(got->exposure_s - expected->exposure_s) <=
                      1e-12 * expected->exposure_s,
                  "%s: %g", name, got->exposure_s);
    ck_assert_msg(fabs(got->f_number - expected->f_number) <=
                      1e-12 * expected->f_number,
                  "%s: %g", name, got->f_number);
    ck_assert_msg(got->has_exposure_bias == expected->has_exposure_bias, "%s", name);
    ck_assert_msg(fabs(got->exposure_bias_stops - expected->exposure_bias_stops) <=
                      1e-12,
                  "%s", name);
    ck_assert_msg(got->orientation == orientation, "%s", name);
    ck_assert_msg(strcmp(got->camera, expected->camera) == 0, "%s: [%s]", name,
                  got->camera);
}

START_TEST(each_rule_in_both_byte_orders)
{
    for (size_t i = 0; i < COUNT(rules); i++) {
        for (int order = 0; order < 2; order++) {
            struct block block;
            struct qs_shot shot;

            make_block(&block, order == 1, rules[i].entries);
            read_block(block.bytes, block.data, &shot);
            check_shot(rules[i].name, &shot, &rules[i].expected);
        }
    }
}
END_TEST

static bool
is_known_or_unknown(double value)
{
    return isfinite(value) && value >= 0.0;
}

static void
check_sane(const struct qs_shot *shot)
{
    ck_assert(is_known_or_unknown(shot->iso));
    ck_assert(is_known_or_unknown(shot->exposure_s));
    ck_assert(is_known_or_unknown(shot->f_number));
    ck_assert(isfinite(shot->exposure_bias_stops));
    ck_assert(shot->orientation >= 1 && shot->orientation <= 8);
    ck_assert_ptr_nonnull(memchr(shot->camera, '\0', sizeof shot->camera));
}

/* Cut at every length, and each byte of header and directories set to odd values. */
START_TEST(damage_leaves_it_sane)
{
    static const unsigned char odd[] = {0x00, 0x01, 0x7f, 0x80, 0xff};
    struct block block;
    struct qs_shot shot;

    make_block(&block, false, rules[1].entries);
    for (size_t size = 0; size <= block.data; size++) {
        read_block(block.bytes, size, &shot);
        check_sane(&shot);
    }
    for (size_t at = 0; at < DATA_AT; at++) {
        for (size_t i = 0; i < sizeof odd; i++) {
            unsigned char kept = block.bytes[at];

            block.bytes[at] = odd[i];
            read_block(block.bytes, block.data, &shot);
            check_sane(&shot);
            block.bytes[at] = kept;
        }
    }
}
END_TEST

/* Names of 200 letters: each half of the text is cut, at whole characters. */
START_TEST(long_names_are_cut_at_characters)
{
    char name[201];
    struct entry entries[MOST_ENTRIES] = {{0, 0x010F, ASCII, 0, 1, "Q"},
                                          {0, 0x0110, ASCII, 0, 1, name}};
    struct block block;
    struct qs_shot shot;
    size_t length;

    for (size_t i = 0; i < 200; i += 2)
        memcpy(name + i, "\xc3\xa9", 2);
    name[200] = '\0';
    make_block(&block, false, entries);
    read_block(block.bytes, block.data, &shot);
    length = strlen(shot.camera);
    ck_assert(memcmp(shot.camera, "Q \xc3\xa9", 4) == 0);
    ck_assert_uint_eq(length % 2, 0);
    ck_assert_uint_gt(length, 60);
    ck_assert_uint_lt(length, sizeof shot.camera);
}
END_TEST

static void
write_main_directory(TIFF *tiff)
{
    static unsigned char row[16];

    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, 16);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 1);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    TIFFSetField(tiff, TIFFTAG_MAKE, "Kestrel");
    TIFFSetField(tiff, TIFFTAG_MODEL, "K-7");
    TIFFSetField(tiff, TIFFTAG_ORIENTATION, ORIENTATION_LEFTBOT);
    ck_assert_int_eq(TIFFWriteScanline(tiff, row, 0, 0), 1);
    ck_assert_int_eq(TIFFWriteDirectory(tiff), 1);
}

static void
write_exif_directory(TIFF *tiff)
{
    static const uint16_t iso[] = {25600};
    uint64_t offset = 0;

    ck_assert_int_eq(TIFFCreateEXIFDirectory(tiff), 0);
    TIFFSetField(tiff, EXIFTAG_EXPOSURETIME, 1.0 / 317.0);
    TIFFSetField(tiff, EXIFTAG_FNUMBER, 3.17);
    TIFFSetField(tiff, EXIFTAG_ISOSPEEDRATINGS, 1, iso);
    TIFFSetField(tiff, EXIFTAG_EXPOSUREBIASVALUE, -1.25);
    ck_assert_int_eq(TIFFWriteCustomDirectory(tiff, &offset), 1);
    ck_assert_int_eq(TIFFSetDirectory(tiff, 0), 1);
    TIFFSetField(tiff, TIFFTAG_EXIFIFD, offset);
    ck_assert_int_eq(TIFFRewriteDirectory(tiff), 1);
}

START_TEST(what_libtiff_writes_comes_back)
{
    static const char *const modes[] = {"wl", "wb", "wl8", "wb8"};
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(modes); i++) {
        TIFF *tiff = TIFFOpen(path, modes[i]);
        struct picture picture;
        const struct qs_shot *shot = &picture.info.shot;

        write_main_directory(tiff);
        write_exif_directory(tiff);
        TIFFClose(tiff);
        picture_read(path, &picture);
        ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
        ck_assert_double_eq(shot->iso, 25600.0);
        /* Rationals of 32 bits each, from what may have been a float: 24 bits. */
        ck_assert_double_eq_tol(shot->exposure_s, 1.0 / 317.0, 1e-7 / 317.0);
        ck_assert_double_eq_tol(shot->f_number, 3.17, 1e-6);
        ck_assert(shot->has_exposure_bias);
        ck_assert_double_eq_tol(shot->exposure_bias_stops, -1.25, 1e-9);
        ck_assert_int_eq(shot->orientation, 8);
        ck_assert_str_eq(shot->camera, "Kestrel K-7");
        picture_clear(&picture);
    }
    (void)unlink(path);
}
END_TEST

QS_TEST_MAIN("image_exif", each_rule_in_both_byte_orders, damage_leaves_it_sane,
             long_names_are_cut_at_characters, what_libtiff_writes_comes_back)
