/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/tiff_rows.h"

#include <string.h>

#include "base/memory.h"

/* Scanline decoding holds a place in one strip, so each plane needs its own. */
static enum qs_status
open_planes(struct qs_tiff_rows *rows, const char *path, uint64_t directory,
            struct qs_error *err)
{
    const struct qs_tiff_kind *kind = &rows->kind;

    if (!kind->planes || kind->tiled || kind->plain)
        return QS_OK;
    for (int i = 1; i < kind->kept; i++) {
        rows->plane[i].tiff = qs_tiff_open_page(path, directory);
        if (rows->plane[i].tiff == NULL)
            return qs_fail(err, QS_ERR_READ,
                           "The TIFF can't be opened once for each of its colour "
                           "planes; it may have changed or been removed: try again.");
    }
    return QS_OK;
}

static enum qs_status
allocate(struct qs_tiff_rows *rows, struct qs_error *err)
{
    const struct qs_tiff_kind *kind = &rows->kind;

    rows->line = qs_alloc(1, kind->tiled ? kind->tile_bytes : kind->line_bytes);
    if (rows->line == NULL)
        return qs_fail_memory(err);
    if (!kind->tiled)
        return QS_OK;
    rows->band =
        qs_alloc((size_t)kind->tile_height, (size_t)kind->width * kind->pixel_bytes);
    return rows->band != NULL ? QS_OK : qs_fail_memory(err);
}

enum qs_status
qs_tiff_rows_init(struct qs_tiff_rows *rows, TIFF *tiff, const char *path,
                  uint64_t directory, const struct qs_tiff_kind *kind,
                  struct qs_error *err)
{
    enum qs_status status;

    memset(rows, 0, sizeof *rows);
    rows->kind = *kind;
    rows->plane[0].tiff = tiff;
    rows->band_first = -1;
    status = open_planes(rows, path, directory, err);
    return status == QS_OK ? allocate(rows, err) : status;
}

void
qs_tiff_rows_clear(struct qs_tiff_rows *rows)
{
    for (int i = 0; i < QS_TIFF_MOST_PLANES; i++)
        if (rows->plane[i].tiff != NULL)
            TIFFClose(rows->plane[i].tiff);
    qs_free(rows->line);
    qs_free(rows->band);
    memset(rows, 0, sizeof *rows);
}

/*
 * Copies `count` samples of `bytes` bytes, every `from_step`-th one to every
 * `to_step`-th place.
 */
static void
copy_samples(unsigned char *to, int to_step, const unsigned char *from, int from_step,
             int count, size_t bytes)
{
    size_t to_bytes = (size_t)to_step * bytes;
    size_t from_bytes = (size_t)from_step * bytes;

    /* The usual size has a loop of its own, which the compiler turns into moves. */
    if (bytes == 2) {
        for (int i = 0; i < count; i++, to += to_bytes, from += from_bytes)
            memcpy(to, from, 2);
        return;
    }
    for (int i = 0; i < count; i++, to += to_bytes, from += from_bytes)
        memcpy(to, from, bytes);
}

/* Where the i-th kept sample lies among the stored ones. */
static int
stored_place(const struct qs_tiff_kind *kind, int i)
{
    return i < kind->channels ? i : kind->alpha_at;
}

/*
 * Copies the kept samples of `count` pixels out of decoded ones: those of the
 * `plane`-th kept, or all of them where the planes are interleaved.
 */
static void
copy_kept(const struct qs_tiff_kind *kind, int plane, const unsigned char *from,
          unsigned char *to, int count)
{
    size_t bytes = (size_t)kind->bits / 8;

    if (kind->planes) {
        copy_samples(to + (size_t)plane * bytes, kind->kept, from, 1, count, bytes);
        return;
    }
    if (kind->samples == kind->kept) {
        memcpy(to, from, (size_t)count * kind->pixel_bytes);
        return;
    }
    for (int i = 0; i < kind->kept; i++)
        copy_samples(to + (size_t)i * bytes, kind->kept,
                     from + (size_t)stored_place(kind, i) * bytes, kind->samples, count,
                     bytes);
}

static void
to_machine_order(TIFF *tiff, int bits, unsigned char *samples, size_t bytes)
{
    void *words = samples; /* the start of a row, or of a pixel: aligned for a sample */

    if (!TIFFIsByteSwapped(tiff))
        return;
    if (bits == 16)
        TIFFSwabArrayOfShort(words, (tmsize_t)(bytes / 2));
    else if (bits == 32)
        TIFFSwabArrayOfLong(words, (tmsize_t)(bytes / 4));
    else if (bits == 64)
        TIFFSwabArrayOfDouble(words, (tmsize_t)(bytes / 8));
}

/*
 * Reads part of the rows of one uncompressed strip, `line_at` bytes into the line of
 * `row`.  Never a whole strip at a time, as libtiff would.
 */
static bool
read_stored(const struct qs_tiff_rows *rows, int plane, int row, size_t line_at,
            unsigned char *into, size_t bytes)
{
    const struct qs_tiff_kind *kind = &rows->kind;
    TIFF *tiff = rows->plane[0].tiff;
    uint32_t strip =
        TIFFComputeStrip(tiff, (uint32_t)row, (uint16_t)stored_place(kind, plane));
    uint64_t start =
        (uint64_t)(row % kind->rows_per_strip) * kind->line_bytes + line_at;
    uint64_t offset = TIFFGetStrileOffset(tiff, strip);

    if (offset == 0 || offset > INT64_MAX - start ||
        start + bytes > TIFFGetStrileByteCount(tiff, strip))
        return false;
    if (!qs_tiff_read_at(tiff, offset + start, into, bytes))
        return false;
    to_machine_order(tiff, kind->bits, into, bytes);
    return true;
}

bool
qs_tiff_is_open(const struct qs_tiff_rows *rows)
{
    const struct qs_tiff_kind *kind = &rows->kind;

    return kind->plain && !kind->tiled && !kind->planes && kind->samples == kind->kept;
}

enum qs_status
qs_tiff_window(const struct qs_tiff_rows *rows, struct qs_box box, unsigned char *into,
               struct qs_error *err)
{
    const struct qs_tiff_kind *kind = &rows->kind;
    const size_t line = (size_t)box.width * kind->pixel_bytes;
    bool whole = box.width == kind->width;

    for (int y = 0, run; y < box.height; y += run) {
        int row = box.y + y;

        /* whole rows of one strip come in one piece */
        run = whole ? kind->rows_per_strip - row % kind->rows_per_strip : 1;
        run = run < box.height - y ? run : box.height - y;
        if (read_stored(rows, 0, row, (size_t)box.x * kind->pixel_bytes,
                        into + (size_t)y * line, (size_t)run * line))
            continue;
        if (run == 1)
            return qs_reader_breaks_off(row, kind->height, err);
        whole = false; /* row by row, to name the one that is not there */
        run = 0;
    }
    return QS_OK;
}

/* Compressed strips are decoded from their start, or on from where we are in them. */
static bool
decode_line(struct qs_tiff_rows *rows, int plane, int row)
{
    struct qs_tiff_plane *from = &rows->plane[plane];
    int at = row - row % rows->kind.rows_per_strip;

    if (from->next_row > at && from->next_row <= row)
        at = from->next_row;
    from->next_row = -1;
    for (; at <= row; at++)
        if (TIFFReadScanline(from->tiff, rows->line, (uint32_t)at,
                             (uint16_t)stored_place(&rows->kind, plane)) != 1)
            return false;
    from->next_row = at;
    return true;
}

static bool
read_strip_row(struct qs_tiff_rows *rows, int row, unsigned char *into)
{
    const struct qs_tiff_kind *kind = &rows->kind;
    int planes = kind->planes ? kind->kept : 1;

    if (qs_tiff_is_open(rows))
        return read_stored(rows, 0, row, 0, into, kind->line_bytes);
    for (int plane = 0; plane < planes; plane++) {
        bool got = kind->plain
                       ? read_stored(rows, plane, row, 0, rows->line, kind->line_bytes)
                       : decode_line(rows, plane, row);

        if (!got)
            return false;
        copy_kept(kind, plane, rows->line, into, kind->width);
    }
    return true;
}

/* Copies that part of the decoded tile at column `x` which lies in the picture. */
static void
place_tile(struct qs_tiff_rows *rows, int plane, int x, int band_rows)
{
    const struct qs_tiff_kind *kind = &rows->kind;
    int planes_here = kind->planes ? 1 : kind->samples;
    size_t tile_row_bytes =
        (size_t)kind->tile_width * (size_t)planes_here * ((size_t)kind->bits / 8);
    size_t band_row_bytes = (size_t)kind->width * kind->pixel_bytes;
    unsigned char *to = rows->band + (size_t)x * kind->pixel_bytes;
    int columns =
        kind->width - x < kind->tile_width ? kind->width - x : kind->tile_width;

    for (int row = 0; row < band_rows; row++)
        copy_kept(kind, plane, rows->line + (size_t)row * tile_row_bytes,
                  to + (size_t)row * band_row_bytes, columns);
}

static bool
decode_tile(struct qs_tiff_rows *rows, int plane, int x, int y)
{
    TIFF *tiff = rows->plane[0].tiff;
    uint32_t tile = TIFFComputeTile(tiff, (uint32_t)x, (uint32_t)y, 0,
                                    (uint16_t)stored_place(&rows->kind, plane));
    tmsize_t bytes = (tmsize_t)rows->kind.tile_bytes;

    return TIFFReadEncodedTile(tiff, tile, rows->line, bytes) == bytes;
}

static bool
load_band(struct qs_tiff_rows *rows, int first)
{
    const struct qs_tiff_kind *kind = &rows->kind;
    int planes = kind->planes ? kind->kept : 1;
    int left = kind->height - first;
    int band_rows = left < kind->tile_height ? left : kind->tile_height;

    rows->band_first = -1;
    for (int plane = 0; plane < planes; plane++) {
        for (int x = 0; x < kind->width; x += kind->tile_width) {
            if (!decode_tile(rows, plane, x, first))
                return false;
            place_tile(rows, plane, x, band_rows);
        }
    }
    rows->band_first = first;
    return true;
}

static bool
read_tile_row(struct qs_tiff_rows *rows, int row, unsigned char *into)
{
    const struct qs_tiff_kind *kind = &rows->kind;
    size_t bytes = (size_t)kind->width * kind->pixel_bytes;
    int first = row - row % kind->tile_height;

    if (rows->band_first != first && !load_band(rows, first))
        return false;
    memcpy(into, rows->band + (size_t)(row - first) * bytes, bytes);
    return true;
}

enum qs_status
qs_tiff_row(struct qs_tiff_rows *rows, int row, unsigned char *into,
            struct qs_error *err)
{
    bool got = rows->kind.tiled ? read_tile_row(rows, row, into)
                                : read_strip_row(rows, row, into);

    return got ? QS_OK : qs_reader_breaks_off(row, rows->kind.height, err);
}
