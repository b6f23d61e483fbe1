/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/png_write.h"

#include <math.h>
#include <string.h>
#include <zlib.h>

#include "base/memory.h"
#include "image/out_file.h"
#include "image/png_calls.h"
#include "image/png_notes.h"

#define METRES_PER_INCH 0.0254
#define PROFILE_NAME "ICC profile"

/* deflate, a window of 32 KB, no dictionary, "default" effort: RFC 1950, 2.2. */
static const uint8_t zlib_header[] = {0x78, 0x9c};

enum {
    CHECK_BYTES = 4
};

/*
 * Everything the steps below share.  It lives on the heap, so that a longjmp out
 * of libpng finds it as it was left.
 */
struct png_file {
    struct qs_png_calls calls; /* first: libpng gets at it by the file's own address */
    struct qs_out_file file;
    png_structp png;
    png_infop about;
    bool profile_refused;
    uint32_t check;                     /* Adler-32 of all bytes put so far */
    const struct qs_picture_plan *plan; /* argument of the header step, */
    struct qs_png_chunk chunks[QS_PNG_NOTE_CHUNKS]; /*   likewise */
    int chunk_count;
    const struct qs_packed *packed; /* argument of the strip step */
    const char *seal;               /* of the end step; NULL = none */
};

static void
write_bytes(png_structp png, png_bytep bytes, size_t size)
{
    if (!qs_out_write(png_get_io_ptr(png), bytes, size))
        png_error(png, "");
}

static void
flush_nothing(png_structp png)
{
    (void)png;
}

/* The one place where libpng's errors land; false where libpng gave up in `step`. */
static bool
runs(struct png_file *file, void (*step)(struct png_file *file))
{
    if (setjmp(file->calls.way_out) != 0)
        return false;
    step(file);
    return true;
}

static void
create_step(struct png_file *file)
{
    file->png = png_create_write_struct_2(PNG_LIBPNG_VER_STRING, file, qs_png_leave,
                                          qs_png_keep_quiet, file, qs_png_take_memory,
                                          qs_png_give_memory);
    if (file->png == NULL)
        return;
    file->about = png_create_info_struct(file->png);
    png_set_write_fn(file->png, &file->file, write_bytes, flush_nothing);
}

static int
colour_type(const struct qs_picture_plan *plan)
{
    return (plan->channels == 3 ? PNG_COLOR_MASK_COLOR : 0) |
           (plan->alpha != QS_ALPHA_NONE ? PNG_COLOR_MASK_ALPHA : 0);
}

/* libpng passes over a profile it finds fault with, or gives up in the writing. */
static void
profile_step(struct png_file *file)
{
    const struct qs_picture_plan *plan = file->plan;

    file->profile_refused = true;
    png_set_iCCP(file->png, file->about, PROFILE_NAME, PNG_COMPRESSION_TYPE_BASE,
                 plan->icc, (png_uint_32)plan->icc_size);
    if (png_get_valid(file->png, file->about, PNG_INFO_iCCP) == 0)
        png_error(file->png, "");
}

/* PNG 3rd edition, 11.3.2: fractions of 100000. */
static void
put_fraction(double value, png_byte *out)
{
    png_save_uint_32(out, (png_uint_32)lround(value * 100000.0));
}

static void
write_colour(png_structp png, const struct qs_colour_tags *colour)
{
    png_byte bytes[32];

    if (colour->claim == QS_CLAIM_CICP) {
        png_write_chunk(png, (png_const_bytep) "cICP", colour->cicp, 4);
    } else if (colour->claim == QS_CLAIM_SRGB) {
        bytes[0] = PNG_sRGB_INTENT_PERCEPTUAL;
        png_write_chunk(png, (png_const_bytep) "sRGB", bytes, 1);
    } else if (colour->claim == QS_CLAIM_GAMA) {
        put_fraction(colour->gama, bytes);
        png_write_chunk(png, (png_const_bytep) "gAMA", bytes, 4);
        for (int i = 0; i < 8; i++)
            put_fraction(colour->chromaticity[i], bytes + (ptrdiff_t)4 * i);
        if (colour->has_chromaticity)
            png_write_chunk(png, (png_const_bytep) "cHRM", bytes, 32);
    }
}

static void
header_step(struct png_file *file)
{
    const struct qs_picture_plan *plan = file->plan;

    png_set_IHDR(file->png, file->about, (png_uint_32)plan->width,
                 (png_uint_32)plan->height, plan->bits, colour_type(plan),
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    if (plan->ppi > 0.0) {
        png_uint_32 per_metre = (png_uint_32)lround(plan->ppi / METRES_PER_INCH);

        png_set_pHYs(file->png, file->about, per_metre, per_metre,
                     PNG_RESOLUTION_METER);
    }
    if (plan->icc != NULL)
        profile_step(file);
    png_write_info(file->png, file->about);
    file->profile_refused = false;
    if (plan->colour != NULL)
        write_colour(file->png, plan->colour);
    for (int i = 0; i < file->chunk_count; i++)
        png_write_chunk(file->png, (png_const_bytep)file->chunks[i].name,
                        file->chunks[i].bytes, file->chunks[i].size);
}

static void
strip_step(struct png_file *file)
{
    png_write_chunk(file->png, (png_const_bytep) "IDAT", file->packed->bytes,
                    file->packed->size);
}

/* The stream's check sum, in a piece of its own, and the end: RFC 1950, 2.2. */
static void
end_step(struct png_file *file)
{
    png_byte bytes[CHECK_BYTES];

    png_save_uint_32(bytes, file->check);
    png_write_chunk(file->png, (png_const_bytep) "IDAT", bytes, sizeof bytes);
    if (file->seal != NULL)
        png_write_chunk(file->png, (png_const_bytep)QS_SEAL_CHUNK,
                        (png_const_bytep)file->seal, QS_SEAL_BYTES);
    png_write_chunk(file->png, (png_const_bytep) "IEND", NULL, 0);
}

static enum qs_status
step_failed(const struct png_file *file, struct qs_error *err)
{
    if (file->file.reason == 0 && file->calls.out_of_memory)
        return qs_fail_memory(err);
    if (file->file.reason == 0 && file->profile_refused)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "PNG does not take this colour profile: it is damaged, or made "
                       "for another kind of picture; write a TIFF, or choose another "
                       "profile.");
    return qs_out_fail(&file->file, err);
}

static void
free_png(void *state)
{
    struct png_file *file = state;

    png_destroy_write_struct(&file->png, &file->about);
    qs_out_close(&file->file);
    qs_free(file);
}

static enum qs_status
start(struct png_file *file, const char *path, struct qs_error *err)
{
    enum qs_status status;

    if (!runs(file, create_step) || file->about == NULL)
        return qs_fail_memory(err);
    status = qs_out_open(&file->file, path, err);
    if (status != QS_OK)
        return status;
    return runs(file, header_step) ? QS_OK : step_failed(file, err);
}

static enum qs_status
open_png(const char *path, const struct qs_picture_plan *plan, int strip_rows,
         void **state, struct qs_error *err)
{
    struct png_file *file = qs_alloc(1, sizeof *file);
    enum qs_status status;

    (void)strip_rows;
    if (file == NULL)
        return qs_fail_memory(err);
    file->file.descriptor = -1;
    file->check = (uint32_t)adler32(0, Z_NULL, 0);
    file->plan = plan;
    status = qs_png_notes_chunks(plan->notes, plan->orientation, file->chunks,
                                 &file->chunk_count, err);
    if (status == QS_OK)
        status = start(file, path, err);
    qs_png_chunks_free(file->chunks, file->chunk_count);
    file->chunk_count = 0;
    file->plan = NULL;
    if (status != QS_OK) {
        free_png(file);
        return status;
    }
    *state = file;
    return QS_OK;
}

/* The first strip opens the stream. */
static enum qs_status
put_header_first(struct qs_packed *packed, struct qs_error *err)
{
    uint8_t *longer = qs_realloc(packed->owned, packed->size + sizeof zlib_header, 1);

    if (longer == NULL) {
        qs_packed_clear(packed);
        return qs_fail_memory(err);
    }
    memmove(longer + sizeof zlib_header, longer, packed->size);
    memcpy(longer, zlib_header, sizeof zlib_header);
    packed->owned = longer;
    packed->size += sizeof zlib_header;
    return QS_OK;
}

static enum qs_status
pack_png(const struct qs_strip *strip, enum qs_compression compression, bool is_first,
         bool is_last, struct qs_packed *out, struct qs_error *err)
{
    bool stored = compression == QS_COMPRESS_NONE;
    size_t size = strip->rows * (1 + qs_strip_row_bytes(strip));
    uint8_t *rows = qs_alloc(size, 1);
    enum qs_status status;

    if (rows == NULL)
        return qs_fail_memory(err);
    status = qs_strip_png_rows(strip, !stored, rows, err);
    if (status == QS_OK)
        status =
            qs_pack_deflate(rows, size, is_last ? QS_DEFLATE_LAST : QS_DEFLATE_PART,
                            stored, &out->owned, &out->size, err);
    if (status == QS_OK) {
        out->check = (uint32_t)adler32(adler32(0, Z_NULL, 0), rows, (uInt)size);
        out->plain_size = size;
    }
    qs_free(rows);
    return status == QS_OK && is_first ? put_header_first(out, err) : status;
}

static enum qs_status
put_png(void *state, const struct qs_packed *packed, struct qs_error *err)
{
    struct png_file *file = state;

    file->packed = packed;
    if (!runs(file, strip_step))
        return step_failed(file, err);
    file->check = (uint32_t)adler32_combine(file->check, packed->check,
                                            (z_off_t)packed->plain_size);
    return QS_OK;
}

static enum qs_status
finish_png(void *state, const char *seal, struct qs_error *err)
{
    struct png_file *file = state;

    file->seal = seal;
    if (!runs(file, end_step))
        return step_failed(file, err);
    return qs_out_finish(&file->file, err);
}

const struct qs_picture_format qs_png_format = {open_png, pack_png, put_png, finish_png,
                                                free_png};
