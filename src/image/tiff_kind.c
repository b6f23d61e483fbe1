/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/tiff_kind.h"

#include <string.h>

#define PHOTOMETRIC_LINEAR_RAW_CODE 34892 /* DNG */

static const struct photometric {
    unsigned code;
    int channels;        /* 0 = refused */
    const char *refusal; /* what the file holds and why that is no measure of light */
} photometrics[] = {
    {PHOTOMETRIC_MINISBLACK, 1, NULL},
    {PHOTOMETRIC_MINISWHITE, 1, NULL},
    {PHOTOMETRIC_RGB, 3, NULL},
    {PHOTOMETRIC_PALETTE, 0,
     "This TIFF holds palette colours, too few to measure noise in; export the picture "
     "again as 16-bit RGB."},
    {PHOTOMETRIC_MASK, 0,
     "This TIFF holds a transparency mask and no picture; export the picture as 16-bit "
     "RGB."},
    {PHOTOMETRIC_SEPARATED, 0,
     "This TIFF holds CMYK ink values, which can't be measured as light; export the "
     "picture again as 16-bit RGB."},
    {PHOTOMETRIC_YCBCR, 0,
     "This TIFF holds YCbCr values, whose colour has been thinned out; export the "
     "picture again as an uncompressed 16-bit RGB TIFF."},
    {PHOTOMETRIC_CIELAB, 0,
     "This TIFF holds Lab values, which mix the noise of the colour channels; export "
     "the picture again as 16-bit RGB."},
    {PHOTOMETRIC_ICCLAB, 0,
     "This TIFF holds ICC Lab values, which mix the noise of the colour channels; "
     "export the picture again as 16-bit RGB."},
    {PHOTOMETRIC_ITULAB, 0,
     "This TIFF holds fax Lab values, which mix the noise of the colour channels; "
     "export the picture again as 16-bit RGB."},
    {PHOTOMETRIC_LOGL, 0,
     "This TIFF holds logarithmic luminance (LogL); export the picture again as 16-bit "
     "or float RGB."},
    {PHOTOMETRIC_LOGLUV, 0,
     "This TIFF holds logarithmic colour (LogLuv); export the picture again as 16-bit "
     "or "
     "float RGB."},
    {PHOTOMETRIC_CFA, 0,
     "This TIFF holds a sensor's mosaic, one colour a pixel; develop it and export the "
     "picture as 16-bit RGB."},
    {PHOTOMETRIC_LINEAR_RAW_CODE, 0,
     "This TIFF holds undeveloped camera colour (linear raw); develop it and export "
     "the "
     "picture as 16-bit RGB."},
};

static const struct sample_kind {
    unsigned format;
    int bits;
    enum qs_sample sample;
} sample_kinds[] = {
    {SAMPLEFORMAT_UINT, 8, QS_SAMPLE_U8},     {SAMPLEFORMAT_UINT, 16, QS_SAMPLE_U16},
    {SAMPLEFORMAT_UINT, 32, QS_SAMPLE_U32},   {SAMPLEFORMAT_IEEEFP, 16, QS_SAMPLE_F32},
    {SAMPLEFORMAT_IEEEFP, 32, QS_SAMPLE_F32}, {SAMPLEFORMAT_IEEEFP, 64, QS_SAMPLE_F64},
};

static const struct packing {
    unsigned code;
    const char *name;
} packings[] = {
    {COMPRESSION_NONE, "no compression"}, {COMPRESSION_LZW, "LZW"},
    {COMPRESSION_ADOBE_DEFLATE, "ZIP"},   {COMPRESSION_DEFLATE, "ZIP"},
    {COMPRESSION_PACKBITS, "PackBits"},   {COMPRESSION_ZSTD, "zstd"},
    {COMPRESSION_JPEG, "JPEG"},
};

static unsigned
short_field(TIFF *tiff, uint32_t tag)
{
    uint16_t value = 0;

    (void)TIFFGetFieldDefaulted(tiff, tag, &value);
    return value;
}

static uint32_t
long_field(TIFF *tiff, uint32_t tag)
{
    uint32_t value = 0;

    (void)TIFFGetFieldDefaulted(tiff, tag, &value);
    return value;
}

static enum qs_status
contradicts_itself(struct qs_error *err)
{
    return qs_fail(
        err, QS_ERR_READ,
        "The TIFF's description of its picture contradicts itself; the file is "
        "damaged: copy or export it again.");
}

static enum qs_status
understand_size(TIFF *tiff, struct qs_tiff_kind *kind, struct qs_error *err)
{
    uint32_t width = long_field(tiff, TIFFTAG_IMAGEWIDTH);
    uint32_t height = long_field(tiff, TIFFTAG_IMAGELENGTH);
    enum qs_status status = qs_reader_check_size(width, height, err);

    if (status != QS_OK)
        return status;
    kind->width = (int)width;
    kind->height = (int)height;
    return QS_OK;
}

static enum qs_status
understand_colour(TIFF *tiff, struct qs_tiff_kind *kind, struct qs_error *err)
{
    uint16_t code = 0;

    if (TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &code) == 0)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This TIFF doesn't say whether it is grey or RGB (tag 262 is "
                       "missing); export the picture again as 16-bit RGB.");
    for (size_t i = 0; i < sizeof photometrics / sizeof photometrics[0]; i++) {
        if (photometrics[i].code != code)
            continue;
        if (photometrics[i].channels == 0)
            return qs_fail(err, QS_ERR_UNSUPPORTED, "%s", photometrics[i].refusal);
        kind->channels = photometrics[i].channels;
        kind->min_is_white = code == PHOTOMETRIC_MINISWHITE;
        return QS_OK;
    }
    return qs_fail(err, QS_ERR_UNSUPPORTED,
                   "This TIFF's kind of colour is unknown (tag 262 is %u); export the "
                   "picture again as 16-bit RGB.",
                   (unsigned)code);
}

static enum qs_status
refuse_samples(unsigned format, int bits, struct qs_error *err)
{
    if (format == SAMPLEFORMAT_INT)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This TIFF holds signed whole numbers (%d bits), in which black "
                       "has no fixed place; export the picture as unsigned 16-bit.",
                       bits);
    if (format == SAMPLEFORMAT_COMPLEXINT || format == SAMPLEFORMAT_COMPLEXIEEEFP)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This TIFF holds complex numbers and no picture; export the "
                       "picture as unsigned 16-bit.");
    if (format == SAMPLEFORMAT_IEEEFP)
        return qs_fail(
            err, QS_ERR_UNSUPPORTED,
            "This TIFF holds floats of %d bits, and those of 16, 32 and 64 are "
            "read; export the picture again as 16-bit or 32-bit float.",
            bits);
    if (bits == 1)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This TIFF is black and white without greys between (1 bit); "
                       "export the picture again as 16-bit grey or RGB.");
    return qs_fail(err, QS_ERR_UNSUPPORTED,
                   "This TIFF holds %d-bit samples, and those of 8, 16 and 32 bits are "
                   "read; export the picture again as 16-bit.",
                   bits);
}

static enum qs_status
understand_samples(TIFF *tiff, struct qs_tiff_kind *kind, struct qs_error *err)
{
    unsigned format = short_field(tiff, TIFFTAG_SAMPLEFORMAT);
    int bits = (int)short_field(tiff, TIFFTAG_BITSPERSAMPLE);

    if (format == SAMPLEFORMAT_VOID) /* "undefined": TIFF 6.0 says to take it as uint */
        format = SAMPLEFORMAT_UINT;
    for (size_t i = 0; i < sizeof sample_kinds / sizeof sample_kinds[0]; i++) {
        if (sample_kinds[i].format != format || sample_kinds[i].bits != bits)
            continue;
        kind->bits = bits;
        kind->sample = sample_kinds[i].sample;
        kind->is_float = format == SAMPLEFORMAT_IEEEFP;
        kind->is_half = kind->is_float && bits == 16;
        return QS_OK;
    }
    return refuse_samples(format, bits, err);
}

static enum qs_alpha
alpha_of(unsigned extra_kind)
{
    if (extra_kind == EXTRASAMPLE_ASSOCALPHA)
        return QS_ALPHA_MULTIPLIED;
    return extra_kind == EXTRASAMPLE_UNASSALPHA ? QS_ALPHA_STRAIGHT : QS_ALPHA_MASK;
}

/* The first that is alpha, or else the first. */
static void
choose_alpha(struct qs_tiff_kind *kind, const uint16_t *kinds, int named)
{
    kind->kept = kind->channels + 1;
    kind->alpha = QS_ALPHA_MASK;
    kind->alpha_at = kind->channels;
    for (int i = named - 1; i >= 0; i--)
        if (alpha_of(kinds[i]) != QS_ALPHA_MASK) {
            kind->alpha = alpha_of(kinds[i]);
            kind->alpha_at = kind->channels + i;
        }
}

/* Samples beyond the colour; those the file leaves unnamed count as "other". */
static enum qs_status
understand_extra(TIFF *tiff, struct qs_tiff_kind *kind, struct qs_error *err)
{
    uint16_t named = 0;
    uint16_t *kinds = NULL;
    int extra;

    kind->kept = kind->channels;
    kind->samples = (int)short_field(tiff, TIFFTAG_SAMPLESPERPIXEL);
    extra = kind->samples - kind->channels;
    if (extra < 0)
        return contradicts_itself(err);
    (void)TIFFGetFieldDefaulted(tiff, TIFFTAG_EXTRASAMPLES, &named, &kinds);
    if (kind->wants_alpha && extra > 0)
        choose_alpha(kind, kinds, named < extra ? named : extra);
    for (int i = 0; i < extra; i++) {
        bool is_alpha = i < named && alpha_of(kinds[i]) != QS_ALPHA_MASK;

        if (kind->kept > kind->channels && kind->channels + i == kind->alpha_at)
            continue;
        kind->had_alpha = kind->had_alpha || is_alpha;
        kind->had_extra = kind->had_extra || !is_alpha;
    }
    return QS_OK;
}

static enum qs_status
understand_packing(TIFF *tiff, struct qs_tiff_kind *kind, struct qs_error *err)
{
    unsigned code = short_field(tiff, TIFFTAG_COMPRESSION);
    const struct packing *packing = NULL;

    for (size_t i = 0; i < sizeof packings / sizeof packings[0]; i++)
        if (packings[i].code == code)
            packing = &packings[i];
    if (packing == NULL)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This TIFF is compressed in a way that is not read (code %u); "
                       "export it again uncompressed, or with LZW or ZIP.",
                       code);
    if (!TIFFIsCODECConfigured((uint16_t)code))
        return qs_fail(
            err, QS_ERR_UNSUPPORTED,
            "This TIFF is compressed with %s, which the TIFF library on this "
            "computer can't read; export it again with LZW or ZIP.",
            packing->name);
    kind->lossy = code == COMPRESSION_JPEG;
    kind->plain = code == COMPRESSION_NONE &&
                  short_field(tiff, TIFFTAG_FILLORDER) == FILLORDER_MSB2LSB;
    if (kind->lossy && kind->bits != 8)
        return qs_fail(err, QS_ERR_UNSUPPORTED,
                       "This TIFF is compressed with lossless JPEG, which is not read; "
                       "export it again uncompressed, or with LZW or ZIP.");
    return QS_OK;
}

static enum qs_status
understand_tiles(TIFF *tiff, struct qs_tiff_kind *kind, size_t sample_bytes,
                 struct qs_error *err)
{
    uint64_t width = long_field(tiff, TIFFTAG_TILEWIDTH);
    uint64_t height = long_field(tiff, TIFFTAG_TILELENGTH);
    enum qs_status status = qs_reader_check_size(width, height, err);
    uint64_t bytes;

    if (status != QS_OK)
        return status;
    kind->tile_width = (int)width;
    kind->tile_height = height < (uint64_t)kind->height ? (int)height : kind->height;
    bytes = width * height * sample_bytes;
    status = qs_reader_check_bytes(bytes, "tiles", err);
    if (status != QS_OK)
        return status;
    if (TIFFTileSize64(tiff) != bytes)
        return contradicts_itself(err);
    kind->tile_bytes = (size_t)bytes;
    return qs_reader_check_bytes((uint64_t)kind->tile_height * (uint64_t)kind->width *
                                     kind->pixel_bytes,
                                 "tiles", err);
}

static enum qs_status
understand_strips(TIFF *tiff, struct qs_tiff_kind *kind, size_t sample_bytes,
                  struct qs_error *err)
{
    uint32_t rows = long_field(tiff, TIFFTAG_ROWSPERSTRIP);
    uint64_t bytes = (uint64_t)kind->width * sample_bytes;
    enum qs_status status = qs_reader_check_bytes(bytes, "rows", err);

    if (status != QS_OK)
        return status;
    if (rows == 0 || TIFFScanlineSize64(tiff) != bytes)
        return contradicts_itself(err);
    kind->rows_per_strip = rows < (uint32_t)kind->height ? (int)rows : kind->height;
    kind->line_bytes = (size_t)bytes;
    return QS_OK;
}

static enum qs_status
understand_layout(TIFF *tiff, struct qs_tiff_kind *kind, struct qs_error *err)
{
    size_t sample_bytes = (size_t)kind->bits / 8;

    kind->planes = kind->samples > 1 &&
                   short_field(tiff, TIFFTAG_PLANARCONFIG) == PLANARCONFIG_SEPARATE;
    kind->tiled = TIFFIsTiled(tiff) != 0;
    kind->pixel_bytes = (size_t)kind->kept * sample_bytes;
    if (!kind->planes)
        sample_bytes *= (size_t)kind->samples;
    return kind->tiled ? understand_tiles(tiff, kind, sample_bytes, err)
                       : understand_strips(tiff, kind, sample_bytes, err);
}

enum qs_status
qs_tiff_understand(TIFF *tiff, bool with_alpha, struct qs_tiff_kind *kind,
                   struct qs_error *err)
{
    static enum qs_status (*const steps[])(TIFF *, struct qs_tiff_kind *,
                                           struct qs_error *) = {
        understand_size,  understand_colour,  understand_samples,
        understand_extra, understand_packing, understand_layout,
    };
    enum qs_status status = QS_OK;

    memset(kind, 0, sizeof *kind);
    kind->wants_alpha = with_alpha;
    for (size_t i = 0; i < sizeof steps / sizeof steps[0] && status == QS_OK; i++)
        status = steps[i](tiff, kind, err);
    return status;
}
