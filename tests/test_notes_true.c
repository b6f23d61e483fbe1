/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Notes made true of a smaller picture.  What is expected of XMP packets and of image
 * resources is written out by hand; that a packet stays well-formed is checked by
 * xmllint (libxml2, a general-purpose reference), where it is.
 */
#include "image/notes_true.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/random.h"
#include "check_main.h"
#include "image/resources.h"
#include "image/xmp_true.h"
#include "image_check.h"

static const struct qs_picture_plan plan = {.width = 1500,
                                            .height = 1000,
                                            .channels = 3,
                                            .bits = 16,
                                            .format = QS_FILE_TIFF,
                                            .compression = QS_COMPRESS_DEFLATE,
                                            .ppi = 300.0,
                                            .orientation = 1};

/* One line each: a packet's head, its foot, a description's namespaces. */
#define HEAD                                                                           \
    "\xEF\xBB\xBF<?xpacket begin='\xEF\xBB\xBF' id='W5M0MpCehiHzreSzNTczkc9d'?>\n"     \
    "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF "                                    \
    "xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>"
#define FOOT "</rdf:RDF></x:xmpmeta>\n          \n<?xpacket end='w'?>"
#define SPACES_OF                                                                      \
    " xmlns:tiff='http://ns.adobe.com/tiff/1.0/'"                                      \
    " xmlns:exif=\"http://ns.adobe.com/exif/1.0/\""                                    \
    " xmlns:xmp='http://ns.adobe.com/xap/1.0/'"                                        \
    " xmlns:dc='http://purl.org/dc/elements/1.1/'"                                     \
    " xmlns:xmpMM='http://ns.adobe.com/xap/1.0/mm/'"                                   \
    " xmlns:g='http://ns.adobe.com/xap/1.0/g/img/'"

static void
is_well_formed(const uint8_t *bytes, size_t size)
{
    char path[64], command[128];

    if (system("xmllint --version >/dev/null 2>&1") != 0)
        return;
    while (size > 0 && bytes[size - 1] == 0)
        size--;
    scratch_file(path);
    write_bytes(path, bytes, size);
    (void)snprintf(command, sizeof command, "xmllint --noout %s", path);
    ck_assert_int_eq(system(command), 0);
    unlink(path);
}

/* NULL for `after`: the packet is to stay. */
static void
becomes(const struct qs_picture_plan *of, const char *before, const char *after)
{
    size_t size = 0;
    uint8_t *made;
    bool is_sound = false;
    struct qs_error err = {0};

    is_well_formed((const uint8_t *)before, strlen(before));
    ck_assert_int_eq(qs_xmp_make_true((const uint8_t *)before, strlen(before), of,
                                      &made, &size, &is_sound, &err),
                     QS_OK);
    ck_assert(is_sound);
    if (after == NULL) {
        ck_assert_ptr_null(made);
        return;
    }
    ck_assert_ptr_nonnull(made);
    ck_assert_msg(size == strlen(after) && memcmp(made, after, size) == 0,
                  "made:\n%.*s\nwanted:\n%s", (int)size, (const char *)made, after);
    is_well_formed(made, size);
    qs_free(made);
}

/* In both forms, either quotes, any space; what is not of the pixels stays. */
static const char both_forms[] = HEAD
    "<rdf:Description rdf:about='' a:b='tiff:ImageWidth=\"1\"' "
    "xmlns:a='urn:a'" SPACES_OF
    " tiff:ImageWidth=\"6000\"\n   tiff:ImageLength = '4000' tiff:Make='Glass > room'"
    " tiff:Orientation='6'/>\n"
    " <rdf:Description rdf:about=''" SPACES_OF ">\n"
    "  <exif:PixelXDimension>6000</exif:PixelXDimension>\n"
    "  <exif:PixelYDimension\n>\n40&#48;0 </exif:PixelYDimension >\n"
    "  <tiff:XResolution>240/1</tiff:XResolution>\n"
    "  <tiff:YResolution><![CDATA[2400000/10000]]></tiff:YResolution>\n"
    "  <tiff:ResolutionUnit>3</tiff:ResolutionUnit>\n"
    "  <dc:format>image/jpeg</dc:format>\n"
    "  <!-- <tiff:ImageWidth>6000</tiff:ImageWidth> -->\n"
    "  <tiff:BitsPerSample><rdf:Seq><rdf:li>8</rdf:li><rdf:li>8</rdf:li>"
    "<rdf:li>8</rdf:li></rdf:Seq></tiff:BitsPerSample>\n"
    "  <xmp:Thumbnails><rdf:Alt><rdf:li rdf:parseType='Resource'>"
    "<g:image>AAAA</g:image></rdf:li></rdf:Alt></xmp:Thumbnails>\n"
    "  <xmpMM:Pantry><rdf:Bag><rdf:li><rdf:Description"
    " tiff:ImageLength='77'><tiff:ImageWidth>77</tiff:ImageWidth></rdf:Description>"
    "</rdf:li></rdf:Bag></xmpMM:Pantry>\n"
    " </rdf:Description>" FOOT;

static const char both_forms_true[] = HEAD
    "<rdf:Description rdf:about='' a:b='tiff:ImageWidth=\"1\"' "
    "xmlns:a='urn:a'" SPACES_OF
    " tiff:ImageWidth=\"1500\"\n   tiff:ImageLength = '1000' tiff:Make='Glass > room'"
    " tiff:Orientation='1'/>\n"
    " <rdf:Description rdf:about=''" SPACES_OF ">\n"
    "  <exif:PixelXDimension>1500</exif:PixelXDimension>\n"
    "  <exif:PixelYDimension\n>1000</exif:PixelYDimension >\n"
    "  <tiff:XResolution>300/1</tiff:XResolution>\n"
    "  <tiff:YResolution>300/1</tiff:YResolution>\n"
    "  <tiff:ResolutionUnit>2</tiff:ResolutionUnit>\n"
    "  <dc:format>image/tiff</dc:format>\n"
    "  <!-- <tiff:ImageWidth>6000</tiff:ImageWidth> -->\n"
    "  <xmpMM:Pantry><rdf:Bag><rdf:li><rdf:Description"
    " tiff:ImageLength='77'><tiff:ImageWidth>77</tiff:ImageWidth></rdf:Description>"
    "</rdf:li></rdf:Bag></xmpMM:Pantry>\n"
    " </rdf:Description>" FOOT;

START_TEST(both_forms_are_made_true)
{
    becomes(&plan, both_forms, both_forms_true);
    becomes(&plan, both_forms_true, NULL);
}
END_TEST

/* Equal ratios, lists of the true depth, and space do not make it untrue. */
START_TEST(what_is_true_stays)
{
    becomes(&plan,
            HEAD "<rdf:Description" SPACES_OF " tiff:ImageWidth=' 1500 '"
                 " tiff:XResolution='3000000/10000'><tiff:BitsPerSample><rdf:Seq>"
                 "<rdf:li>16</rdf:li> <rdf:li>16</rdf:li><rdf:li>16</rdf:li></rdf:Seq>"
                 "</tiff:BitsPerSample></rdf:Description>" FOOT,
            NULL);
    becomes(&plan, "<a/>", NULL);
}
END_TEST

/* Prefixes are only a custom: the namespace says whose a property is. */
START_TEST(namespaces_count_and_not_prefixes)
{
    becomes(&plan,
            HEAD "<rdf:Description xmlns:t='http://ns.adobe.com/tiff/1.0/'"
                 " xmlns:tiff='urn:other' tiff:ImageWidth='6000' t:ImageWidth='6000'>"
                 "<tiff:ImageLength>4000</tiff:ImageLength>"
                 "<ImageLength xmlns='http://ns.adobe.com/tiff/1.0/'>4000</ImageLength>"
                 "</rdf:Description>" FOOT,
            HEAD "<rdf:Description xmlns:t='http://ns.adobe.com/tiff/1.0/'"
                 " xmlns:tiff='urn:other' tiff:ImageWidth='6000' t:ImageWidth='1500'>"
                 "<tiff:ImageLength>4000</tiff:ImageLength>"
                 "<ImageLength xmlns='http://ns.adobe.com/tiff/1.0/'>1000</ImageLength>"
                 "</rdf:Description>" FOOT);
}
END_TEST

START_TEST(what_has_no_true_value_is_dropped)
{
    struct qs_picture_plan png = plan;

    png.format = QS_FILE_PNG;
    png.ppi = 0.0;
    becomes(&png,
            HEAD "<rdf:Description" SPACES_OF " tiff:Compression='5'"
                 " tiff:XResolution='300/1' tiff:Model='M' tiff:ResolutionUnit='2'>\n"
                 "<tiff:YResolution>300/1</tiff:YResolution>\n"
                 "<tiff:ImageWidth rdf:value='6000'/><tiff:Orientation/>"
                 "</rdf:Description>" FOOT,
            HEAD "<rdf:Description" SPACES_OF " tiff:Model='M'>"
                 "</rdf:Description>" FOOT);
    png.ppi = 254.3;
    becomes(&png, HEAD "<rdf:Description" SPACES_OF " tiff:XResolution='300/1'/>" FOOT,
            HEAD "<rdf:Description" SPACES_OF
                 " tiff:XResolution='2543000/10000'/>" FOOT);
}
END_TEST

/* In memory of its very size, so that a step beyond is noticed by the sanitizers. */
static void
survives(const void *bytes, size_t size, bool *is_sound)
{
    uint8_t *exact = malloc(size > 0 ? size : 1), *made, *again;
    struct qs_error err = {0};
    size_t made_size;

    memcpy(exact, bytes, size);
    ck_assert_int_eq(
        qs_xmp_make_true(exact, size, &plan, &made, &made_size, is_sound, &err), QS_OK);
    if (made != NULL) { /* once made true, it is true */
        bool still = false;

        ck_assert(*is_sound);
        ck_assert_int_eq(
            qs_xmp_make_true(made, made_size, &plan, &again, &size, &still, &err),
            QS_OK);
        ck_assert(still);
        ck_assert_ptr_null(again);
    }
    qs_free(made);
    free(exact);
}

START_TEST(damaged_packets_stay)
{
    const size_t whole = (size_t)(strstr(both_forms, "</x:xmpmeta>") - both_forms) +
                         strlen("</x:xmpmeta>");
    char packet[sizeof both_forms];
    struct qs_random random;
    bool is_sound = false;

    for (size_t size = 0; size < whole; size++) {
        survives(both_forms, size, &is_sound);
        ck_assert(!is_sound);
    }
    qs_random_seed(&random, 11);
    for (int i = 0; i < 4000; i++) {
        memcpy(packet, both_forms, sizeof packet);
        for (int k = 0; k <= i % 3; k++)
            packet[(size_t)(qs_random_even(&random) * (sizeof packet - 1))] =
                "<>='\"/:&; \n\x80\xff ax01"[(size_t)(qs_random_even(&random) * 19)];
        survives(packet, sizeof packet - 1, &is_sound);
    }
}
END_TEST

START_TEST(odd_packets_stay)
{
    static const char doctype[] =
        "<!DOCTYPE a [<!ENTITY b '6000'>]><a xmlns='urn:a'>&b;</a>";
    char packet[sizeof both_forms + 10] = {0}, wide[2 * sizeof both_forms];
    bool is_sound = true;

    survives(doctype, sizeof doctype - 1, &is_sound);
    ck_assert(!is_sound);
    for (size_t i = 0; i < sizeof wide; i++) /* UTF-16, low byte first */
        wide[i] = (char)(i % 2 == 0 ? (both_forms + 3)[i / 2 % 500] : 0);
    survives(wide, sizeof wide, &is_sound);
    ck_assert(!is_sound);
    memcpy(packet, both_forms, sizeof both_forms);
    survives(packet, sizeof packet, &is_sound); /* zeros behind it */
    ck_assert(is_sound);
    packet[400] = 0;
    survives(packet, sizeof packet, &is_sound);
    ck_assert(!is_sound);
}
END_TEST

START_TEST(memory_may_run_out)
{
    enum qs_status status = QS_ERR_MEMORY;

    for (long n = 0; status != QS_OK; n++) {
        struct qs_error err = {0};
        uint8_t *made;
        size_t size;
        bool is_sound;

        qs_alloc_fail_at(n);
        status = qs_xmp_make_true((const uint8_t *)both_forms, strlen(both_forms),
                                  &plan, &made, &size, &is_sound, &err);
        qs_alloc_fail_at(-1);
        ck_assert(status == QS_OK || status == QS_ERR_MEMORY);
        ck_assert_int_eq(made != NULL, status == QS_OK);
        qs_free(made);
    }
}
END_TEST

/* ---- image resources ---- */

#define RESOURCE(number, name, size) "8BIM" number name "\0\0\0" size
#define CAPTION RESOURCE("\x04\x04", "\0\0", "\3") "abc\0"
#define NAMED RESOURCE("\x07\xd0", "\6my way\0", "\2") "xy"
#define PREVIEW RESOURCE("\x04\x0c", "\0\0", "\5") "jpegs\0"
#define OLD_PREVIEW RESOURCE("\x04\x09", "\0\0", "\4") "jpeg"
#define OTHERS "MeSa\x04\x0c\0\0\0\0\0\2zz"
/* 72 and 300 pixels per inch in 65536ths; units 1 and 2. */
#define AT_72                                                                          \
    RESOURCE("\x03\xed", "\0\0", "\x10") "\0\x48\0\0\0\1\0\2\0\x48\0\0\0\1\0\2"
#define AT_300                                                                         \
    RESOURCE("\x03\xed", "\0\0", "\x10") "\1\x2c\0\0\0\1\0\2\1\x2c\0\0\0\1\0\2"

static void
resources_become(const char *before, size_t size, double ppi, const char *after,
                 size_t after_size)
{
    uint8_t *exact = malloc(size), *made;
    size_t made_size;
    bool is_sound = false;
    struct qs_error err = {0};

    memcpy(exact, before, size);
    ck_assert_int_eq(
        qs_resources_make_true(exact, size, ppi, &made, &made_size, &is_sound, &err),
        QS_OK);
    ck_assert(is_sound);
    if (after == NULL)
        ck_assert_ptr_null(made);
    else {
        ck_assert_uint_eq(made_size, after_size);
        ck_assert_mem_eq(made, after, after_size);
    }
    qs_free(made);
    free(exact);
}

#define BYTES(text) text, sizeof(text) - 1

START_TEST(resources_are_made_true)
{
    resources_become(BYTES(CAPTION AT_72 PREVIEW NAMED OLD_PREVIEW OTHERS), 300.0,
                     BYTES(CAPTION AT_300 NAMED OTHERS));
    resources_become(BYTES(CAPTION AT_72 NAMED "\0\0\0"), 0.0,
                     BYTES(CAPTION NAMED "\0\0\0"));
    resources_become(BYTES(AT_72), 1e5, BYTES(""));
    resources_become(BYTES(CAPTION AT_300 NAMED), 300.0, NULL, 0);
    /* the last lacks the zero that makes it even */
    resources_become(BYTES(PREVIEW RESOURCE("\x04\x04", "\0\0", "\3") "abc"), 300.0,
                     BYTES(RESOURCE("\x04\x04", "\0\0", "\3") "abc"));
}
END_TEST

START_TEST(damaged_resources_stay)
{
    static const char whole[] = CAPTION AT_72 PREVIEW NAMED;

    for (size_t size = 1; size < sizeof whole - 1; size++) {
        uint8_t *exact = malloc(size), *made;
        size_t made_size;
        bool is_sound;
        struct qs_error err = {0};

        memcpy(exact, whole, size);
        ck_assert_int_eq(qs_resources_make_true(exact, size, 300.0, &made, &made_size,
                                                &is_sound, &err),
                         QS_OK);
        ck_assert(is_sound || made == NULL);
        qs_free(made);
        free(exact);
    }
}
END_TEST

/* ---- all of it ---- */

static void
put(struct qs_notes *notes, enum qs_note_place place, uint16_t tag, uint16_t type,
    const void *bytes, size_t size)
{
    struct qs_error err = {0};

    ck_assert_int_eq(
        qs_notes_set_bytes(&notes->at[place], tag, type, bytes, size, &err), QS_OK);
}

START_TEST(all_notes_are_made_true)
{
    struct qs_notes notes = {0};
    struct qs_error err = {0};
    const struct qs_note *note;
    uint32_t number = 0;

    put(&notes, QS_NOTES_EXIF, 0x9101, 7, "\1\2\3", 4);
    put(&notes, QS_NOTES_EXIF, 0xA002, 3, "\x70\x17", 2);
    put(&notes, QS_NOTES_EXIF, 0x9286, 7, "kept", 4);
    put(&notes, QS_NOTES_PICTURE, QS_NOTE_XMP, 1, both_forms, strlen(both_forms));
    put(&notes, QS_NOTES_PICTURE, 34377, 7, BYTES(PREVIEW));
    ck_assert_int_eq(qs_notes_make_true(&notes, &plan, &err), QS_OK);
    ck_assert_uint_eq(notes.at[QS_NOTES_EXIF].count, 2);
    note = qs_notes_find(&notes.at[QS_NOTES_EXIF], 0xA002);
    memcpy(&number, note->bytes, note->size);
    ck_assert_uint_eq(number, 1500);
    note = qs_notes_find(&notes.at[QS_NOTES_PICTURE], QS_NOTE_XMP);
    ck_assert_uint_eq(note->size, strlen(both_forms_true));
    ck_assert_mem_eq(note->bytes, both_forms_true, note->size);
    ck_assert_ptr_null(qs_notes_find(&notes.at[QS_NOTES_PICTURE], 34377));
    ck_assert_uint_eq(notes.unread, 0);
    put(&notes, QS_NOTES_PICTURE, QS_NOTE_XMP, 1, "<x", 2);
    put(&notes, QS_NOTES_PICTURE, 34377, 7, "8BIM", 4);
    ck_assert_int_eq(qs_notes_make_true(&notes, &plan, &err), QS_OK);
    ck_assert_uint_eq(notes.unread, 2);
    ck_assert_uint_eq(notes.at[QS_NOTES_PICTURE].count, 2);
    qs_notes_free(&notes);
}
END_TEST

QS_TEST_MAIN("notes_true", both_forms_are_made_true, what_is_true_stays,
             namespaces_count_and_not_prefixes, what_has_no_true_value_is_dropped,
             damaged_packets_stay, odd_packets_stay, memory_may_run_out,
             resources_are_made_true, damaged_resources_stay, all_notes_are_made_true)
