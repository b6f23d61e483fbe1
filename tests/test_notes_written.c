/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Notes in whole files, looked at by other programs: exiftool, which knows what tags
 * may stand where and what they contradict, and tiffinfo (general-purpose references).
 * Skipped where neither is.
 */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "check_main.h"
#include "image/notes_true.h"
#include "image/tiff_write.h"
#include "image_check.h"
#include "writer_check.h"

enum {
    BYTE = 1,
    TEXT = 2,
    SHORT = 3,
    LONG = 4,
    RATIONAL = 5,
    UNDEFINED = 7,
    RESOURCES = 34377
};

static const char xmp[] =
    "<?xpacket begin='\xEF\xBB\xBF' id='W5M0MpCehiHzreSzNTczkc9d'?>"
    "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF "
    "xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><rdf:Description "
    "rdf:about='' xmlns:tiff='http://ns.adobe.com/tiff/1.0/' "
    "xmlns:exif='http://ns.adobe.com/exif/1.0/' "
    "xmlns:dc='http://purl.org/dc/elements/1.1/' "
    "tiff:ImageWidth='6000' tiff:ImageLength='4000' tiff:Orientation='8' "
    "tiff:XResolution='72/1' exif:PixelXDimension='6000' dc:format='image/x-raw'>"
    "<exif:PixelYDimension>4000</exif:PixelYDimension></rdf:Description></rdf:RDF>"
    "</x:xmpmeta><?xpacket end='w'?>";

/* An address, an editor's resolution at 72 per inch, and a preview. */
static const char resources[] =
    "8BIM\x04\x0b\0\0\0\0\0\4urls"
    "8BIM\x03\xed\0\0\0\0\0\x10\0\x48\0\0\0\1\0\1\0\x48\0\0\0\1\0\1"
    "8BIM\x04\x0c\0\0\0\0\0\4jpeg";

static const char iptc[] = "\x1c\2\5\0\5title\0\0";

static const uint16_t one_short = 1, iso = 3200, wide = 6000, high = 4000;
static const uint32_t time_s[] = {1, 50}, place[] = {48, 1, 8, 1, 3000, 100};

/* Directory, tag, type, values: Exif 2.3 (CIPA DC-008), 4.6. */
static const struct tag {
    enum qs_note_place place;
    uint16_t tag, type;
    const void *bytes;
    size_t size;
} tags[] = {
    {QS_NOTES_PICTURE, 271, TEXT, "Glassroom", 10},
    {QS_NOTES_PICTURE, 272, TEXT, "One", 4},
    {QS_NOTES_PICTURE, QS_NOTE_XMP, BYTE, xmp, sizeof xmp - 1},
    {QS_NOTES_PICTURE, 0x83BB, LONG, iptc, sizeof iptc - 1},
    {QS_NOTES_PICTURE, RESOURCES, BYTE, resources, sizeof resources - 1},
    {QS_NOTES_EXIF, 0x829A, RATIONAL, time_s, sizeof time_s},
    {QS_NOTES_EXIF, 0x8827, SHORT, &iso, 2},
    {QS_NOTES_EXIF, 0x9000, UNDEFINED, "0230", 4},
    {QS_NOTES_EXIF, 0x9003, TEXT, "2024:06:01 12:00:00", 20},
    {QS_NOTES_EXIF, 0x9101, UNDEFINED, "\1\2\3", 4},
    {QS_NOTES_EXIF, 0xA000, UNDEFINED, "0100", 4},
    {QS_NOTES_EXIF, 0xA001, SHORT, &one_short, 2},
    {QS_NOTES_EXIF, 0xA002, SHORT, &wide, 2},
    {QS_NOTES_EXIF, 0xA003, SHORT, &high, 2},
    {QS_NOTES_GPS, 0, BYTE, "\2\3\0", 4},
    {QS_NOTES_GPS, 1, TEXT, "N", 2},
    {QS_NOTES_GPS, 2, RATIONAL, place, sizeof place},
    {QS_NOTES_INTEROP, 1, TEXT, "R98", 4},
    {QS_NOTES_INTEROP, 2, UNDEFINED, "0100", 4},
};

static bool
can_run(const char *command)
{
    char line[128];

    (void)snprintf(line, sizeof line, "command -v %s >/dev/null", command);
    return system(line) == 0;
}

/* What a command says, both ways; the caller frees. */
static char *
answer(const char *command, const char *path)
{
    char line[256];
    char *text = calloc(1, 65536);
    FILE *pipe;

    (void)snprintf(line, sizeof line, "%s %s 2>&1", command, path);
    pipe = popen(line, "r");
    ck_assert_ptr_nonnull(pipe);
    (void)fread(text, 1, 65535, pipe);
    (void)pclose(pipe);
    return text;
}

static void
write_with_notes(const char *path, struct qs_picture_plan plan)
{
    struct qs_notes notes = {0};
    struct qs_error err = {0};
    uint8_t *codes = noise_of(&plan);

    for (size_t i = 0; i < sizeof tags / sizeof tags[0]; i++)
        ck_assert_int_eq(qs_notes_set_bytes(&notes.at[tags[i].place], tags[i].tag,
                                            tags[i].type, tags[i].bytes, tags[i].size,
                                            &err),
                         QS_OK);
    ck_assert_int_eq(qs_notes_make_true(&notes, &plan, &err), QS_OK);
    ck_assert_uint_eq(notes.unread, 0);
    plan.notes = &notes;
    write_by_one(path, &plan, codes);
    qs_notes_free(&notes);
    free(codes);
}

static struct qs_picture_plan
plan_of(enum qs_file_format format, bool has_alpha)
{
    return (struct qs_picture_plan){.width = 40,
                                    .height = 30,
                                    .channels = 3,
                                    .bits = 16,
                                    .alpha =
                                        has_alpha ? QS_ALPHA_STRAIGHT : QS_ALPHA_NONE,
                                    .format = format,
                                    .compression = QS_COMPRESS_DEFLATE,
                                    .ppi = 300.0,
                                    .orientation = 1};
}
/* `tags` of the file: at least one, and every one says `wanted`. */
static void
all_say(const char *path, const char *tags_asked, const char *wanted)
{
    char command[128], *said, *line;
    int count = 0;

    (void)snprintf(command, sizeof command, "exiftool -m -n -a -s3 %s", tags_asked);
    said = answer(command, path);
    for (line = strtok(said, "\r\n"); line != NULL; line = strtok(NULL, "\r\n")) {
        ck_assert_msg(strcmp(line, wanted) == 0, "%s: %s, not %s", tags_asked, line,
                      wanted);
        count++;
    }
    ck_assert_msg(count > 0, "%s: nothing", tags_asked);
    free(said);
}

static void
says_nothing_of(const char *path, const char *command, const char *word)
{
    char *said = answer(command, path);

    ck_assert_msg(strstr(said, word) == NULL, "%s: %s", word, said);
    free(said);
}

/* Errors, and warnings of a file's build; others are about what tags a file should
   have had in the first place. */
static void
exiftool_finds_no_fault(const char *path)
{
    static const char *const words[] = {"Error",   "Bad",          "Suspicious",
                                        "overlap", "sequence",     "runcated",
                                        "Corrupt", "Invalid size", "ThumbnailImage"};

    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        says_nothing_of(path, "exiftool -validate -warning -error -a -s", words[i]);
    says_nothing_of(path, "exiftool -a -s", "Thumbnail");
    says_nothing_of(path, "exiftool -a -s", "6000");
}

/* No two places of the file contradict each other. */
static void
exiftool_agrees(const char *path, const char *mime)
{
    exiftool_finds_no_fault(path);
    all_say(path, "-ImageWidth -ExifImageWidth", "40");
    all_say(path, "-ImageHeight -ExifImageHeight", "30");
    all_say(path, "-XResolution -YResolution", "300");
    all_say(path, "-Orientation", "1");
    all_say(path, "-Format -MIMEType", mime);
    all_say(path, "-Make", "Glassroom");
    all_say(path, "-ISO", "3200");
    all_say(path, "-ObjectName", "title");
}

START_TEST(exiftool_finds_all_true)
{
    char path[64];

    if (!can_run("exiftool"))
        return;
    scratch_file(path);
    for (int alpha = 0; alpha < 2; alpha++) {
        write_with_notes(path, plan_of(QS_FILE_TIFF, alpha != 0));
        exiftool_agrees(path, "image/tiff");
        write_with_notes(path, plan_of(QS_FILE_PNG, alpha != 0));
        exiftool_agrees(path, "image/png");
    }
    unlink(path);
}
END_TEST

/* exiftool 12.57 takes GPS tags of a BigTIFF for others: only faults are asked for. */
START_TEST(a_bigtiff_too)
{
    char path[64];

    if (!can_run("exiftool"))
        return;
    scratch_file(path);
    qs_tiff_set_classic_limit(0);
    write_with_notes(path, plan_of(QS_FILE_TIFF, false));
    qs_tiff_set_classic_limit(QS_TIFF_CLASSIC_BYTES);
    exiftool_finds_no_fault(path);
    all_say(path, "-ImageWidth -ExifImageWidth", "40");
    all_say(path, "-XResolution -YResolution", "300");
    unlink(path);
}
END_TEST

/* It reads every strip too. */
START_TEST(tiffinfo_finds_no_fault)
{
    char path[64];

    if (!can_run("tiffinfo"))
        return;
    scratch_file(path);
    for (int big = 0; big < 2; big++) {
        qs_tiff_set_classic_limit(big != 0 ? 0 : QS_TIFF_CLASSIC_BYTES);
        write_with_notes(path, plan_of(QS_FILE_TIFF, big != 0));
        says_nothing_of(path, "tiffinfo -d", "rror");
        says_nothing_of(path, "tiffinfo -d", "6000");
    }
    qs_tiff_set_classic_limit(QS_TIFF_CLASSIC_BYTES);
    unlink(path);
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {exiftool_finds_all_true, a_bigtiff_too,
                                  tiffinfo_finds_no_fault};

    if (!can_run("exiftool") && !can_run("tiffinfo"))
        return QS_TEST_SKIPPED;
    return qs_run_tests("notes_written", tests, sizeof tests / sizeof tests[0]);
}
