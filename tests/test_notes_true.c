/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What notes say of their picture, made true: XMP (ISO 16684-1) by example, in every
 * form XML has for it; blocks of picture editors; broken bytes of both.
 */
#include "image/notes_true.h"

#include <string.h>

#include "base/random.h"
#include "check_main.h"
#include "image/editor_blocks.h"
#include "image/xmp_edit.h"
#include "base/memory.h"

#define RDF(text)                                                                      \
    "<?xpacket begin='' id='x'?><x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF "         \
    "xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>" text                    \
    "</rdf:RDF></x:xmpmeta>\n   <?xpacket end='w'?>"
#define TIFF_NS "xmlns:tiff=\"http://ns.adobe.com/tiff/1.0/\""

static const struct qs_xmp_value values[] = {{QS_XMP_TIFF, "ImageWidth", "300"},
                                             {QS_XMP_TIFF, "ImageLength", "20"},
                                             {QS_XMP_EXIF, "PixelXDimension", "300"}};

/* Packets, and what becomes of them; NULL = they stay as they are. */
static const struct {
    const char *packet, *wanted;
} cases[] = {
    {RDF("<rdf:Description " TIFF_NS " tiff:ImageWidth=\"6000\" tiff:Make='600'/>"),
     RDF("<rdf:Description " TIFF_NS " tiff:ImageWidth=\"300\" tiff:Make='600'/>")},
    {RDF("<rdf:Description tiff:ImageWidth = '6000'\n" TIFF_NS "></rdf:Description>"),
     RDF("<rdf:Description tiff:ImageWidth = '300'\n" TIFF_NS "></rdf:Description>")},
    {RDF("<rdf:Description " TIFF_NS "><tiff:ImageWidth>6000</tiff:ImageWidth>"
         "<tiff:ImageLength >4</tiff:ImageLength></rdf:Description>"),
     RDF("<rdf:Description " TIFF_NS "><tiff:ImageWidth>300</tiff:ImageWidth>"
         "<tiff:ImageLength >20</tiff:ImageLength></rdf:Description>")},
    {RDF("<rdf:Description xmlns:t='http://ns.adobe.com/tiff/1.0/' t:ImageWidth='1'/>"),
     RDF("<rdf:Description xmlns:t='http://ns.adobe.com/tiff/1.0/' "
         "t:ImageWidth='300'/>")},
    /* another namespace under the usual prefix, comments, and true already */
    {RDF("<rdf:Description xmlns:tiff='urn:other' tiff:ImageWidth='6000'/>"), NULL},
    {RDF("<!-- <a " TIFF_NS " tiff:ImageWidth='6000'/> -->"), NULL},
    {RDF("<rdf:Description " TIFF_NS " tiff:ImageWidth='300'/>"), NULL},
    {RDF("<a " TIFF_NS " note=\" tiff:ImageWidth='6000' >\"/>"), NULL},
    /* previews, which may hold elements of their own name */
    {RDF("<d xmlns:xmp='http://ns.adobe.com/xap/1.0/' " TIFF_NS "><xmp:Thumbnails>"
         "<xmp:Thumbnails/><rdf:Alt/></xmp:Thumbnails><tiff:ImageWidth>1"
         "</tiff:ImageWidth></d>"),
     RDF("<d xmlns:xmp='http://ns.adobe.com/xap/1.0/' " TIFF_NS ">"
         "<tiff:ImageWidth>300</tiff:ImageWidth></d>")},
    {RDF("<d xmlns:xmp='http://ns.adobe.com/xap/1.0/'><xmp:Thumbnails><rdf:Alt><rdf:li>"
         "AAAA</rdf:li></rdf:Alt></xmp:Thumbnails><xmp:Rating>4</xmp:Rating></d>"),
     RDF("<d xmlns:xmp='http://ns.adobe.com/xap/1.0/'><xmp:Rating>4</xmp:Rating></d>")},
    {RDF("<d xmlns:xmp='http://ns.adobe.com/xap/1.0/'><xmp:Thumbnails/></d>"),
     RDF("<d xmlns:xmp='http://ns.adobe.com/xap/1.0/'></d>")},
    /* not well formed */
    {"<a " TIFF_NS " tiff:ImageWidth='6000'", NULL},
    {"<a " TIFF_NS " tiff:ImageWidth=6000/>", NULL},
    {"<a " TIFF_NS "><tiff:ImageWidth>6000", NULL},
    {"", NULL},
};

START_TEST(test_packets)
{
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const char *packet = cases[i].packet, *wanted = cases[i].wanted;
        uint8_t *got;
        size_t size;

        ck_assert_int_eq(qs_xmp_edit((const uint8_t *)packet, strlen(packet), values, 3,
                                     &got, &size, NULL),
                         QS_OK);
        ck_assert_msg((got == NULL) == (wanted == NULL), "packet %zu: %.*s", i,
                      (int)size, got != NULL ? (const char *)got : "unchanged");
        if (wanted != NULL)
            ck_assert_msg(size == strlen(wanted) && memcmp(got, wanted, size) == 0,
                          "packet %zu: %.*s", i, (int)size, (const char *)got);
        qs_free(got);
    }
}
END_TEST

/* Cut at each place, and with bytes changed: nothing is read or written outside. */
START_TEST(test_broken_packets)
{
    struct qs_random random;

    qs_random_seed(&random, 5);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t length = strlen(cases[i].packet);

        for (size_t cut = 0; cut <= length; cut++) {
            uint8_t *copy = qs_alloc(cut + 1, 1), *got;
            size_t size;

            memcpy(copy, cases[i].packet, cut);
            for (int change = 0; cut > 0 && change < 3; change++) {
                static const char bytes[] = "<>/='\" :x!?-";

                ck_assert_int_eq(qs_xmp_edit(copy, cut, values, 3, &got, &size, NULL),
                                 QS_OK);
                qs_free(got);
                copy[(size_t)(qs_random_even(&random) * (double)cut)] =
                    (uint8_t)bytes[(size_t)(qs_random_even(&random) * 12.0)];
            }
            qs_free(copy);
        }
    }
}
END_TEST

/* A preview between a caption and the resolution; the last block without padding. */
static const uint8_t blocks[] = {'8', 'B', 'I', 'M', 0x04, 0x04, 0,    0,   0,
                                 0,   0,   4,   'a', 'b',  'c',  'd', /* 1028 */
                                 '8', 'B', 'I', 'M', 0x04, 0x0C, 1,    'n', 0,
                                 0,   0,   3,   1,   2,    3,    0, /* 1036 */
                                 '8', 'B', 'I', 'M', 0x03, 0xED, 0,    0,   0,
                                 0,   0,   16,  0,   72,   0,    0,    0,   1,
                                 0,   1,   0,   72,  0,    0,    0,    1,   0,
                                 1,   '8', 'B', 'I', 'M',  0x04, 0x22, 0,   0,
                                 0,   0,   0,   1,   'z'};

START_TEST(test_editor_blocks)
{
    uint8_t *got;
    size_t size;

    ck_assert_int_eq(
        qs_editor_blocks_edit(blocks, sizeof blocks, 300.5, &got, &size, NULL), QS_OK);
    ck_assert_ptr_nonnull(got);
    ck_assert_uint_eq(size, sizeof blocks - 16);
    ck_assert_int_eq(memcmp(got, blocks, 16), 0);
    ck_assert_int_eq(got[28] * 256 + got[29], 300);
    ck_assert_int_eq(got[30], 0x80);
    ck_assert_int_eq(got[36] * 256 + got[37], 300);
    ck_assert_int_eq(memcmp(got + 44, blocks + 60, 13), 0);
    qs_free(got);
    for (size_t cut = 0; cut < sizeof blocks; cut++) {
        uint8_t *copy = qs_alloc(cut + 1, 1);

        memcpy(copy, blocks, cut);
        ck_assert_int_eq(qs_editor_blocks_edit(copy, cut, 300.0, &got, &size, NULL),
                         QS_OK);
        qs_free(got);
        qs_free(copy);
    }
}
END_TEST

START_TEST(test_all_together)
{
    static const char packet[] =
        RDF("<rdf:Description " TIFF_NS " tiff:Orientation='6' tiff:XResolution='72/1' "
            "tiff:YResolution='72/1'/>");
    static const char wanted[] = RDF("<rdf:Description " TIFF_NS
                                     " tiff:Orientation='1' tiff:XResolution='300/1' "
                                     "tiff:YResolution='300/1'/>");
    const struct qs_notes_truth truth = {300, 200, 1, 300.0};
    struct qs_notes notes = {0};
    struct qs_note_list *picture = &notes.at[QS_NOTES_PICTURE];
    struct qs_note *note;

    ck_assert_int_eq(
        qs_notes_set_bytes(picture, QS_NOTE_XMP, 1, packet, sizeof packet - 1, NULL),
        QS_OK);
    ck_assert_int_eq(qs_notes_set_bytes(picture, 0x8649, 1, blocks + 16, 16, NULL),
                     QS_OK);
    ck_assert_int_eq(qs_notes_set_number(&notes.at[QS_NOTES_EXIF], 0xA002, 6000, NULL),
                     QS_OK);
    ck_assert_int_eq(qs_notes_make_true(&notes, &truth, NULL), QS_OK);
    note = qs_notes_find(picture, QS_NOTE_XMP);
    ck_assert_uint_eq(note->size, sizeof wanted - 1);
    ck_assert_int_eq(memcmp(note->bytes, wanted, note->size), 0);
    ck_assert_ptr_null(qs_notes_find(picture, 0x8649)); /* nothing is left of it */
    ck_assert_ptr_null(qs_notes_find(&notes.at[QS_NOTES_EXIF], 0xA003));
    qs_notes_free(&notes);
}
END_TEST

QS_TEST_MAIN("notes_true", test_packets, test_broken_packets, test_editor_blocks,
             test_all_together)
