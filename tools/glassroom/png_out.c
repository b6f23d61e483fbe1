/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <png.h>
#include <stdint.h>
#include <stdio.h>

#include "base/memory.h"
#include "frame_write.h"

/* 300 dots per inch. */
#define DOTS_PER_METRE 11811

static void
fail_long(png_structp png, png_const_charp text)
{
    (void)text;
    png_longjmp(png, 1);
}

static void
stay_quiet(png_structp png, png_const_charp text)
{
    (void)png;
    (void)text;
}

static void
set_facts(png_structp png, png_infop info, const struct gr_writing *w)
{
    unsigned char exif[GR_EXIF_MAX];
    size_t size = gr_exif_stream(w->recipe, exif);
    int bits = w->recipe->depth == GR_DEPTH_8 ? 8 : 16;
    int colour = w->picture->channels == 1 ? PNG_COLOR_TYPE_GRAY : PNG_COLOR_TYPE_RGB;

    png_set_IHDR(png, info, (png_uint_32)w->picture->width,
                 (png_uint_32)w->picture->height, bits, colour, PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_set_pHYs(png, info, DOTS_PER_METRE, DOTS_PER_METRE, PNG_RESOLUTION_METER);
    png_set_iCCP(png, info, w->recipe->space->name, PNG_COMPRESSION_TYPE_BASE,
                 w->profile->bytes, (png_uint_32)w->profile->size);
    png_write_info(png, info);
    /* libpng itself would put it behind the picture, where few look. */
    png_write_chunk(png, (png_const_bytep) "eXIf", exif, size);
}

/* PNG puts the high byte first; this makes it so on every machine. */
static void
high_byte_first(unsigned char *bytes, size_t count)
{
    const uint16_t *words = (const uint16_t *)(const void *)bytes;

    for (size_t i = 0; i < count; i++) {
        uint16_t word = words[i];

        bytes[2 * i] = (unsigned char)(word >> 8);
        bytes[2 * i + 1] = (unsigned char)(word & 0xff);
    }
}

static void
write_rows(png_structp png, const struct gr_writing *w, unsigned char *row)
{
    size_t count = (size_t)w->picture->width * (size_t)w->picture->channels;

    for (int y = 0; y < w->picture->height; y++) {
        gr_encode(w->encoder, gr_picture_row(w->picture, y), count, row);
        if (w->recipe->depth == GR_DEPTH_16)
            high_byte_first(row, count);
        png_write_row(png, row);
    }
}

/* Everything that libpng may jump out of; nothing here is owned by this function. */
static int
write_whole(png_structp png, png_infop info, const struct gr_writing *w,
            unsigned char *row)
{
    if (setjmp(png_jmpbuf(png)) != 0)
        return 0;
    set_facts(png, info, w);
    write_rows(png, w, row);
    png_write_end(png, info);
    return 1;
}

static int
write_to(FILE *file, const struct gr_writing *w, unsigned char *row)
{
    png_structp png =
        png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, fail_long, stay_quiet);
    png_infop info = png != NULL ? png_create_info_struct(png) : NULL;
    int good = 0;

    if (info != NULL) {
        png_init_io(png, file);
        good = write_whole(png, info, w, row);
    }
    png_destroy_write_struct(&png, &info);
    return good;
}

enum qs_status
gr_write_png(const struct gr_writing *writing, const char *path, struct qs_error *err)
{
    size_t count = (size_t)writing->picture->width * (size_t)writing->picture->channels;
    unsigned char *row = qs_alloc(count, gr_encoder_sample_bytes(writing->encoder));
    FILE *file;
    int good;

    if (row == NULL)
        return qs_fail_memory(err);
    file = fopen(path, "wb");
    good = file != NULL && write_to(file, writing, row);
    if (file != NULL && fclose(file) != 0)
        good = 0;
    qs_free(row);
    if (!good)
        return qs_fail(
            err, QS_ERR_WRITE,
            "The frame could not be written whole; see whether the folder exists "
            "and has room.");
    return QS_OK;
}
