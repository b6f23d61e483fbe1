/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * TIFF files written by libtiff itself, over every kind that is taken, must come
 * back sample for sample.  Expected values are the ones written.
 */
#include <math.h>
#include <stdint.h>
#include <tiffio.h>

#include "check_main.h"
#include "image/half_float.h"
#include "image_check.h"

enum {
    WIDTH = 37,
    HEIGHT = 23,
    TILE = 16,
    STRIP_ROWS = 5,
    MOST_SAMPLES = 5
};

struct kind {
    unsigned format;
    int bits;
    enum qs_sample sample;
    size_t bytes; /* as handed out */
};

static const struct kind kinds[] = {
    {SAMPLEFORMAT_UINT, 8, QS_SAMPLE_U8, 1},
    {SAMPLEFORMAT_UINT, 16, QS_SAMPLE_U16, 2},
    {SAMPLEFORMAT_UINT, 32, QS_SAMPLE_U32, 4},
    {SAMPLEFORMAT_IEEEFP, 16, QS_SAMPLE_F32, 4},
    {SAMPLEFORMAT_IEEEFP, 32, QS_SAMPLE_F32, 4},
    {SAMPLEFORMAT_IEEEFP, 64, QS_SAMPLE_F64, 8},
};

struct packing {
    unsigned code;
    unsigned predictor;
};

static const struct packing packings[] = {
    {COMPRESSION_NONE, 1},          {COMPRESSION_LZW, 1},     {COMPRESSION_LZW, 2},
    {COMPRESSION_ADOBE_DEFLATE, 2}, {COMPRESSION_DEFLATE, 1}, {COMPRESSION_DEFLATE, 3},
    {COMPRESSION_PACKBITS, 1},      {COMPRESSION_ZSTD, 2},
};

struct colour {
    unsigned photometric;
    int channels;
    int extra;            /* samples */
    uint16_t extra_is[2]; /* their kinds */
    bool alpha;           /* expected of the reader */
    bool other;           /* likewise */
};

static const struct colour colours[] = {
    {PHOTOMETRIC_MINISBLACK, 1, 0, {0, 0}, false, false},
    {PHOTOMETRIC_MINISWHITE, 1, 0, {0, 0}, false, false},
    {PHOTOMETRIC_RGB, 3, 0, {0, 0}, false, false},
    {PHOTOMETRIC_RGB, 3, 1, {EXTRASAMPLE_UNASSALPHA, 0}, true, false},
    {PHOTOMETRIC_RGB, 3, 1, {EXTRASAMPLE_UNSPECIFIED, 0}, false, true},
    {PHOTOMETRIC_RGB,
     3,
     2,
     {EXTRASAMPLE_ASSOCALPHA, EXTRASAMPLE_UNSPECIFIED},
     true,
     true},
    {PHOTOMETRIC_MINISBLACK, 1, 1, {EXTRASAMPLE_UNASSALPHA, 0}, true, false},
};

static const char *const modes[] = {"wl", "wb", "wl8", "wb8"};

struct layout {
    bool planes;
    bool tiles;
};

static const struct layout layouts[] = {
    {false, false}, {true, false}, {false, true}, {true, true}};

struct variety {
    const struct kind *kind;
    const struct packing *packing;
    const struct colour *colour;
    const struct layout *layout;
    const char *mode;
    int strip_rows;
};

/* A well mixed 32-bit number for each sample of the picture. */
static uint32_t
code_at(int x, int y, int sample)
{
    uint32_t code = (uint32_t)(x * 7919 + y * 104729 + sample * 1299709 + 317);

    code ^= code >> 15;
    code *= 0x2c1b3c6dU;
    code ^= code >> 12;
    return code;
}

/* The value of a half from the definition, IEEE 754-2008, 3.4. */
static double
half_by_definition(unsigned half)
{
    double sign = (half & 0x8000U) != 0 ? -1.0 : 1.0;
    int exponent = (int)(half >> 10 & 0x1fU);
    double fraction = (double)(half & 0x3ffU) / 1024.0;

    if (exponent == 0)
        return sign * ldexp(fraction, -14);
    if (exponent == 31)
        return fraction == 0.0 ? sign * (double)INFINITY : (double)NAN;
    return sign * ldexp(1.0 + fraction, exponent - 15);
}

/* A half that is a number: the exponent of infinities and NaN is left out. */
static uint16_t
half_code(uint32_t code)
{
    uint16_t half = (uint16_t)(code >> 16);

    return (half & 0x7c00U) == 0x7c00U ? (uint16_t)(half & 0x83ffU) : half;
}

static double
float_value(uint32_t code)
{
    return ((double)code / 4294967296.0 - 0.317) * 3.17;
}

/* Writes the sample to `into` as stored in memory before writing. */
static void
put_stored(const struct kind *kind, uint32_t code, unsigned char *into)
{
    uint8_t u8 = (uint8_t)(code >> 24);
    uint16_t u16 =
        kind->format == SAMPLEFORMAT_IEEEFP ? half_code(code) : (uint16_t)(code >> 16);
    float f32 = (float)float_value(code);
    double f64 = float_value(code);

    if (kind->bits == 8)
        memcpy(into, &u8, 1);
    else if (kind->bits == 16)
        memcpy(into, &u16, 2);
    else if (kind->bits == 64)
        memcpy(into, &f64, 8);
    else if (kind->format == SAMPLEFORMAT_IEEEFP)
        memcpy(into, &f32, 4);
    else
        memcpy(into, &code, 4);
}

/* Writes the sample to `into` as it is to be handed out. */
static void
put_expected(const struct kind *kind, uint32_t code, bool white, unsigned char *into)
{
    uint8_t u8 = (uint8_t)(code >> 24);
    uint16_t u16 = (uint16_t)(code >> 16);
    uint32_t u32 = white ? 4294967295U - code : code;
    float f32 = kind->bits == 16 ? (float)half_by_definition(half_code(code))
                                 : (float)float_value(code);
    double f64 = float_value(code);

    if (white) {
        u8 = (uint8_t)(255 - u8);
        u16 = (uint16_t)(65535 - u16);
        f32 = 1.0F - f32;
        f64 = 1.0 - f64;
    }
    switch (kind->sample) {
    case QS_SAMPLE_U8:
        memcpy(into, &u8, 1);
        break;
    case QS_SAMPLE_U16:
        memcpy(into, &u16, 2);
        break;
    case QS_SAMPLE_U32:
        memcpy(into, &u32, 4);
        break;
    case QS_SAMPLE_F32:
        memcpy(into, &f32, 4);
        break;
    case QS_SAMPLE_F64:
        memcpy(into, &f64, 8);
        break;
    }
}

static int
samples_of(const struct variety *variety)
{
    return variety->colour->channels + variety->colour->extra;
}

static void
set_tags(TIFF *tiff, const struct variety *variety)
{
    const struct colour *colour = variety->colour;

    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, WIDTH);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, HEIGHT);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, variety->kind->bits);
    TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, variety->kind->format);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, samples_of(variety));
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, colour->photometric);
    if (colour->extra > 0)
        TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, colour->extra, colour->extra_is);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG,
                 variety->layout->planes ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, variety->packing->code);
    if (variety->packing->predictor != 1)
        TIFFSetField(tiff, TIFFTAG_PREDICTOR, variety->packing->predictor);
    if (variety->layout->tiles) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, TILE);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, TILE);
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, variety->strip_rows);
    }
}

/* One row of `columns` stored pixels from x on: of one sample, or (-1) of all. */
static void
put_row(const struct variety *variety, int x, int y, int columns, int only,
        unsigned char *into)
{
    size_t bytes = (size_t)variety->kind->bits / 8;
    int first = only < 0 ? 0 : only;
    int end = only < 0 ? samples_of(variety) : only + 1;

    for (int column = 0; column < columns; column++) {
        for (int sample = first; sample < end; sample++) {
            put_stored(variety->kind, code_at(x + column, y, sample), into);
            into += bytes;
        }
    }
}

static void
write_plane(TIFF *tiff, const struct variety *variety, int only)
{
    static unsigned char buffer[TILE * TILE * MOST_SAMPLES * 8 + WIDTH * 64];
    uint16_t plane = (uint16_t)(only < 0 ? 0 : only);

    if (!variety->layout->tiles) {
        for (int y = 0; y < HEIGHT; y++) {
            put_row(variety, 0, y, WIDTH, only, buffer);
            ck_assert_int_eq(TIFFWriteScanline(tiff, buffer, (uint32_t)y, plane), 1);
        }
        return;
    }
    for (int y = 0; y < HEIGHT; y += TILE) {
        for (int x = 0; x < WIDTH; x += TILE) {
            size_t row_bytes = (size_t)TIFFTileRowSize(tiff);

            for (int row = 0; row < TILE; row++)
                put_row(variety, x, y + row, TILE, only,
                        buffer + (size_t)row * row_bytes);
            ck_assert_int_gt(
                TIFFWriteTile(tiff, buffer, (uint32_t)x, (uint32_t)y, 0, plane), 0);
        }
    }
}

static void
write_picture(const char *path, const struct variety *variety)
{
    TIFF *tiff = TIFFOpen(path, variety->mode);

    ck_assert_ptr_nonnull(tiff);
    set_tags(tiff, variety);
    if (variety->layout->planes && samples_of(variety) > 1) {
        for (int sample = 0; sample < samples_of(variety); sample++)
            write_plane(tiff, variety, sample);
    } else {
        write_plane(tiff, variety, -1);
    }
    TIFFClose(tiff);
}

static unsigned char *
expected_rows(const struct variety *variety)
{
    const struct colour *colour = variety->colour;
    size_t bytes = variety->kind->bytes;
    unsigned char *rows = malloc(WIDTH * HEIGHT * 3 * 8);
    unsigned char *at = rows;

    ck_assert_ptr_nonnull(rows);
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++)
            for (int c = 0; c < colour->channels; c++, at += bytes)
                put_expected(variety->kind, code_at(x, y, c),
                             colour->photometric == PHOTOMETRIC_MINISWHITE, at);
    return rows;
}

static void
check_info(const struct variety *variety, const struct qs_image_info *info)
{
    ck_assert_int_eq(info->width, WIDTH);
    ck_assert_int_eq(info->height, HEIGHT);
    ck_assert_int_eq(info->channels, variety->colour->channels);
    ck_assert_int_eq(info->bits, variety->kind->bits);
    ck_assert_int_eq(info->sample, variety->kind->sample);
    ck_assert_int_eq(info->is_float, variety->kind->format == SAMPLEFORMAT_IEEEFP);
    ck_assert_int_eq(info->had_alpha, variety->colour->alpha);
    ck_assert_int_eq(info->had_extra, variety->colour->other);
    ck_assert_int_eq(info->pages, 1);
    ck_assert(!info->lossy);
}

static void
check_rows(struct qs_image *image, int first, int rows, const unsigned char *expected)
{
    size_t row_bytes = qs_image_row_bytes(image);
    unsigned char *got = malloc((size_t)rows * row_bytes + 1);
    struct qs_error err;

    qs_error_clear(&err);
    ck_assert_ptr_nonnull(got);
    ck_assert_msg(qs_image_read(image, rows, got, &err) == QS_OK, "%s", err.text);
    ck_assert_mem_eq(got, expected + (size_t)first * row_bytes,
                     (size_t)rows * row_bytes);
    free(got);
}

/* All at once; then with gaps inside and across strips and tiles; then the last row. */
static void
check_passes(struct qs_image *image, const unsigned char *expected)
{
    check_rows(image, 0, HEIGHT, expected);
    ck_assert_int_eq(qs_image_rewind(image, NULL), QS_OK);
    check_rows(image, 0, 1, expected);
    ck_assert_int_eq(qs_image_skip(image, 2, NULL), QS_OK);
    check_rows(image, 3, 3, expected);
    ck_assert_int_eq(qs_image_skip(image, 7, NULL), QS_OK);
    check_rows(image, 13, 2, expected);
    ck_assert_int_eq(qs_image_rewind(image, NULL), QS_OK);
    check_rows(image, 0, 2, expected);
    ck_assert_int_eq(qs_image_rewind(image, NULL), QS_OK);
    ck_assert_int_eq(qs_image_skip(image, HEIGHT - 1, NULL), QS_OK);
    check_rows(image, HEIGHT - 1, 1, expected);
}

static void
check_variety(const char *path, const struct variety *variety)
{
    unsigned char *expected = expected_rows(variety);
    struct qs_error err;
    struct qs_image *image;

    qs_error_clear(&err);
    write_picture(path, variety);
    ck_assert_msg(qs_image_open(path, &image, &err) == QS_OK, "%s", err.text);
    check_info(variety, qs_image_info(image));
    check_passes(image, expected);
    qs_image_close(image);
    free(expected);
}

/* Predictor 2 for 64 bits came with libtiff 4.4; predictor 3 is for floats alone. */
static bool
can_be_written(const struct kind *kind, const struct packing *packing)
{
    if (!TIFFIsCODECConfigured((uint16_t)packing->code))
        return false;
    if (packing->predictor == 2 && kind->bits == 64)
        return TIFFLIB_VERSION >= 20220520; /* 4.4.0 */
    return packing->predictor != 3 || kind->format == SAMPLEFORMAT_IEEEFP;
}

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/*
 * libtiff (4.5.0 at least) swaps the bytes before predictor 3 when it writes files of
 * the other byte order, where the predictor has an order of its own; it reads them
 * as Adobe's TIFF technical note 3 has it.  raw_strips_in_other_order tests these.
 */
static const char *
mode_for(const struct packing *packing, size_t turn)
{
    const char *mode = modes[turn % COUNT(modes)];

    return packing->predictor == 3 && mode[1] == 'b' ? "wl" : mode;
}

/* Kinds, packings and layouts in all combinations; colours and modes take turns. */
START_TEST(every_kind_comes_back)
{
    char path[64];
    size_t turn = 0;

    (void)TIFFSetWarningHandler(NULL); /* on writing the older code of deflate */
    scratch_file(path);
    for (size_t kind = 0; kind < COUNT(kinds); kind++) {
        for (size_t packing = 0; packing < COUNT(packings); packing++) {
            if (!can_be_written(&kinds[kind], &packings[packing]))
                continue;
            for (size_t i = 0; i < COUNT(layouts) * COUNT(colours); i++, turn++) {
                struct variety variety = {&kinds[kind],
                                          &packings[packing],
                                          &colours[i % COUNT(colours)],
                                          &layouts[i / COUNT(colours)],
                                          mode_for(&packings[packing], turn),
                                          turn % 3 == 0 ? HEIGHT : STRIP_ROWS};

                check_variety(path, &variety);
            }
        }
    }
    (void)unlink(path);
}
END_TEST

/* The same encoded strips under a header of the other byte order. */
static void
copy_encoded(const char *from_path, const char *to_path, const struct variety *variety)
{
    static unsigned char buffer[1 << 16];
    TIFF *from = TIFFOpen(from_path, "r");
    TIFF *to = TIFFOpen(to_path, "wb");

    set_tags(to, variety);
    for (uint32_t strip = 0; strip < TIFFNumberOfStrips(from); strip++) {
        tmsize_t bytes = TIFFReadRawStrip(from, strip, buffer, sizeof buffer);

        ck_assert_int_gt(bytes, 0);
        ck_assert_int_eq(TIFFWriteRawStrip(to, strip, buffer, bytes), bytes);
    }
    TIFFClose(from);
    TIFFClose(to);
}

/* Predictor 3 orders bytes by significance, whatever the file's byte order. */
START_TEST(raw_strips_in_other_order)
{
    static const struct packing packing = {COMPRESSION_ADOBE_DEFLATE, 3};
    char path[64];
    char other_path[64];

    scratch_file(path);
    scratch_file(other_path);
    for (size_t kind = 0; kind < COUNT(kinds); kind++) {
        struct variety variety = {&kinds[kind], &packing, &colours[2],
                                  &layouts[0],  "wl",     STRIP_ROWS};
        struct picture picture;
        unsigned char *expected;

        if (!can_be_written(&kinds[kind], &packing))
            continue;
        expected = expected_rows(&variety);
        write_picture(path, &variety);
        copy_encoded(path, other_path, &variety);
        picture_read(other_path, &picture);
        ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
        ck_assert_mem_eq(picture.rows, expected, picture_bytes(&picture));
        picture_clear(&picture);
        free(expected);
    }
    (void)unlink(path);
    (void)unlink(other_path);
}
END_TEST

START_TEST(halves_are_exact)
{
    for (unsigned half = 0; half <= 0xffffU; half++) {
        double expected = half_by_definition(half);
        float got = qs_half_to_float((uint16_t)half);

        if (isnan(expected)) {
            ck_assert(isnan(got));
            continue;
        }
        ck_assert((double)got == expected);
        ck_assert_int_eq(signbit(got) != 0, (half & 0x8000U) != 0);
    }
}
END_TEST

/* A plain 8-bit grey page of the given size. */
static void
write_page(TIFF *tiff, int width, int height, uint32_t subfile, unsigned char value)
{
    unsigned char row[64];

    memset(row, value, sizeof row);
    TIFFSetField(tiff, TIFFTAG_SUBFILETYPE, subfile);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    for (int y = 0; y < height; y++)
        ck_assert_int_eq(TIFFWriteScanline(tiff, row, (uint32_t)y, 0), 1);
    ck_assert_int_eq(TIFFWriteDirectory(tiff), 1);
}

struct page {
    int width;
    int height;
    uint32_t subfile;
};

struct page_case {
    struct page pages[4]; /* width 0 ends */
    int taken;            /* index; -1 = refused */
    int count;
};

static const struct page_case page_cases[] = {
    {{{31, 17, 0}}, 0, 1},
    {{{31, 17, 0}, {8, 5, FILETYPE_REDUCEDIMAGE}}, 0, 1},
    {{{8, 5, FILETYPE_REDUCEDIMAGE}, {31, 17, 0}}, 1, 1},
    {{{8, 5, 0}, {31, 17, 0}, {31, 17, 0}}, 1, 2},
    {{{31, 17, 0}, {31, 17, FILETYPE_MASK}, {31, 17, 0}}, 0, 2},
    {{{31, 17, FILETYPE_PAGE}, {31, 17, FILETYPE_PAGE}}, 0, 2},
    {{{50, 50, FILETYPE_REDUCEDIMAGE}, {31, 17, 0}}, 1, 1},
    {{{8, 5, FILETYPE_REDUCEDIMAGE}}, -1, 0},
};

START_TEST(the_full_size_page_is_taken)
{
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(page_cases); i++) {
        const struct page_case *row = &page_cases[i];
        TIFF *tiff = TIFFOpen(path, "w");
        struct picture picture;

        for (int p = 0; p < 4 && row->pages[p].width > 0; p++)
            write_page(tiff, row->pages[p].width, row->pages[p].height,
                       row->pages[p].subfile, (unsigned char)(31 * p + 7));
        TIFFClose(tiff);
        picture_read(path, &picture);
        if (row->taken < 0) {
            ck_assert_int_eq(picture.status, QS_ERR_UNSUPPORTED);
            continue;
        }
        ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
        ck_assert_int_eq(picture.info.width, row->pages[row->taken].width);
        ck_assert_int_eq(picture.rows[0], 31 * row->taken + 7);
        ck_assert_int_eq(picture.info.pages, row->count);
        picture_clear(&picture);
    }
    (void)unlink(path);
}
END_TEST

struct ppi_case {
    double per_unit;
    unsigned unit;
    double ppi;
};

static const struct ppi_case ppi_cases[] = {
    {300.0, RESUNIT_INCH, 300.0},
    {118.11, RESUNIT_CENTIMETER, 118.11 * 2.54},
    {72.0, RESUNIT_NONE, 0.0},
    {0.0, RESUNIT_INCH, 0.0},
};

START_TEST(resolution_and_profile)
{
    static const unsigned char profile[] = "not a profile, but bytes all the same";
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(ppi_cases); i++) {
        TIFF *tiff = TIFFOpen(path, "w");
        struct qs_image *image;
        const struct qs_image_info *info;

        TIFFSetField(tiff, TIFFTAG_XRESOLUTION, ppi_cases[i].per_unit);
        TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, ppi_cases[i].unit);
        TIFFSetField(tiff, TIFFTAG_ICCPROFILE, (uint32_t)sizeof profile, profile);
        write_page(tiff, 31, 17, 0, 77);
        TIFFClose(tiff);
        ck_assert_int_eq(qs_image_open(path, &image, NULL), QS_OK);
        info = qs_image_info(image);
        /* Resolutions are rationals given as float: 24 bits. */
        ck_assert_double_eq_tol(info->ppi, ppi_cases[i].ppi, 1e-6 * 300.0);
        ck_assert_int_eq(info->colour.claim, QS_CLAIM_ICC);
        ck_assert_uint_eq(info->colour.icc_size, sizeof profile);
        ck_assert_mem_eq(info->colour.icc, profile, sizeof profile);
        qs_image_close(image);
    }
    (void)unlink(path);
}
END_TEST

struct refusal {
    unsigned photometric;
    unsigned format;
    int bits;
    int samples;
    const char *word; /* in the sentence */
};

static const struct refusal refusals[] = {
    {PHOTOMETRIC_SEPARATED, SAMPLEFORMAT_UINT, 16, 4, "CMYK"},
    {PHOTOMETRIC_CIELAB, SAMPLEFORMAT_UINT, 16, 3, "Lab"},
    {PHOTOMETRIC_YCBCR, SAMPLEFORMAT_UINT, 8, 3, "YCbCr"},
    {PHOTOMETRIC_CFA, SAMPLEFORMAT_UINT, 16, 1, "mosaic"},
    {34892, SAMPLEFORMAT_UINT, 16, 3, "linear raw"},
    {PHOTOMETRIC_MASK, SAMPLEFORMAT_UINT, 1, 1, "mask"},
    {12345, SAMPLEFORMAT_UINT, 16, 1, "12345"},
    {PHOTOMETRIC_RGB, SAMPLEFORMAT_INT, 16, 3, "signed"},
    {PHOTOMETRIC_MINISBLACK, SAMPLEFORMAT_INT, 8, 1, "signed"},
    {PHOTOMETRIC_MINISBLACK, SAMPLEFORMAT_COMPLEXIEEEFP, 64, 1, "complex"},
    {PHOTOMETRIC_MINISBLACK, SAMPLEFORMAT_UINT, 1, 1, "1 bit"},
    {PHOTOMETRIC_MINISBLACK, SAMPLEFORMAT_UINT, 4, 1, "4-bit"},
    {PHOTOMETRIC_MINISBLACK, SAMPLEFORMAT_UINT, 12, 1, "12-bit"},
    {PHOTOMETRIC_MINISBLACK, SAMPLEFORMAT_UINT, 64, 1, "64-bit"},
    {PHOTOMETRIC_MINISBLACK, SAMPLEFORMAT_IEEEFP, 24, 1, "24 bits"},
};

START_TEST(what_is_no_light_is_refused)
{
    static unsigned char row[1024];
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(refusals); i++) {
        const struct refusal *refusal = &refusals[i];
        TIFF *tiff = TIFFOpen(path, "w");
        struct picture picture;

        TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, 8);
        TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 2);
        TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, refusal->bits);
        TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, refusal->format);
        TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, refusal->samples);
        TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
        if (refusal->photometric == PHOTOMETRIC_YCBCR)
            TIFFSetField(tiff, TIFFTAG_YCBCRSUBSAMPLING, 1, 1);
        TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, refusal->photometric);
        (void)TIFFWriteScanline(tiff, row, 0, 0);
        (void)TIFFWriteScanline(tiff, row, 1, 0);
        TIFFClose(tiff);
        picture_read(path, &picture);
        ck_assert_msg(picture.status == QS_ERR_UNSUPPORTED, "row %zu: %d %s", i,
                      (int)picture.status, picture.err.text);
        ck_assert_ptr_nonnull(strstr(picture.err.text, refusal->word));
        ck_assert_ptr_nonnull(strstr(picture.err.text, "export"));
    }
    (void)unlink(path);
}
END_TEST

struct size_case {
    uint32_t width;
    uint32_t height;
    uint32_t tile; /* side, 0 = strips */
    int samples;
    const char *word;
};

/* 1 GiB is 2^30 bytes; 16-bit samples. */
static const struct size_case size_cases[] = {
    {1000001, 1, 0, 1, "1000001 x 1"},  {1, 1000001, 0, 1, "1000000"},
    {1000000, 2, 0, 537, "rows"},       /* 1.074e9 bytes a row, 2^30 = 1.0737e9 */
    {100, 100, 32768, 1, "tiles"},      /* 2^31 bytes a tile */
    {1000000, 1000, 16384, 1, "tiles"}, /* 2^29 a tile, and 2e9 in a row of them */
};

START_TEST(too_large_is_refused)
{
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(size_cases); i++) {
        const struct size_case *row = &size_cases[i];
        static uint16_t extra[600];
        TIFF *tiff = TIFFOpen(path, "w");
        struct picture picture;

        TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, row->width);
        TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, row->height);
        TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
        TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, row->samples);
        TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
        TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
        if (row->samples > 1)
            TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, row->samples - 1, extra);
        if (row->tile > 0) {
            TIFFSetField(tiff, TIFFTAG_TILEWIDTH, row->tile);
            TIFFSetField(tiff, TIFFTAG_TILELENGTH, row->tile);
        }
        ck_assert_int_eq(row->tile > 0 ? TIFFWriteRawTile(tiff, 0, extra, 2)
                                       : TIFFWriteRawStrip(tiff, 0, extra, 2),
                         2); /* libtiff reads no page without any data */
        TIFFClose(tiff);
        picture_read(path, &picture);
        ck_assert_msg(picture.status == QS_ERR_UNSUPPORTED, "row %zu: %s", i,
                      picture.err.text);
        ck_assert_ptr_nonnull(strstr(picture.err.text, row->word));
    }
    (void)unlink(path);
}
END_TEST

/* FillOrder 2: the bits of each byte are stored the other way round. */
START_TEST(turned_bits_are_turned_back)
{
    static const unsigned char row[4] = {0x01, 0x23, 0x7f, 0xc1};
    char path[64];
    TIFF *tiff;
    struct picture picture;

    scratch_file(path);
    tiff = TIFFOpen(path, "w");
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, 4);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 1);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    TIFFSetField(tiff, TIFFTAG_FILLORDER, FILLORDER_LSB2MSB);
    ck_assert_int_eq(TIFFWriteScanline(tiff, (void *)(uintptr_t)row, 0, 0), 1);
    TIFFClose(tiff);
    picture_read(path, &picture);
    ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
    ck_assert_mem_eq(picture.rows, row, sizeof row);
    picture_clear(&picture);
    (void)unlink(path);
}
END_TEST

START_TEST(jpeg_in_rgb_is_read_and_marked)
{
    static unsigned char row[48 * 3];
    char path[64];
    TIFF *tiff;
    struct picture picture;

    if (!TIFFIsCODECConfigured(COMPRESSION_JPEG))
        return;
    scratch_file(path);
    tiff = TIFFOpen(path, "w");
    memset(row, 0x51, sizeof row);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, 48);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 32);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_JPEG);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 16);
    for (uint32_t y = 0; y < 32; y++)
        ck_assert_int_eq(TIFFWriteScanline(tiff, row, y, 0), 1);
    TIFFClose(tiff);
    picture_read(path, &picture);
    ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
    ck_assert(picture.info.lossy);
    /* A flat block is its DC term, quantised: near, and the same all over. */
    ck_assert_int_le(abs(picture.rows[0] - 0x51), 3);
    picture_clear(&picture);
    (void)unlink(path);
}
END_TEST

START_TEST(what_cannot_be_opened_says_so)
{
    static const struct {
        const char *path;
        enum qs_status status;
    } cases[] = {
        {"/tmp", QS_ERR_OPEN},
        {"/tmp/there/is/no/such.tif", QS_ERR_OPEN},
        {"/dev/null", QS_ERR_OPEN},
        {"", QS_ERR_OPEN},
    };
    static const unsigned char jpeg[] = {0xff, 0xd8, 0xff, 0xe1, 0, 1, 2, 3};
    char path[64];
    struct picture picture;

    for (size_t i = 0; i < COUNT(cases); i++) {
        picture_read(cases[i].path, &picture);
        ck_assert_int_eq(picture.status, cases[i].status);
        ck_assert_uint_gt(strlen(picture.err.text), 0);
    }
    scratch_file(path);
    picture_read(path, &picture); /* empty */
    ck_assert_int_eq(picture.status, QS_ERR_READ);
    write_bytes(path, jpeg, sizeof jpeg);
    picture_read(path, &picture);
    ck_assert_int_eq(picture.status, QS_ERR_UNSUPPORTED);
    ck_assert_ptr_nonnull(strstr(picture.err.text, "JPEG"));
    (void)unlink(path);
}
END_TEST

QS_TEST_MAIN("image_tiff", every_kind_comes_back, raw_strips_in_other_order,
             halves_are_exact, the_full_size_page_is_taken, resolution_and_profile,
             what_is_no_light_is_refused, too_large_is_refused,
             turned_bits_are_turned_back, jpeg_in_rgb_is_read_and_marked,
             what_cannot_be_opened_says_so)
