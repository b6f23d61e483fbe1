/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/strip_pack.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>
#ifdef QS_HAVE_ZSTD
#include <zstd.h>
#endif

#include "base/memory.h"

enum {
    DEFLATE_LEVEL = 6,
    ZSTD_LEVEL = 3,
    RAW_WINDOW_BITS = -15, /* zlib's way to say 32 KB and no zlib header */
    ZLIB_WINDOW_BITS = 15,
    MEMORY_LEVEL = 8, /* zlib's own default */
    FLUSH_BYTES = 16, /* a flush adds a block of no bytes, 5 at the most, and bits */
    PNG_FILTERS = 5
};

size_t
qs_strip_row_bytes(const struct qs_strip *strip)
{
    return strip->width * strip->samples * (size_t)(strip->bits / 8);
}

/* ---- TIFF ---- */

static void
difference_8(const uint8_t *row, size_t count, size_t samples, uint8_t *into)
{
    memcpy(into, row, samples);
    for (size_t i = samples; i < count; i++)
        into[i] = (uint8_t)(row[i] - row[i - samples]);
}

static void
difference_16(const uint16_t *row, size_t count, size_t samples, uint16_t *into)
{
    memcpy(into, row, samples * sizeof *row);
    for (size_t i = samples; i < count; i++)
        into[i] = (uint16_t)(row[i] - row[i - samples]);
}

void
qs_strip_difference(const struct qs_strip *strip, uint8_t *into)
{
    size_t row_bytes = qs_strip_row_bytes(strip);
    size_t count = strip->width * strip->samples;

    for (size_t y = 0; y < strip->rows; y++) {
        const uint8_t *row = (const uint8_t *)strip->codes + y * row_bytes;

        if (strip->bits == 8)
            difference_8(row, count, strip->samples, into + y * row_bytes);
        else
            difference_16((const uint16_t *)(const void *)row, count, strip->samples,
                          (uint16_t *)(void *)(into + y * row_bytes));
    }
}

/* ---- PNG ---- */

/* What the filters look at: PNG 3rd edition, 9.2, table 9.1 and 9.4. */
struct neighbours {
    const uint8_t *row;
    const uint8_t *above; /* NULL = no row above */
    size_t row_bytes;
    size_t step; /* bytes of a pixel */
};

static void
filter_none(const struct neighbours *at, uint8_t *into)
{
    memcpy(into, at->row, at->row_bytes);
}

static void
filter_sub(const struct neighbours *at, uint8_t *into)
{
    memcpy(into, at->row, at->step);
    for (size_t i = at->step; i < at->row_bytes; i++)
        into[i] = (uint8_t)(at->row[i] - at->row[i - at->step]);
}

static void
filter_up(const struct neighbours *at, uint8_t *into)
{
    for (size_t i = 0; i < at->row_bytes; i++)
        into[i] = (uint8_t)(at->row[i] - at->above[i]);
}

static void
filter_average(const struct neighbours *at, uint8_t *into)
{
    for (size_t i = 0; i < at->step; i++)
        into[i] = (uint8_t)(at->row[i] - at->above[i] / 2);
    for (size_t i = at->step; i < at->row_bytes; i++)
        into[i] = (uint8_t)(at->row[i] - (at->row[i - at->step] + at->above[i]) / 2);
}

/* Left, above or above left: the one nearest to left + above - above left. */
static int
paeth(int left, int above, int corner)
{
    int to_left = abs(above - corner), to_above = abs(left - corner);
    int to_corner = abs(left + above - 2 * corner);

    if (to_left <= to_above && to_left <= to_corner)
        return left;
    return to_above <= to_corner ? above : corner;
}

static void
filter_paeth(const struct neighbours *at, uint8_t *into)
{
    for (size_t i = 0; i < at->step; i++)
        into[i] = (uint8_t)(at->row[i] - at->above[i]);
    for (size_t i = at->step; i < at->row_bytes; i++)
        into[i] = (uint8_t)(at->row[i] - paeth(at->row[i - at->step], at->above[i],
                                               at->above[i - at->step]));
}

static const struct png_filter {
    void (*run)(const struct neighbours *at, uint8_t *into);
    bool looks_up;
} filters[PNG_FILTERS] = {
    {filter_none, false},   {filter_sub, false},  {filter_up, true},
    {filter_average, true}, {filter_paeth, true},
};

/* Differences as signed bytes: the measure PNG 3rd edition, 12.7, advises. */
static size_t
weigh(const uint8_t *bytes, size_t count)
{
    size_t sum = 0;

    for (size_t i = 0; i < count; i++)
        sum += (size_t)(bytes[i] < 128 ? bytes[i] : 256 - bytes[i]);
    return sum;
}

/* Writes the number of the best filter and the row that it leaves. */
static void
best_filter(const struct neighbours *at, uint8_t *room, uint8_t *into)
{
    size_t least = SIZE_MAX;

    for (int k = 0; k < PNG_FILTERS; k++) {
        size_t weight;

        if (filters[k].looks_up && at->above == NULL)
            continue;
        filters[k].run(at, room);
        weight = weigh(room, at->row_bytes);
        if (weight >= least)
            continue;
        least = weight;
        into[0] = (uint8_t)k;
        memcpy(into + 1, room, at->row_bytes);
    }
}

/* High byte first, PNG 3rd edition, 7.1. */
static void
png_order(const struct qs_strip *strip, size_t y, uint8_t *into)
{
    size_t row_bytes = qs_strip_row_bytes(strip);
    const uint8_t *row = (const uint8_t *)strip->codes + y * row_bytes;
    const uint16_t *wide = (const uint16_t *)(const void *)row;

    if (strip->bits == 8) {
        memcpy(into, row, row_bytes);
        return;
    }
    for (size_t i = 0; i < row_bytes / 2; i++) {
        into[2 * i] = (uint8_t)(wide[i] >> 8);
        into[2 * i + 1] = (uint8_t)(wide[i] & 0xff);
    }
}

static void
plain_png_rows(const struct qs_strip *strip, uint8_t *into)
{
    size_t row_bytes = qs_strip_row_bytes(strip);

    for (size_t y = 0; y < strip->rows; y++) {
        into[y * (row_bytes + 1)] = 0;
        png_order(strip, y, into + y * (row_bytes + 1) + 1);
    }
}

enum qs_status
qs_strip_png_rows(const struct qs_strip *strip, bool choose, uint8_t *into,
                  struct qs_error *err)
{
    size_t row_bytes = qs_strip_row_bytes(strip);
    uint8_t *room;

    if (!choose) {
        plain_png_rows(strip, into);
        return QS_OK;
    }
    room = qs_alloc(3, row_bytes);
    if (room == NULL)
        return qs_fail_memory(err);
    for (size_t y = 0; y < strip->rows; y++) {
        uint8_t *row = room + (y % 2) * row_bytes;
        uint8_t *above = room + ((y + 1) % 2) * row_bytes;
        struct neighbours at = {row, y > 0 ? above : NULL, row_bytes,
                                row_bytes / strip->width};

        png_order(strip, y, row);
        best_filter(&at, room + 2 * row_bytes, into + y * (row_bytes + 1));
    }
    qs_free(room);
    return QS_OK;
}

/* ---- compression ---- */

static voidpf
take_memory(voidpf context, uInt count, uInt size)
{
    (void)context;
    return qs_alloc(count, size);
}

static void
give_memory(voidpf context, voidpf memory)
{
    (void)context;
    qs_free(memory);
}

/* Runs `stream` over all of its input into one buffer that is large enough. */
static enum qs_status
deflate_all(z_stream *stream, enum qs_deflate_form form, uint8_t **out,
            size_t *out_size, struct qs_error *err)
{
    size_t room = deflateBound(stream, stream->avail_in) + FLUSH_BYTES;
    uint8_t *bytes = qs_alloc(room, 1);
    int result;

    if (bytes == NULL)
        return qs_fail_memory(err);
    stream->next_out = bytes;
    stream->avail_out = (uInt)room;
    result = deflate(stream, form == QS_DEFLATE_PART ? Z_SYNC_FLUSH : Z_FINISH);
    if (result != (form == QS_DEFLATE_PART ? Z_OK : Z_STREAM_END) ||
        stream->avail_in > 0 || stream->avail_out == 0) {
        qs_free(bytes);
        return qs_fail(err, QS_ERR_WRITE,
                       "It could not be written: zlib broke its word on the room that "
                       "deflate needs; choose no compression.");
    }
    *out = bytes;
    *out_size = room - stream->avail_out;
    return QS_OK;
}

enum qs_status
qs_pack_deflate(const uint8_t *bytes, size_t size, enum qs_deflate_form form,
                bool stored, uint8_t **out, size_t *out_size, struct qs_error *err)
{
    z_stream stream = {.zalloc = take_memory, .zfree = give_memory};
    int window = form == QS_DEFLATE_WHOLE ? ZLIB_WINDOW_BITS : RAW_WINDOW_BITS;
    enum qs_status status;

    assert(size <= (size_t)1 << 30);
    *out = NULL;
    if (deflateInit2(&stream, stored ? Z_NO_COMPRESSION : DEFLATE_LEVEL, Z_DEFLATED,
                     window, MEMORY_LEVEL, Z_DEFAULT_STRATEGY) != Z_OK)
        return qs_fail_memory(err);
    stream.next_in = (z_const Bytef *)(uintptr_t)bytes; /* zlib only reads it */
    stream.avail_in = (uInt)size;
    status = deflate_all(&stream, form, out, out_size, err);
    (void)deflateEnd(&stream);
    return status;
}

#ifdef QS_HAVE_ZSTD

enum qs_status
qs_pack_zstd(const uint8_t *bytes, size_t size, uint8_t **out, size_t *out_size,
             struct qs_error *err)
{
    size_t room = ZSTD_compressBound(size);
    uint8_t *packed = qs_alloc(room, 1);
    size_t result;

    *out = NULL;
    if (packed == NULL)
        return qs_fail_memory(err);
    result = ZSTD_compress(packed, room, bytes, size, ZSTD_LEVEL);
    if (ZSTD_isError(result) != 0) { /* the room is enough: only memory is left */
        qs_free(packed);
        return qs_fail_memory(err);
    }
    *out = packed;
    *out_size = result;
    return QS_OK;
}

#else

enum qs_status
qs_pack_zstd(const uint8_t *bytes, size_t size, uint8_t **out, size_t *out_size,
             struct qs_error *err)
{
    (void)bytes;
    (void)size;
    (void)out_size;
    *out = NULL;
    return qs_fail(err, QS_ERR_UNSUPPORTED,
                   "This build can't write zstd; choose deflate, or build again where "
                   "libzstd is installed.");
}

#endif
