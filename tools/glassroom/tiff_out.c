/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdint.h>
#include <tiffio.h>

#include "base/memory.h"
#include "frame_write.h"

enum {
    STRIP_ROWS = 16,
    BATCH_STRIPS = 32 /* encoded at a time, by all threads */
};

struct batch {
    const struct gr_writing *writing;
    unsigned char *bytes;
    size_t strip_bytes;
    int first_row;
};

static int
rows_of_strip(int height, int first_row)
{
    return height - first_row < STRIP_ROWS ? height - first_row : STRIP_ROWS;
}

static void
encode_strip(void *context, int index)
{
    const struct batch *b = context;
    const struct gr_picture *p = b->writing->picture;
    int y = b->first_row + index * STRIP_ROWS;
    size_t row = (size_t)p->width * (size_t)p->channels;

    gr_encode(b->writing->encoder, gr_picture_row(p, y),
              row * (size_t)rows_of_strip(p->height, y),
              b->bytes + (size_t)index * b->strip_bytes);
}

static int
write_batch(TIFF *tif, struct batch *b)
{
    const struct gr_picture *p = b->writing->picture;
    int strips = (p->height - b->first_row + STRIP_ROWS - 1) / STRIP_ROWS;

    if (strips > BATCH_STRIPS)
        strips = BATCH_STRIPS;
    qs_pool_run(b->writing->pool, strips, encode_strip, b);
    for (int i = 0; i < strips; i++) {
        int y = b->first_row + i * STRIP_ROWS, rows = rows_of_strip(p->height, y);
        size_t size = b->strip_bytes / STRIP_ROWS * (size_t)rows;

        if (TIFFWriteEncodedStrip(tif, (uint32_t)(y / STRIP_ROWS),
                                  b->bytes + (size_t)i * b->strip_bytes,
                                  (tmsize_t)size) < 0)
            return 0;
    }
    b->first_row += strips * STRIP_ROWS;
    return 1;
}

static enum qs_status
write_strips(TIFF *tif, const struct gr_writing *w, struct qs_error *err)
{
    struct batch b = {.writing = w,
                      .strip_bytes = (size_t)w->picture->width *
                                     (size_t)w->picture->channels *
                                     gr_encoder_sample_bytes(w->encoder) * STRIP_ROWS};
    int good = 1;

    b.bytes = qs_alloc(b.strip_bytes, BATCH_STRIPS);
    if (b.bytes == NULL)
        return qs_fail_memory(err);
    while (good && b.first_row < w->picture->height)
        good = write_batch(tif, &b);
    qs_free(b.bytes);
    if (!good)
        return qs_fail(
            err, QS_ERR_WRITE,
            "The frame could not be written whole; see whether the disk is full.");
    return QS_OK;
}

/* Written first, so that the picture's directory is written once, at its end. */
static int
write_exif(TIFF *tif, const struct gr_recipe *r, uint64_t *offset)
{
    uint16_t iso = (uint16_t)r->sensor.iso;
    int good = TIFFCreateEXIFDirectory(tif) == 0 &&
               TIFFSetField(tif, EXIFTAG_EXIFVERSION, "0230") &&
               TIFFSetField(tif, EXIFTAG_EXPOSURETIME, r->exposure_s) &&
               TIFFSetField(tif, EXIFTAG_FNUMBER, r->f_number) &&
               TIFFSetField(tif, EXIFTAG_ISOSPEEDRATINGS, 1, &iso) &&
               TIFFSetField(tif, EXIFTAG_DATETIMEORIGINAL, GR_DATE) &&
               TIFFSetField(tif, EXIFTAG_EXPOSUREBIASVALUE, r->bias_stops) &&
               TIFFWriteCustomDirectory(tif, offset);

    TIFFFreeDirectory(tif);
    return good && TIFFCreateDirectory(tif) == 0;
}

static int
set_layout(TIFF *tif, const struct gr_writing *w)
{
    static const uint16_t compression[] = {[GR_COMPRESS_NONE] = COMPRESSION_NONE,
                                           [GR_COMPRESS_LZW] = COMPRESSION_LZW,
                                           [GR_COMPRESS_DEFLATE] =
                                               COMPRESSION_ADOBE_DEFLATE};
    const struct gr_recipe *r = w->recipe;
    int is_float = r->depth == GR_DEPTH_32F;
    int predictor = is_float ? PREDICTOR_FLOATINGPOINT : PREDICTOR_HORIZONTAL;
    int bits = 8 * (int)gr_encoder_sample_bytes(w->encoder);
    int colour = w->picture->channels == 1 ? PHOTOMETRIC_MINISBLACK : PHOTOMETRIC_RGB;

    return TIFFSetField(tif, TIFFTAG_IMAGEWIDTH, (uint32_t)w->picture->width) &&
           TIFFSetField(tif, TIFFTAG_IMAGELENGTH, (uint32_t)w->picture->height) &&
           TIFFSetField(tif, TIFFTAG_SAMPLESPERPIXEL, w->picture->channels) &&
           TIFFSetField(tif, TIFFTAG_BITSPERSAMPLE, bits) &&
           TIFFSetField(tif, TIFFTAG_SAMPLEFORMAT,
                        is_float ? SAMPLEFORMAT_IEEEFP : SAMPLEFORMAT_UINT) &&
           TIFFSetField(tif, TIFFTAG_PHOTOMETRIC, colour) &&
           TIFFSetField(tif, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG) &&
           TIFFSetField(tif, TIFFTAG_ROWSPERSTRIP, STRIP_ROWS) &&
           TIFFSetField(tif, TIFFTAG_COMPRESSION, compression[r->compression]) &&
           (r->compression == GR_COMPRESS_NONE ||
            TIFFSetField(tif, TIFFTAG_PREDICTOR, predictor));
}

static int
set_facts(TIFF *tif, const struct gr_writing *w, uint64_t exif)
{
    return TIFFSetField(tif, TIFFTAG_ORIENTATION, w->recipe->orientation) &&
           TIFFSetField(tif, TIFFTAG_XRESOLUTION, 300.0) &&
           TIFFSetField(tif, TIFFTAG_YRESOLUTION, 300.0) &&
           TIFFSetField(tif, TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH) &&
           TIFFSetField(tif, TIFFTAG_MAKE, GR_MAKER) &&
           TIFFSetField(tif, TIFFTAG_MODEL, GR_MODEL) &&
           TIFFSetField(tif, TIFFTAG_SOFTWARE, GR_SOFTWARE) &&
           TIFFSetField(tif, TIFFTAG_DATETIME, GR_DATE) &&
           TIFFSetField(tif, TIFFTAG_ICCPROFILE, (uint32_t)w->profile->size,
                        w->profile->bytes) &&
           TIFFSetField(tif, TIFFTAG_EXIFIFD, exif);
}

enum qs_status
gr_write_tiff(const struct gr_writing *writing, const char *path, struct qs_error *err)
{
    TIFF *tif = TIFFOpen(path, "wl");
    enum qs_status status;
    uint64_t exif = 0;

    if (tif == NULL)
        return qs_fail(
            err, QS_ERR_WRITE,
            "The frame could not be opened for writing; see whether the folder "
            "exists and may be written to.");
    if (!write_exif(tif, writing->recipe, &exif) || !set_layout(tif, writing) ||
        !set_facts(tif, writing, exif))
        status = qs_fail(err, QS_ERR_WRITE, "The frame's tags could not be written.");
    else
        status = write_strips(tif, writing, err);
    if (status == QS_OK && !TIFFFlush(tif))
        status =
            qs_fail(err, QS_ERR_WRITE,
                    "The frame could not be finished; see whether the disk is full.");
    TIFFClose(tif);
    return status;
}
