/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/png_read.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "image/exif_shot.h"
#include "image/png_colour.h"
#include "image/png_calls.h"
#include "image/png_notes.h"

/* The largest chunk taken, in memory: generous for a profile, no harm as a bomb. */
#define LARGEST_CHUNK_BYTES ((png_alloc_size_t)64 << 20)

/* Beyond all rows, so that whatever is read next makes the decoder start over. */
#define NO_ROW INT_MAX

#define INCHES_PER_METRE (1.0 / 0.0254)

/*
 * Everything the steps below share.  It lives on the heap, so that a longjmp out
 * of libpng finds it as it was left.
 */
struct png_file {
    struct qs_png_calls calls; /* first: libpng gets at it by the file's own address */
    FILE *file;
    png_structp png;
    png_infop about;
    bool keeps_alpha;
    int width;
    int height;
    int next_row; /* the row decoded next; NO_ROW where the decoder gave up */
    size_t row_bytes;
    unsigned char *whole; /* interlaced: all rows, once they have been read */
    bool interlaced;
    unsigned char *into; /* argument of the row steps; NULL = drop */
    uint8_t *icc;        /* NULL = none */
};

/*
 * The one place where libpng's errors land: runs `step`, and returns false where
 * libpng gave up in it.  All calls that may give up are made in steps.
 */
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
    file->png = png_create_read_struct_2(PNG_LIBPNG_VER_STRING, file, qs_png_leave,
                                         qs_png_keep_quiet, file, qs_png_take_memory,
                                         qs_png_give_memory);
    if (file->png != NULL)
        file->about = png_create_info_struct(file->png);
}

/* Colour chunks, EXIF and XMP's kind of text come as bytes; other text not at all. */
static void
choose_chunks(png_structp png)
{
    static const png_byte as_bytes[] = "cICP\0sRGB\0gAMA\0cHRM\0eXIf\0iTXt";
    static const png_byte unwanted[] = "tEXt\0zTXt\0sPLT\0hIST\0bKGD\0pCAL";

    png_set_keep_unknown_chunks(png, PNG_HANDLE_CHUNK_ALWAYS, as_bytes, 6);
    png_set_keep_unknown_chunks(png, PNG_HANDLE_CHUNK_NEVER, unwanted, 6);
}

static void
header_step(struct png_file *file)
{
    png_set_user_limits(file->png, PNG_UINT_31_MAX, PNG_UINT_31_MAX); /* ours follow */
    png_set_chunk_malloc_max(file->png, LARGEST_CHUNK_BYTES);
    choose_chunks(file->png);
    png_init_io(file->png, file->file);
    png_read_info(file->png, file->about);
}

static bool
is_little_endian(void)
{
    static const uint16_t one = 1;
    unsigned char first;

    memcpy(&first, &one, 1);
    return first == 1;
}

static void
arrange_step(struct png_file *file)
{
    if (!file->keeps_alpha)
        png_set_strip_alpha(file->png);
    if (png_get_bit_depth(file->png, file->about) == 16 && is_little_endian())
        png_set_swap(file->png);
    (void)png_set_interlace_handling(file->png);
    png_read_update_info(file->png, file->about);
    file->next_row = 0;
}

static void
row_step(struct png_file *file)
{
    png_read_row(file->png, file->into, NULL);
}

/* Each pass fills in more of every row; next_row is kept for the error's sake. */
static void
passes_step(struct png_file *file)
{
    for (int pass = 0; pass < PNG_INTERLACE_ADAM7_PASSES; pass++) {
        file->next_row = 0;
        for (; file->next_row < file->height; file->next_row++)
            png_read_row(file->png,
                         file->whole + (size_t)file->next_row * file->row_bytes, NULL);
    }
}

/* Reads on to the end: the last picture data are checked there and only there. */
static void
end_step(struct png_file *file)
{
    png_read_end(file->png, NULL);
}

static enum qs_status
damaged_header(const struct png_file *file, struct qs_error *err)
{
    if (file->calls.out_of_memory)
        return qs_fail_memory(err);
    return qs_fail(err, QS_ERR_READ,
                   "The PNG's description of its picture can't be read: the file is "
                   "damaged or was not copied whole; copy or export it again.");
}

static enum qs_status
damaged_row(struct png_file *file, struct qs_error *err)
{
    int row = file->next_row < file->height ? file->next_row : file->height - 1;

    file->next_row = NO_ROW;
    if (file->calls.out_of_memory)
        return qs_fail_memory(err);
    return qs_reader_breaks_off(row, file->height, err);
}

static enum qs_status
start_decoder(struct png_file *file, struct qs_error *err)
{
    png_destroy_read_struct(&file->png, &file->about, NULL);
    file->calls.out_of_memory = false;
    if (!runs(file, create_step) || file->about == NULL)
        return qs_fail_memory(err);
    if (!runs(file, header_step) || file->calls.out_of_memory)
        return damaged_header(file, err);
    return QS_OK;
}

static enum qs_status
describe_samples(const struct png_file *file, struct qs_image_info *info,
                 struct qs_error *err)
{
    int type = png_get_color_type(file->png, file->about);

    info->bits = png_get_bit_depth(file->png, file->about);
    if ((type & PNG_COLOR_MASK_PALETTE) != 0)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This PNG holds palette colours, too few to measure noise in; "
                       "export the picture again as 16-bit RGB.");
    if (info->bits < 8)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This PNG holds %d-bit samples, and those of 8 or 16 bits are "
                       "read; export the picture again as 16-bit.",
                       info->bits);
    info->channels = (type & PNG_COLOR_MASK_COLOR) != 0 ? 3 : 1;
    if ((type & PNG_COLOR_MASK_ALPHA) != 0) {
        info->had_alpha = !file->keeps_alpha;
        info->alpha = file->keeps_alpha ? QS_ALPHA_STRAIGHT : QS_ALPHA_NONE;
    }
    info->sample = info->bits == 16 ? QS_SAMPLE_U16 : QS_SAMPLE_U8;
    info->pages = 1;
    return QS_OK;
}

static enum qs_status
describe_size(struct png_file *file, struct qs_image_info *info, struct qs_error *err)
{
    uint32_t width = png_get_image_width(file->png, file->about);
    uint32_t height = png_get_image_height(file->png, file->about);
    uint64_t row_bytes = (uint64_t)width * (uint64_t)qs_image_samples(info) *
                         qs_sample_bytes(info->sample);
    enum qs_status status = qs_reader_check_size(width, height, err);

    if (status != QS_OK)
        return status;
    file->interlaced =
        png_get_interlace_type(file->png, file->about) != PNG_INTERLACE_NONE;
    file->width = info->width = (int)width;
    file->height = info->height = (int)height;
    file->row_bytes = (size_t)row_bytes;
    if (file->interlaced && row_bytes * height > QS_READER_LARGEST_BYTES)
        return qs_fail(
            err, QS_ERR_UNSUPPORTED,
            "This PNG is interlaced and would need more than 1 GiB of memory; "
            "export it again without interlacing.");
    return QS_OK;
}

static void
describe_extras(const struct png_file *file, struct qs_image_info *info)
{
    png_color_8p depth = NULL;
    png_uint_32 across = 0, down = 0;
    int unit = PNG_RESOLUTION_UNKNOWN;

    if (png_get_sBIT(file->png, file->about, &depth) != 0) {
        int red_green = depth->red > depth->green ? depth->red : depth->green;
        int colour = red_green > depth->blue ? red_green : depth->blue;

        info->significant_bits = info->channels == 1 ? depth->gray : colour;
    }
    if (png_get_pHYs(file->png, file->about, &across, &down, &unit) != 0 &&
        unit == PNG_RESOLUTION_METER)
        info->ppi = across / INCHES_PER_METRE;
}

static enum qs_status
copy_profile(struct png_file *file, size_t *bytes, struct qs_error *err)
{
    png_charp name = NULL;
    png_bytep profile = NULL;
    png_uint_32 size = 0;
    int compression = 0;

    if (png_get_iCCP(file->png, file->about, &name, &compression, &profile, &size) ==
            0 ||
        size == 0)
        return QS_OK;
    file->icc = qs_alloc(size, 1);
    if (file->icc == NULL)
        return qs_fail_memory(err);
    memcpy(file->icc, profile, size);
    *bytes = size;
    return QS_OK;
}

static enum qs_status
describe_chunks(struct png_file *file, struct qs_image_info *info, struct qs_error *err)
{
    struct qs_png_colour colour = {0};
    png_unknown_chunkp chunks = NULL;
    int count = png_get_unknown_chunks(file->png, file->about, &chunks);
    size_t icc_bytes = 0;
    enum qs_status status = copy_profile(file, &icc_bytes, err);

    if (status != QS_OK)
        return status;
    for (int i = 0; i < count; i++) {
        struct qs_exif_memory bytes = {chunks[i].data, chunks[i].size};
        struct qs_exif_source source = {qs_exif_read_memory, &bytes};
        const char *name = (const char *)chunks[i].name;

        qs_png_colour_add(&colour, name, chunks[i].data, chunks[i].size);
        if (memcmp(name, "eXIf", 4) == 0)
            qs_exif_shot(source, 0, &info->shot);
    }
    qs_png_colour_rank(&colour, file->icc, icc_bytes, &info->colour);
    return QS_OK;
}

static enum qs_status
describe(struct png_file *file, struct qs_image_info *info, struct qs_error *err)
{
    enum qs_status status = describe_samples(file, info, err);

    if (status == QS_OK)
        status = describe_size(file, info, err);
    if (status == QS_OK)
        status = describe_chunks(file, info, err);
    if (status == QS_OK)
        describe_extras(file, info);
    return status;
}

static enum qs_status
arrange_rows(struct png_file *file, struct qs_error *err)
{
    if (!runs(file, arrange_step) || file->calls.out_of_memory ||
        png_get_rowbytes(file->png, file->about) != file->row_bytes)
        return damaged_header(file, err);
    return QS_OK;
}

static enum qs_status
read_notes(void *state, struct qs_notes *out, struct qs_error *err)
{
    struct png_file *file = state;
    png_unknown_chunkp chunks = NULL;
    int count = png_get_unknown_chunks(file->png, file->about, &chunks);
    enum qs_status status = QS_OK;

    for (int i = 0; i < count && status == QS_OK; i++)
        status = qs_png_notes_take((const char *)chunks[i].name, chunks[i].data,
                                   chunks[i].size, out, err);
    if (status != QS_OK)
        qs_notes_free(out);
    return status;
}

static void
close_png(void *state)
{
    struct png_file *file = state;

    png_destroy_read_struct(&file->png, &file->about, NULL);
    if (file->file != NULL)
        (void)fclose(file->file);
    qs_free(file->whole);
    qs_free(file->icc);
    qs_free(file);
}

static enum qs_status
open_file(struct png_file *file, const char *path, struct qs_error *err)
{
    file->file = fopen(path, "rb");
    if (file->file == NULL)
        return qs_fail(err, QS_ERR_OPEN,
                       "The file can't be opened (%s); check its name and permissions.",
                       strerror(errno));
    return start_decoder(file, err);
}

static enum qs_status
open_png(const char *path, bool with_alpha, struct qs_image_info *info, void **state,
         struct qs_error *err)
{
    struct png_file *file = qs_alloc(1, sizeof *file);
    enum qs_status status;

    if (file == NULL)
        return qs_fail_memory(err);
    file->keeps_alpha = with_alpha;
    status = open_file(file, path, err);
    if (status == QS_OK)
        status = describe(file, info, err);
    if (status == QS_OK)
        status = arrange_rows(file, err);
    if (status != QS_OK) {
        close_png(file);
        return status;
    }
    *state = file;
    return QS_OK;
}

static enum qs_status
start_over(struct png_file *file, struct qs_error *err)
{
    enum qs_status status;

    file->next_row = NO_ROW;
    if (fseek(file->file, 0, SEEK_SET) != 0)
        return damaged_header(file, err);
    status = start_decoder(file, err);
    if (status != QS_OK)
        return status;
    if (png_get_image_width(file->png, file->about) != (png_uint_32)file->width ||
        png_get_image_height(file->png, file->about) != (png_uint_32)file->height)
        return qs_fail(err, QS_ERR_READ,
                       "The PNG has changed while it was being read; try again when it "
                       "is no longer being written.");
    return arrange_rows(file, err);
}

/* Decodes the next row into `into`, or drops it. */
static enum qs_status
next_row(struct png_file *file, unsigned char *into, struct qs_error *err)
{
    file->into = into;
    if (!runs(file, row_step))
        return damaged_row(file, err);
    file->next_row++;
    if (file->next_row == file->height && !runs(file, end_step))
        return damaged_row(file, err);
    return QS_OK;
}

static enum qs_status
read_in_order(struct png_file *file, int first, int rows, unsigned char *into,
              struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (first < file->next_row)
        status = start_over(file, err);
    while (status == QS_OK && file->next_row < first)
        status = next_row(file, NULL, err);
    for (int i = 0; i < rows && status == QS_OK; i++)
        status = next_row(file, into + (size_t)i * file->row_bytes, err);
    return status;
}

static enum qs_status
read_whole(struct png_file *file, struct qs_error *err)
{
    enum qs_status status = file->next_row == 0 ? QS_OK : start_over(file, err);

    if (status != QS_OK)
        return status;
    file->whole = qs_alloc((size_t)file->height, file->row_bytes);
    if (file->whole == NULL)
        return qs_fail_memory(err);
    if (runs(file, passes_step) && runs(file, end_step))
        return QS_OK;
    qs_free(file->whole);
    file->whole = NULL;
    return damaged_row(file, err);
}

static enum qs_status
read_png(void *state, int first, int rows, void *into, struct qs_error *err)
{
    struct png_file *file = state;
    enum qs_status status;

    if (!file->interlaced)
        return read_in_order(file, first, rows, into, err);
    if (file->whole == NULL) {
        status = read_whole(file, err);
        if (status != QS_OK)
            return status;
    }
    memcpy(into, file->whole + (size_t)first * file->row_bytes,
           (size_t)rows * file->row_bytes);
    return QS_OK;
}

const struct qs_image_reader qs_png_reader = {open_png,  read_png, read_notes,
                                              close_png, NULL,     NULL};
