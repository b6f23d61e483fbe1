/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/xmp_true.h"

#include <expat.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

/* Between the parts of a name, as Expat gives it; no XML can hold it. */
#define MARK "\1"

#define RDF "http://www.w3.org/1999/02/22-rdf-syntax-ns#" MARK
#define TIFF "http://ns.adobe.com/tiff/1.0/" MARK
#define EXIF "http://ns.adobe.com/exif/1.0/" MARK
#define XMP "http://ns.adobe.com/xap/1.0/" MARK
#define DC "http://purl.org/dc/elements/1.1/" MARK

#define SPACES " \t\r\n"

/* Rationals of EXIF are two numbers below 2^32. */
#define PARTS_OF_PPI 10000.0

enum {
    TEXT_BYTES = 64,
    MOST_NAME_BYTES = 128
};

/* What a property is held against. */
enum truth {
    WIDTH,
    HEIGHT,
    ORIENTATION,
    RESOLUTION,
    RESOLUTION_UNIT,
    COMPRESSION,
    SAMPLES,
    MEANING,
    PLANES,
    FORMAT,
    DEPTHS,
    NEVER, /* no value is true */
    TRUTHS
};

static const struct rule {
    const char *name; /* namespace, mark, name */
    enum truth truth;
} rules[] = {
    {TIFF "ImageWidth", WIDTH},
    {TIFF "ImageLength", HEIGHT},
    {EXIF "PixelXDimension", WIDTH},
    {EXIF "PixelYDimension", HEIGHT},
    {TIFF "Orientation", ORIENTATION},
    {TIFF "XResolution", RESOLUTION},
    {TIFF "YResolution", RESOLUTION},
    {TIFF "ResolutionUnit", RESOLUTION_UNIT},
    {TIFF "Compression", COMPRESSION},
    {TIFF "SamplesPerPixel", SAMPLES},
    {TIFF "PhotometricInterpretation", MEANING},
    {TIFF "PlanarConfiguration", PLANES},
    {TIFF "BitsPerSample", DEPTHS},
    {DC "format", FORMAT},
    {XMP "Thumbnails", NEVER},
    {TIFF "YCbCrSubSampling", NEVER},
    {TIFF "YCbCrPositioning", NEVER},
    {TIFF "YCbCrCoefficients", NEVER},
    {EXIF "ComponentsConfiguration", NEVER},
    {EXIF "CompressedBitsPerPixel", NEVER},
};

/* Bytes of the packet, and what comes in their place. */
struct edit {
    size_t start, end;
    const char *text; /* one of struct reading's truths; "" = nothing */
};

/* The property element that is open, if it is one of the rules'. */
struct property {
    const struct rule *rule; /* NULL = none */
    size_t start;            /* of its start tag */
    size_t inside;           /* behind that */
    bool is_plain;           /* neither attributes nor elements in it */
    char text[TEXT_BYTES];   /* its letters, cut if longer */
    size_t text_size;
};

struct reading {
    XML_Parser parser;
    const uint8_t *packet;
    char truths[TRUTHS][TEXT_BYTES]; /* as a packet says them; "" = no value is true */
    int depth;
    int rdf_depth; /* of rdf:RDF, below 0 = not in it */
    bool in_description;
    struct property property;
    struct edit *edits;
    size_t edit_count, edit_room;
    bool out_of_memory;
};

/* ---- what is true ---- */

static void
say_number(char into[TEXT_BYTES], int number)
{
    (void)snprintf(into, TEXT_BYTES, "%d", number);
}

static void
say_ppi(char into[TEXT_BYTES], double ppi)
{
    bool is_whole = ppi == floor(ppi);

    (void)snprintf(into, TEXT_BYTES, "%.0f/%.0f", is_whole ? ppi : ppi * PARTS_OF_PPI,
                   is_whole ? 1.0 : PARTS_OF_PPI);
}

/* Numbers as in TIFF's tags 274, 296, 259, 277, 262, 284: TIFF 6.0, section 8. */
static void
say_truths(char truths[TRUTHS][TEXT_BYTES], const struct qs_picture_plan *plan)
{
    int samples = plan->channels + (plan->alpha != QS_ALPHA_NONE ? 1 : 0);

    say_number(truths[WIDTH], plan->width);
    say_number(truths[HEIGHT], plan->height);
    say_number(truths[ORIENTATION], plan->orientation);
    if (plan->ppi > 0.0) {
        say_ppi(truths[RESOLUTION], plan->ppi);
        say_number(truths[RESOLUTION_UNIT], 2);
    }
    if (plan->format == QS_FILE_TIFF)
        say_number(truths[COMPRESSION],
                   qs_compression_kind(plan->compression)->tiff_tag);
    say_number(truths[SAMPLES], samples);
    say_number(truths[MEANING], plan->channels == 3 ? 2 : 1);
    say_number(truths[PLANES], 1);
    (void)strcpy(truths[FORMAT],
                 plan->format == QS_FILE_TIFF ? "image/tiff" : "image/png");
    for (int i = 0; i < samples; i++)
        (void)snprintf(truths[DEPTHS] + strlen(truths[DEPTHS]), 4, "%s%d",
                       i > 0 ? " " : "", plan->bits);
}

/* The same words, whatever space is around and between them. */
static bool
same_words(const char *a, const char *b)
{
    size_t length_a, length_b;

    do {
        a += strspn(a, SPACES);
        b += strspn(b, SPACES);
        length_a = strcspn(a, SPACES);
        length_b = strcspn(b, SPACES);
        if (length_a != length_b || memcmp(a, b, length_a) != 0)
            return false;
        a += length_a;
        b += length_b;
    } while (length_a > 0);
    return true;
}

/* "300/1" is as true as "3000000/10000". */
static bool
same_ratio(const char *a, const char *b)
{
    double top[2], bottom[2];

    return sscanf(a, "%lf/%lf", &top[0], &bottom[0]) == 2 &&
           sscanf(b, "%lf/%lf", &top[1], &bottom[1]) == 2 &&
           top[0] * bottom[1] == top[1] * bottom[0] && bottom[0] > 0.0;
}

static bool
is_true(const struct reading *reading, enum truth truth, const char *text)
{
    const char *wanted = reading->truths[truth];

    if (wanted[0] == '\0')
        return false;
    return same_words(text, wanted) ||
           (truth == RESOLUTION && same_ratio(text, wanted));
}

/* ---- edits ---- */

static void
add_edit(struct reading *reading, size_t start, size_t end, const char *text)
{
    if (reading->edit_count == reading->edit_room) {
        size_t room = 2 * reading->edit_room + 8;
        struct edit *more = qs_realloc(reading->edits, room, sizeof *more);

        if (more == NULL) {
            reading->out_of_memory = true;
            (void)XML_StopParser(reading->parser, XML_FALSE);
            return;
        }
        reading->edits = more;
        reading->edit_room = room;
    }
    reading->edits[reading->edit_count++] = (struct edit){start, end, text};
}

static bool
is_space(uint8_t letter)
{
    return letter == ' ' || letter == '\t' || letter == '\r' || letter == '\n';
}

/* Takes bytes away, and the space before them. */
static void
add_removal(struct reading *reading, size_t start, size_t end)
{
    while (start > 0 && is_space(reading->packet[start - 1]))
        start--;
    add_edit(reading, start, end, "");
}

/* ---- attributes ---- */

static const struct rule *
rule_of(const char *name)
{
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        size_t length = strlen(rules[i].name);

        /* the prefix follows, if there is one */
        if (strncmp(name, rules[i].name, length) == 0 &&
            (name[length] == '\0' || name[length] == MARK[0]))
            return &rules[i];
    }
    return NULL;
}

/* Where an attribute stands in its tag. */
struct place {
    size_t name, value, value_end;
};

/*
 * Finds "prefix:name" among the attributes of the tag that Expat is at.  It has found
 * the tag to be well-formed: every name is followed by "=" and a value in quotes.
 */
static bool
find_attribute(const struct reading *reading, const char *name, struct place *place)
{
    const uint8_t *packet = reading->packet;
    size_t at = (size_t)XML_GetCurrentByteIndex(reading->parser);
    size_t end = at + (size_t)XML_GetCurrentByteCount(reading->parser);
    size_t length = strlen(name);

    while (at < end && !is_space(packet[at]))
        at++;
    while (at < end) {
        bool is_it;

        while (at < end && is_space(packet[at]))
            at++;
        place->name = at;
        is_it = end - at > length && memcmp(packet + at, name, length) == 0 &&
                (packet[at + length] == '=' || is_space(packet[at + length]));
        while (at < end && packet[at] != '"' && packet[at] != '\'')
            at++;
        place->value = at + 1;
        for (at++; at < end && packet[at] != packet[place->value - 1];)
            at++;
        place->value_end = at++;
        if (is_it && at <= end)
            return true;
    }
    return false;
}

/* "prefix:name" of Expat's namespace, name and prefix; false where it is too long. */
static bool
written_name(const char *name, char into[MOST_NAME_BYTES])
{
    const char *local = strchr(name, MARK[0]) + 1;
    const char *prefix = strchr(local, MARK[0]);
    int written;

    if (prefix == NULL)
        return false;
    written = snprintf(into, MOST_NAME_BYTES, "%s:%.*s", prefix + 1,
                       (int)(prefix - local), local);
    return written > 0 && written < MOST_NAME_BYTES;
}

static void
check_attribute(struct reading *reading, const char *name, const char *value)
{
    const struct rule *rule = rule_of(name);
    char written[MOST_NAME_BYTES];
    struct place place;

    if (rule == NULL || is_true(reading, rule->truth, value) ||
        !written_name(name, written) || !find_attribute(reading, written, &place))
        return;
    if (reading->truths[rule->truth][0] == '\0' || rule->truth == DEPTHS)
        add_removal(reading, place.name, place.value_end + 1);
    else
        add_edit(reading, place.value, place.value_end, reading->truths[rule->truth]);
}

/* ---- elements ---- */

static bool
is_named(const char *name, const char *wanted)
{
    size_t length = strlen(wanted);

    return strncmp(name, wanted, length) == 0 &&
           (name[length] == '\0' || name[length] == MARK[0]);
}

static void
open_property(struct reading *reading, const char *name, bool has_attributes)
{
    size_t start = (size_t)XML_GetCurrentByteIndex(reading->parser);

    reading->property = (struct property){
        .rule = rule_of(name),
        .start = start,
        .inside = start + (size_t)XML_GetCurrentByteCount(reading->parser),
        .is_plain = !has_attributes};
}

static void
add_text(struct property *property, const char *text, size_t size)
{
    size_t room = TEXT_BYTES - 1 - property->text_size;

    memcpy(property->text + property->text_size, text, size < room ? size : room);
    property->text_size += size < room ? size : room;
}

static void
close_property(struct reading *reading)
{
    struct property *property = &reading->property;
    const struct rule *rule = property->rule;
    size_t end = (size_t)XML_GetCurrentByteIndex(reading->parser);
    bool can_be_true, can_be_set;

    if (rule == NULL)
        return;
    property->rule = NULL;
    can_be_true = property->is_plain || rule->truth == DEPTHS;
    can_be_set = property->is_plain && rule->truth != DEPTHS &&
                 reading->truths[rule->truth][0] != '\0' && property->inside < end;
    if (can_be_true && is_true(reading, rule->truth, property->text))
        return;
    if (can_be_set)
        add_edit(reading, property->inside, end, reading->truths[rule->truth]);
    else
        add_removal(reading, property->start,
                    end + (size_t)XML_GetCurrentByteCount(reading->parser));
}

static void
start_element(void *context, const char *name, const char **attributes)
{
    struct reading *reading = context;
    int below = reading->rdf_depth >= 0 ? reading->depth - reading->rdf_depth : 0;

    if (reading->rdf_depth < 0 && reading->depth <= 1 && is_named(name, RDF "RDF"))
        reading->rdf_depth = reading->depth;
    else if (below == 1)
        reading->in_description = is_named(name, RDF "Description");
    else if (below == 2 && reading->in_description)
        open_property(reading, name, attributes[0] != NULL);
    else if (below > 2)
        reading->property.is_plain = false;
    for (; below == 1 && reading->in_description && *attributes != NULL;
         attributes += 2)
        check_attribute(reading, attributes[0], attributes[1]);
    reading->depth++;
}

static void
end_element(void *context, const char *name)
{
    struct reading *reading = context;
    int below;

    (void)name;
    reading->depth--;
    below = reading->depth - reading->rdf_depth;
    if (reading->rdf_depth < 0)
        return;
    if (below == 0)
        reading->rdf_depth = -1;
    else if (below == 2)
        close_property(reading);
    else if (below > 2)
        add_text(&reading->property, " ", 1); /* ends a member of a list */
}

static void
take_text(void *context, const char *text, int size)
{
    struct reading *reading = context;

    add_text(&reading->property, text, (size_t)size);
}

static void
refuse_doctype(void *context, const char *name, const char *system, const char *public,
               int has_subset)
{
    struct reading *reading = context;

    (void)name;
    (void)system;
    (void)public;
    (void)has_subset;
    (void)XML_StopParser(reading->parser, XML_FALSE);
}

/* ---- the whole packet ---- */

/* Expat's allocator has no context, and Expat does not always name a failed allocation
   as the cause (2.5.0: "unbound prefix"); so it is remembered here. */
static _Thread_local bool ran_out;

static void *
take_memory(size_t size)
{
    void *memory = qs_alloc(size, 1);

    ran_out = ran_out || memory == NULL;
    return memory;
}

static void *
grow_memory(void *memory, size_t size)
{
    void *more = qs_realloc(memory, size, 1);

    ran_out = ran_out || more == NULL;
    return more;
}

static int
by_start(const void *a, const void *b)
{
    const struct edit *first = a, *second = b;

    return (first->start > second->start) - (first->start < second->start);
}

static void
splice(const struct reading *reading, size_t size, uint8_t *into, size_t *into_size)
{
    size_t from = 0, to = 0;

    for (size_t i = 0; i < reading->edit_count; i++) {
        const struct edit *edit = &reading->edits[i];
        size_t length = strlen(edit->text);

        memcpy(into + to, reading->packet + from, edit->start - from);
        to += edit->start - from;
        memcpy(into + to, edit->text, length);
        to += length;
        from = edit->end;
    }
    memcpy(into + to, reading->packet + from, size - from);
    *into_size = to + size - from;
}

static enum qs_status
apply(struct reading *reading, size_t size, uint8_t **out, size_t *out_size,
      struct qs_error *err)
{
    if (reading->edit_count == 0)
        return QS_OK;
    qsort(reading->edits, reading->edit_count, sizeof *reading->edits, by_start);
    *out = qs_alloc(size + reading->edit_count * TEXT_BYTES, 1);
    if (*out == NULL)
        return qs_fail_memory(err);
    splice(reading, size, *out, out_size);
    return QS_OK;
}

/* Zeros in the midst are no XML in a code whose bytes we could edit. */
static bool
read_packet(struct reading *reading, size_t size)
{
    XML_SetUserData(reading->parser, reading);
    XML_SetReturnNSTriplet(reading->parser, 1);
    XML_SetElementHandler(reading->parser, start_element, end_element);
    XML_SetCharacterDataHandler(reading->parser, take_text);
    XML_SetStartDoctypeDeclHandler(reading->parser, refuse_doctype);
    while (size > 0 && reading->packet[size - 1] == 0)
        size--;
    if (size > QS_NOTES_MOST_BYTES || memchr(reading->packet, 0, size) != NULL)
        return false;
    return XML_Parse(reading->parser, (const char *)reading->packet, (int)size, 1) ==
           XML_STATUS_OK;
}

enum qs_status
qs_xmp_make_true(const uint8_t *packet, size_t size, const struct qs_picture_plan *plan,
                 uint8_t **out, size_t *out_size, bool *is_sound, struct qs_error *err)
{
    static const XML_Memory_Handling_Suite memory = {take_memory, grow_memory, qs_free};
    struct reading reading = {.packet = packet, .rdf_depth = -1};
    enum qs_status status = QS_OK;

    *out = NULL;
    *out_size = 0;
    *is_sound = false;
    ran_out = false;
    reading.parser = XML_ParserCreate_MM(NULL, &memory, MARK);
    if (reading.parser == NULL)
        return qs_fail_memory(err);
    say_truths(reading.truths, plan);
    *is_sound = read_packet(&reading, size);
    if (!*is_sound && (ran_out || reading.out_of_memory))
        status = qs_fail_memory(err);
    else if (*is_sound)
        status = apply(&reading, size, out, out_size, err);
    XML_ParserFree(reading.parser);
    qs_free(reading.edits);
    return status;
}
