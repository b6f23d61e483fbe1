/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/exif_block.h"

#include <math.h>
#include <string.h>

/* No sound directory comes near; a forged one could else keep us busy for long. */
enum {
    MOST_ENTRIES = 4096
};

enum value_type {
    TYPE_BYTE = 1,
    TYPE_ASCII = 2,
    TYPE_SHORT = 3,
    TYPE_LONG = 4,
    TYPE_RATIONAL = 5,
    TYPE_SBYTE = 6,
    TYPE_UNDEFINED = 7,
    TYPE_SSHORT = 8,
    TYPE_SLONG = 9,
    TYPE_SRATIONAL = 10,
    TYPE_FLOAT = 11,
    TYPE_DOUBLE = 12,
    TYPE_IFD = 13,
    TYPE_LONG8 = 16,
    TYPE_SLONG8 = 17,
    TYPE_IFD8 = 18,
    TYPE_UTF8 = 129 /* Exif 3.0 */
};

/* Rows of directory and header differ between classic TIFF and BigTIFF. */
struct layout {
    size_t count_bytes; /* of the number of entries, before the first one */
    size_t entry_bytes;
    size_t field_bytes; /* of an entry's count, and of its value or offset */
};

static const struct layout classic_layout = {2, 12, 4};
static const struct layout big_layout = {8, 20, 8};

static const struct wanted {
    uint64_t tag;
    enum qs_exif_field field;
} wanted[] = {
    {0x010F, QS_EXIF_MAKE},
    {0x0110, QS_EXIF_MODEL},
    {0x0112, QS_EXIF_ORIENTATION},
    {0x8769, QS_EXIF_DIRECTORY},
    {0x829A, QS_EXIF_EXPOSURE_TIME},
    {0x829D, QS_EXIF_F_NUMBER},
    {0x8827, QS_EXIF_ISO},
    {0x8830, QS_EXIF_SENSITIVITY_TYPE},
    {0x8831, QS_EXIF_OUTPUT_SENSITIVITY},
    {0x8832, QS_EXIF_RECOMMENDED_EXPOSURE},
    {0x8833, QS_EXIF_ISO_SPEED},
    {0x9201, QS_EXIF_SHUTTER_SPEED},
    {0x9202, QS_EXIF_APERTURE},
    {0x9204, QS_EXIF_EXPOSURE_BIAS},
};

bool
qs_exif_read_memory(void *context, uint64_t offset, void *into, size_t bytes)
{
    const struct qs_exif_memory *memory = context;

    if (offset > memory->size || bytes > memory->size - offset)
        return false;
    memcpy(into, memory->bytes + offset, bytes);
    return true;
}

static bool
read_at(const struct qs_exif_stream *stream, uint64_t offset, void *into, size_t bytes)
{
    return stream->source.read_at(stream->source.context, offset, into, bytes);
}

/* An unsigned whole number of 1 to 8 bytes in the stream's byte order. */
static uint64_t
whole_number(const struct qs_exif_stream *stream, const unsigned char *at, size_t bytes)
{
    uint64_t number = 0;

    for (size_t i = 0; i < bytes; i++)
        number = number << 8 | at[stream->big_endian ? i : bytes - 1 - i];
    return number;
}

static int64_t
signed_number(const struct qs_exif_stream *stream, const unsigned char *at,
              size_t bytes)
{
    uint64_t number = whole_number(stream, at, bytes);
    uint64_t sign = (uint64_t)1 << (8 * bytes - 1);

    if ((number & sign) == 0)
        return (int64_t)number;
    return -(int64_t)(sign - 1 - (number & (sign - 1))) - 1;
}

bool
qs_exif_start(struct qs_exif_stream *stream, struct qs_exif_source source)
{
    unsigned char header[16];
    uint64_t version;

    stream->source = source;
    if (!read_at(stream, 0, header, 8))
        return false;
    if (memcmp(header, "II", 2) != 0 && memcmp(header, "MM", 2) != 0)
        return false;
    stream->big_endian = header[0] == 'M';
    version = whole_number(stream, header + 2, 2);
    stream->big_tiff = version == 43;
    if (version == 42) {
        stream->first_directory = whole_number(stream, header + 4, 4);
        return true;
    }
    if (!stream->big_tiff || !read_at(stream, 0, header, 16))
        return false;
    stream->first_directory = whole_number(stream, header + 8, 8);
    return true;
}

size_t
qs_exif_type_bytes(uint16_t type)
{
    switch (type) {
    case TYPE_BYTE:
    case TYPE_SBYTE:
    case TYPE_ASCII:
    case TYPE_UTF8:
    case TYPE_UNDEFINED:
        return 1;
    case TYPE_SHORT:
    case TYPE_SSHORT:
        return 2;
    case TYPE_LONG:
    case TYPE_SLONG:
    case TYPE_FLOAT:
    case TYPE_IFD:
        return 4;
    case TYPE_RATIONAL:
    case TYPE_SRATIONAL:
    case TYPE_DOUBLE:
    case TYPE_LONG8:
    case TYPE_SLONG8:
    case TYPE_IFD8:
        return 8;
    default:
        return 0;
    }
}

static double
float_number(const struct qs_exif_stream *stream, const unsigned char *at)
{
    uint32_t bits = (uint32_t)whole_number(stream, at, 4);
    float value;

    memcpy(&value, &bits, sizeof value);
    return (double)value;
}

static double
double_number(const struct qs_exif_stream *stream, const unsigned char *at)
{
    uint64_t bits = whole_number(stream, at, 8);
    double value;

    memcpy(&value, &bits, sizeof value);
    return value;
}

/* Not finite where the value is no number: x/0, infinities, NaN. */
static double
number_of(const struct qs_exif_stream *stream, uint16_t type, const unsigned char *at)
{
    switch (type) {
    case TYPE_RATIONAL:
        return (double)whole_number(stream, at, 4) /
               (double)whole_number(stream, at + 4, 4);
    case TYPE_SRATIONAL:
        return (double)signed_number(stream, at, 4) /
               (double)signed_number(stream, at + 4, 4);
    case TYPE_SBYTE:
    case TYPE_SSHORT:
    case TYPE_SLONG:
    case TYPE_SLONG8:
        return (double)signed_number(stream, at, qs_exif_type_bytes(type));
    case TYPE_FLOAT:
        return float_number(stream, at);
    case TYPE_DOUBLE:
        return double_number(stream, at);
    default:
        return (double)whole_number(stream, at, qs_exif_type_bytes(type));
    }
}

static bool
is_number(uint16_t type)
{
    return type != TYPE_ASCII && type != TYPE_UTF8 && type != TYPE_UNDEFINED;
}

static void
take_number(const struct qs_exif_stream *stream, const struct qs_exif_entry *entry,
            enum qs_exif_field field, struct qs_exif_fields *fields)
{
    unsigned char bytes[8];
    double number;

    if (!is_number(entry->type))
        return;
    if (!read_at(stream, entry->value_offset, bytes, qs_exif_type_bytes(entry->type)))
        return;
    number = number_of(stream, entry->type, bytes);
    if (!isfinite(number))
        return;
    fields->number[field] = number;
    fields->has[field] = true;
}

static void
take_text(const struct qs_exif_stream *stream, const struct qs_exif_entry *entry,
          enum qs_exif_field field, struct qs_exif_fields *fields)
{
    char *text = field == QS_EXIF_MAKE ? fields->make : fields->model;
    size_t bytes = QS_EXIF_TEXT_BYTES - 1;

    if (entry->type != TYPE_ASCII && entry->type != TYPE_UTF8)
        return;
    if (entry->count < bytes)
        bytes = (size_t)entry->count;
    fields->has[field] = read_at(stream, entry->value_offset, text, bytes);
    text[fields->has[field] ? bytes : 0] = '\0';
}

static void
take_entry(const struct qs_exif_stream *stream, const struct qs_exif_entry *entry,
           struct qs_exif_fields *fields)
{
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
        enum qs_exif_field field = wanted[i].field;

        if (wanted[i].tag != entry->tag || fields->has[field])
            continue;
        if (field == QS_EXIF_MAKE || field == QS_EXIF_MODEL)
            take_text(stream, entry, field, fields);
        else
            take_number(stream, entry, field, fields);
    }
}

/* False where the entry is not there, or its type unknown or its count zero. */
static bool
read_entry(const struct qs_exif_stream *stream, const struct layout *layout,
           uint64_t offset, struct qs_exif_entry *entry)
{
    unsigned char bytes[20];
    const unsigned char *value = bytes + 4 + layout->field_bytes;
    size_t value_bytes;

    if (!read_at(stream, offset, bytes, layout->entry_bytes))
        return false;
    entry->tag = (uint16_t)whole_number(stream, bytes, 2);
    entry->type = (uint16_t)whole_number(stream, bytes + 2, 2);
    entry->count = whole_number(stream, bytes + 4, layout->field_bytes);
    value_bytes = qs_exif_type_bytes(entry->type);
    if (value_bytes == 0 || entry->count == 0)
        return false;
    if (entry->count <= layout->field_bytes / value_bytes)
        entry->value_offset = offset + 4 + layout->field_bytes;
    else
        entry->value_offset = whole_number(stream, value, layout->field_bytes);
    return true;
}

void
qs_exif_each(const struct qs_exif_stream *stream, uint64_t directory,
             bool (*visit)(void *context, const struct qs_exif_entry *entry),
             void *context)
{
    const struct layout *layout = stream->big_tiff ? &big_layout : &classic_layout;
    unsigned char bytes[8];
    uint64_t entries;

    if (directory > INT64_MAX / 2 ||
        !read_at(stream, directory, bytes, layout->count_bytes))
        return;
    entries = whole_number(stream, bytes, layout->count_bytes);
    for (uint64_t i = 0; i < entries && i < MOST_ENTRIES; i++) {
        uint64_t offset = directory + layout->count_bytes + i * layout->entry_bytes;
        struct qs_exif_entry entry;

        if (read_entry(stream, layout, offset, &entry) && !visit(context, &entry))
            return;
    }
}

bool
qs_exif_offset(const struct qs_exif_stream *stream, const struct qs_exif_entry *entry,
               uint64_t *offset)
{
    unsigned char bytes[8];
    size_t size = qs_exif_type_bytes(entry->type);

    if (entry->type != TYPE_LONG && entry->type != TYPE_IFD &&
        entry->type != TYPE_LONG8 && entry->type != TYPE_IFD8)
        return false;
    if (!read_at(stream, entry->value_offset, bytes, size))
        return false;
    *offset = whole_number(stream, bytes, size);
    return true;
}

/* Where qs_exif_read is. */
struct reading {
    const struct qs_exif_stream *stream;
    struct qs_exif_fields *fields;
};

static bool
take_from(void *context, const struct qs_exif_entry *entry)
{
    const struct reading *reading = context;

    take_entry(reading->stream, entry, reading->fields);
    return true;
}

void
qs_exif_read(const struct qs_exif_stream *stream, uint64_t directory,
             struct qs_exif_fields *fields)
{
    struct reading reading = {stream, fields};

    memset(fields, 0, sizeof *fields);
    qs_exif_each(stream, directory, take_from, &reading);
}
