/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A little-endian TIFF stream with two directories, as Exif wants it: maker,
 * model and orientation first, the exposure in the second.  Tag numbers: Exif
 * 2.3, as in libtiff's tiff.h; kinds: TIFF 6.0.
 */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "frame_write.h"

enum kind {
    KIND_ASCII = 2,
    KIND_SHORT = 3,
    KIND_LONG = 4,
    KIND_RATIONAL = 5,
    KIND_SRATIONAL = 10
};

struct stream {
    unsigned char *bytes;
    size_t entry; /* where the next directory entry goes */
    size_t tail;  /* where the next value too long for its entry goes */
};

static void
put16(unsigned char *at, unsigned value)
{
    at[0] = (unsigned char)(value & 0xff);
    at[1] = (unsigned char)(value >> 8 & 0xff);
}

static void
put32(unsigned char *at, uint32_t value)
{
    put16(at, value & 0xffff);
    put16(at + 2, value >> 16);
}

static void
begin_directory(struct stream *s, size_t at, int entries)
{
    put16(s->bytes + at, (unsigned)entries);
    s->entry = at + 2;
    s->tail = s->entry + 12 * (size_t)entries + 4;
}

/* The head of an entry; returns where its four bytes of value go. */
static unsigned char *
put_entry(struct stream *s, unsigned tag, enum kind kind, uint32_t count)
{
    unsigned char *at = s->bytes + s->entry;

    put16(at, tag);
    put16(at + 2, kind);
    put32(at + 4, count);
    s->entry += 12;
    return at + 8;
}

static void
put_text(struct stream *s, unsigned tag, const char *text)
{
    size_t size = strlen(text) + 1;

    put32(put_entry(s, tag, KIND_ASCII, (uint32_t)size), (uint32_t)s->tail);
    memcpy(s->bytes + s->tail, text, size);
    s->tail += size + size % 2;
}

/* Short times as 1/n, all else in ten-thousandths. */
static void
put_rational(struct stream *s, unsigned tag, enum kind kind, double value)
{
    int inverse = kind == KIND_RATIONAL && value < 0.5;
    long above = inverse ? 10000 : lround(value * 10000.0);
    long below = inverse ? lround(10000.0 / value) : 10000;

    put32(put_entry(s, tag, kind, 1), (uint32_t)s->tail);
    put32(s->bytes + s->tail, (uint32_t)above);
    put32(s->bytes + s->tail + 4, (uint32_t)below);
    s->tail += 8;
}

size_t
gr_exif_stream(const struct gr_recipe *recipe, unsigned char out[GR_EXIF_MAX])
{
    struct stream s = {.bytes = out};
    unsigned char *pointer;

    memset(out, 0, GR_EXIF_MAX);
    memcpy(out, "II*\0", 4);
    put32(out + 4, 8);
    begin_directory(&s, 8, 5);
    put_text(&s, 271, GR_MAKER);
    put_text(&s, 272, GR_MODEL);
    put16(put_entry(&s, 274, KIND_SHORT, 1), (unsigned)recipe->orientation);
    put_text(&s, 305, GR_SOFTWARE);
    pointer = put_entry(&s, 34665, KIND_LONG, 1);
    put32(pointer, (uint32_t)s.tail);
    begin_directory(&s, s.tail, 5);
    put_rational(&s, 0x829a, KIND_RATIONAL, recipe->exposure_s);
    put_rational(&s, 0x829d, KIND_RATIONAL, recipe->f_number);
    put16(put_entry(&s, 0x8827, KIND_SHORT, 1), (unsigned)recipe->sensor.iso);
    put_text(&s, 0x9003, GR_DATE);
    put_rational(&s, 0x9204, KIND_SRATIONAL, recipe->bias_stops);
    return s.tail;
}
