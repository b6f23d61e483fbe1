/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * PNG files: pixels written by libpng come back; colour chunks put together here
 * byte by byte test the order of belief (PNG 3rd edition, 4.3).  Expected values
 * are the ones written, or said by the specification.
 */
#include <lcms2.h>
#include <png.h>
#include <setjmp.h>
#include <stdint.h>

#include "check_main.h"
#include "image_check.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

enum {
    WIDTH = 37,
    HEIGHT = 23
};

struct kind {
    int type;
    int bits;
    int interlace;
    int samples;  /* stored */
    int channels; /* handed out */
    bool alpha;
};

static const struct kind kinds[] = {
    {PNG_COLOR_TYPE_GRAY, 8, PNG_INTERLACE_NONE, 1, 1, false},
    {PNG_COLOR_TYPE_GRAY, 16, PNG_INTERLACE_NONE, 1, 1, false},
    {PNG_COLOR_TYPE_GRAY_ALPHA, 8, PNG_INTERLACE_ADAM7, 2, 1, true},
    {PNG_COLOR_TYPE_GRAY_ALPHA, 16, PNG_INTERLACE_NONE, 2, 1, true},
    {PNG_COLOR_TYPE_RGB, 8, PNG_INTERLACE_NONE, 3, 3, false},
    {PNG_COLOR_TYPE_RGB, 16, PNG_INTERLACE_NONE, 3, 3, false},
    {PNG_COLOR_TYPE_RGB, 16, PNG_INTERLACE_ADAM7, 3, 3, false},
    {PNG_COLOR_TYPE_RGB_ALPHA, 8, PNG_INTERLACE_NONE, 4, 3, true},
    {PNG_COLOR_TYPE_RGB_ALPHA, 16, PNG_INTERLACE_ADAM7, 4, 3, true},
};

static unsigned
value_at(int x, int y, int sample)
{
    return ((unsigned)x * 7919U + (unsigned)y * 10473U + (unsigned)sample * 31337U +
            317U) &
           0xffffU;
}

/* Samples as PNG stores them: most significant byte first. */
static void
put_stored_row(const struct kind *kind, int y, unsigned char *row)
{
    for (int x = 0; x < WIDTH; x++) {
        for (int s = 0; s < kind->samples; s++) {
            *row++ = (unsigned char)(value_at(x, y, s) >> 8);
            if (kind->bits == 16)
                *row++ = (unsigned char)(value_at(x, y, s) & 0xffU);
        }
    }
}

static void
write_picture(const char *path, const struct kind *kind)
{
    static unsigned char rows[HEIGHT][WIDTH * 4 * 2];
    png_bytep pointers[HEIGHT];
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop about = png_create_info_struct(png);
    FILE *file = fopen(path, "wb");

    for (int y = 0; y < HEIGHT; y++) {
        put_stored_row(kind, y, rows[y]);
        pointers[y] = rows[y];
    }
    if (setjmp(png_jmpbuf(png)) != 0)
        ck_abort_msg("libpng could not write");
    png_init_io(png, file);
    png_set_IHDR(png, about, WIDTH, HEIGHT, kind->bits, kind->type, kind->interlace,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_set_rows(png, about, pointers);
    png_write_png(png, about, PNG_TRANSFORM_IDENTITY, NULL);
    png_destroy_write_struct(&png, &about);
    (void)fclose(file);
}

static unsigned
sample_of(const struct kind *kind, const unsigned char *row, int index)
{
    uint16_t wide;

    if (kind->bits == 8)
        return row[index];
    memcpy(&wide, row + 2 * (size_t)index, sizeof wide);
    return wide;
}

static void
check_row(const struct kind *kind, const unsigned char *row, int y)
{
    for (int x = 0; x < WIDTH; x++) {
        for (int c = 0; c < kind->channels; c++) {
            unsigned expected = value_at(x, y, c) >> (16 - kind->bits);

            ck_assert_uint_eq(sample_of(kind, row, x * kind->channels + c), expected);
        }
    }
}

static void
check_passes(struct qs_image *image, const struct kind *kind)
{
    static const struct {
        int skip; /* -1 = rewind */
        int row;
    } steps[] = {{0, 0}, {0, 1}, {5, 7}, {-1, 0}, {HEIGHT - 2, HEIGHT - 1}, {-1, 0}};
    unsigned char *row = malloc(qs_image_row_bytes(image));
    struct qs_error err;

    qs_error_clear(&err);
    for (size_t i = 0; i < COUNT(steps); i++) {
        if (steps[i].skip < 0)
            ck_assert_int_eq(qs_image_rewind(image, &err), QS_OK);
        else
            ck_assert_int_eq(qs_image_skip(image, steps[i].skip, &err), QS_OK);
        ck_assert_msg(qs_image_read(image, 1, row, &err) == QS_OK, "%s", err.text);
        check_row(kind, row, steps[i].row);
    }
    free(row);
}

START_TEST(every_kind_comes_back)
{
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(kinds); i++) {
        struct qs_image *image;
        struct picture picture;
        const struct qs_image_info *info = &picture.info;

        write_picture(path, &kinds[i]);
        picture_read(path, &picture);
        ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
        ck_assert_int_eq(info->width, WIDTH);
        ck_assert_int_eq(info->height, HEIGHT);
        ck_assert_int_eq(info->bits, kinds[i].bits);
        ck_assert_int_eq(info->channels, kinds[i].channels);
        ck_assert_int_eq(info->had_alpha, kinds[i].alpha);
        ck_assert_int_eq(info->pages, 1);
        ck_assert_int_eq(info->shot.orientation, 1);
        for (int y = 0; y < HEIGHT; y++)
            check_row(&kinds[i], picture.rows + (size_t)y * picture.row_bytes, y);
        picture_clear(&picture);
        ck_assert_int_eq(qs_image_open(path, &image, NULL), QS_OK);
        check_passes(image, &kinds[i]);
        qs_image_close(image);
    }
    (void)unlink(path);
}
END_TEST

/* A PNG put together chunk by chunk; libpng adds but length and checksum. */
struct chunk_file {
    png_structp png;
    png_infop about;
    FILE *file;
};

static void
add_chunk(struct chunk_file *out, const char *name, const void *contents, size_t bytes)
{
    png_write_chunk(out->png, (png_const_bytep)name, contents, bytes);
}

static size_t
put_be(unsigned char *at, uint32_t number)
{
    for (int i = 0; i < 4; i++)
        at[i] = (unsigned char)(number >> (24 - 8 * i));
    return 4;
}

/* A zlib stream (RFC 1950) of one stored block (RFC 1951, 3.2.4); up to 65535 bytes. */
static size_t
store(const unsigned char *bytes, size_t count, unsigned char *into)
{
    uint32_t a = 1, b = 0;
    size_t used = 0;

    into[used++] = 0x78;
    into[used++] = 0x01;
    into[used++] = 0x01;
    into[used++] = (unsigned char)(count & 0xff);
    into[used++] = (unsigned char)(count >> 8);
    into[used++] = (unsigned char)(~count & 0xff);
    into[used++] = (unsigned char)(~count >> 8 & 0xff);
    for (size_t i = 0; i < count; i++) {
        into[used++] = bytes[i];
        a = (a + bytes[i]) % 65521;
        b = (b + a) % 65521;
    }
    return used + put_be(into + used, b << 16 | a);
}

/* Bits and type of a picture of 2 x 1 pixels, whose data are left to end_file. */
static void
start_file(struct chunk_file *out, const char *path, int bits, int type)
{
    static const unsigned char mark[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    unsigned char header[13] = {0};

    out->png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    out->about = png_create_info_struct(out->png);
    out->file = fopen(path, "wb");
    png_init_io(out->png, out->file);
    ck_assert_uint_eq(fwrite(mark, 1, sizeof mark, out->file), sizeof mark);
    (void)put_be(header, 2);
    (void)put_be(header + 4, 1);
    header[8] = (unsigned char)bits;
    header[9] = (unsigned char)type;
    add_chunk(out, "IHDR", header, sizeof header);
}

static void
end_file(struct chunk_file *out)
{
    static const unsigned char row[1 + 2 * 3 * 2] = {0, 1, 2, 3};
    unsigned char packed[64];

    add_chunk(out, "IDAT", packed, store(row, sizeof row, packed));
    add_chunk(out, "IEND", NULL, 0);
    png_destroy_write_struct(&out->png, &out->about);
    (void)fclose(out->file);
}

/* An sRGB profile, in the contents of an iCCP chunk.  Returns the bytes of each. */
static size_t
make_iccp(unsigned char *contents, unsigned char *profile, size_t *profile_bytes)
{
    cmsHPROFILE srgb = cmsCreate_sRGBProfile();
    cmsUInt32Number bytes = 0;

    ck_assert(cmsSaveProfileToMem(srgb, NULL, &bytes)); /* asks for the size */
    ck_assert_uint_le(bytes, 8192);
    ck_assert(cmsSaveProfileToMem(srgb, profile, &bytes));
    (void)cmsCloseProfile(srgb);
    *profile_bytes = bytes;
    memcpy(contents, "p\0\0", 3); /* name, end of name, method */
    return 3 + store(profile, bytes, contents + 3);
}

/* What a file holds, in file order, and what is to be believed. */
struct claim_case {
    const char *chunks; /* letters, see add_by_letter */
    enum qs_colour_claim claim;
    bool chromaticity;
};

static const struct claim_case claim_cases[] = {
    {"", QS_CLAIM_NONE, false},      {"g", QS_CLAIM_GAMA, false},
    {"gh", QS_CLAIM_GAMA, true},     {"hg", QS_CLAIM_GAMA, true},
    {"h", QS_CLAIM_NONE, false},     {"s", QS_CLAIM_SRGB, false},
    {"ghs", QS_CLAIM_SRGB, false},   {"i", QS_CLAIM_ICC, false},
    {"si", QS_CLAIM_ICC, false},     {"is", QS_CLAIM_ICC, false},
    {"ghi", QS_CLAIM_ICC, false},    {"c", QS_CLAIM_CICP, false},
    {"ghsic", QS_CLAIM_CICP, false}, {"cighs", QS_CLAIM_CICP, false},
    {"m", QS_CLAIM_NONE, false},     {"mi", QS_CLAIM_ICC, false},
    {"mg", QS_CLAIM_GAMA, false},    {"b", QS_CLAIM_NONE, false},
    {"bg", QS_CLAIM_GAMA, false},    {"z", QS_CLAIM_NONE, false},
    {"r", QS_CLAIM_NONE, false},     {"rg", QS_CLAIM_GAMA, false},
    {"wg", QS_CLAIM_GAMA, false},    {"gg", QS_CLAIM_GAMA, false},
};

static void
add_chrm(struct chunk_file *out, uint32_t white_y)
{
    /* BT.2020 (Rec. ITU-R BT.2020-2, table 3), white D65. */
    const uint32_t places[8] = {31270, white_y, 70800, 29200,
                                17000, 79700,   13100, 4600};
    unsigned char contents[32];

    for (size_t i = 0; i < 8; i++)
        (void)put_be(contents + 4 * i, places[i]);
    add_chunk(out, "cHRM", contents, sizeof contents);
}

static void
add_iccp(struct chunk_file *out)
{
    unsigned char contents[8300];
    unsigned char profile[8192];
    size_t profile_bytes;
    size_t bytes = make_iccp(contents, profile, &profile_bytes);

    add_chunk(out, "iCCP", contents, bytes);
}

static void
add_gama(struct chunk_file *out, uint32_t units)
{
    unsigned char contents[4];

    (void)put_be(contents, units);
    add_chunk(out, "gAMA", contents, sizeof contents);
}

static void
add_by_letter(struct chunk_file *out, char letter)
{
    switch (letter) {
    case 'g':
        add_gama(out, 45455);
        break;
    case 'z': /* a gamma of zero */
        add_gama(out, 0);
        break;
    case 'h':
        add_chrm(out, 32900);
        break;
    case 'w': /* a white without light */
        add_chrm(out, 0);
        break;
    case 's':
        add_chunk(out, "sRGB", "\1", 1);
        break;
    case 'r': /* no such rendering intent */
        add_chunk(out, "sRGB", "\4", 1);
        break;
    case 'i':
        add_iccp(out);
        break;
    case 'b': /* broken: not a zlib stream */
        add_chunk(out, "iCCP", "p\0\0not packed at all", 20);
        break;
    case 'c':
        add_chunk(out, "cICP", "\x0c\x0d\x00\x01", 4);
        break;
    case 'm': /* a matrix other than 0 */
        add_chunk(out, "cICP", "\x0c\x0d\x01\x01", 4);
        break;
    default:
        ck_abort();
    }
}

static void
check_tags(const struct qs_colour_tags *tags, const struct claim_case *row)
{
    ck_assert_msg(tags->claim == row->claim, "%s: %d", row->chunks, (int)tags->claim);
    ck_assert_msg(tags->has_chromaticity == row->chromaticity, "%s", row->chunks);
    if (row->claim == QS_CLAIM_GAMA)
        ck_assert_double_eq_tol(tags->gama, 0.45455, 1e-12);
    if (row->chromaticity) {
        ck_assert_double_eq_tol(tags->chromaticity[1], 0.329, 1e-12);
        ck_assert_double_eq_tol(tags->chromaticity[2], 0.708, 1e-12);
        ck_assert_double_eq_tol(tags->chromaticity[7], 0.046, 1e-12);
    }
    if (row->claim == QS_CLAIM_CICP)
        ck_assert_mem_eq(tags->cicp, "\x0c\x0d\x00\x01", 4);
}

static void
check_profile(const struct qs_colour_tags *tags)
{
    unsigned char contents[8300];
    unsigned char profile[8192];
    size_t bytes;

    (void)make_iccp(contents, profile, &bytes);
    ck_assert_uint_eq(tags->icc_size, bytes);
    /* The header's date (bytes 24 to 35) may have moved on by a second. */
    ck_assert_mem_eq(tags->icc + 128, profile + 128, bytes - 128);
}

START_TEST(colour_chunks_by_rank)
{
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(claim_cases); i++) {
        const struct claim_case *row = &claim_cases[i];
        struct chunk_file out;
        struct qs_image *image;

        start_file(&out, path, 16, PNG_COLOR_TYPE_RGB);
        for (const char *letter = row->chunks; *letter != '\0'; letter++)
            add_by_letter(&out, *letter);
        end_file(&out);
        ck_assert_msg(qs_image_open(path, &image, NULL) == QS_OK, "%s", row->chunks);
        check_tags(&qs_image_info(image)->colour, row);
        if (row->claim == QS_CLAIM_ICC)
            check_profile(&qs_image_info(image)->colour);
        qs_image_close(image);
    }
    (void)unlink(path);
}
END_TEST

START_TEST(exif_depth_and_resolution)
{
    /* One directory: orientation 3, and ISO 3200, as II and with type SHORT. */
    static const unsigned char exif[] = {
        'I',  'I',  42, 0, 8, 0, 0, 0, 2,    0,          /* header, number of entries */
        0x12, 0x01, 3,  0, 1, 0, 0, 0, 3,    0,    0, 0, /* 0x0112 = 3 */
        0x27, 0x88, 3,  0, 1, 0, 0, 0, 0x80, 0x0c, 0, 0, /* 0x8827 = 3200 */
        0,    0,    0,  0};
    static const unsigned char per_metre[] = {0, 0, 0x2e, 0x23, 0, 0, 0x2e, 0x23, 1};
    char path[64];
    struct chunk_file out;
    struct picture picture;

    scratch_file(path);
    start_file(&out, path, 16, PNG_COLOR_TYPE_RGB);
    add_chunk(&out, "sBIT", "\x0c\x0e\x0d", 3);
    add_chunk(&out, "eXIf", exif, sizeof exif);
    add_chunk(&out, "pHYs", per_metre, sizeof per_metre);
    add_chunk(&out, "tRNS", "\0\0\0\0\0\0", 6);
    end_file(&out);
    picture_read(path, &picture);
    ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
    ck_assert_int_eq(picture.info.significant_bits, 14);
    ck_assert_double_eq(picture.info.shot.iso, 3200.0);
    ck_assert_int_eq(picture.info.shot.orientation, 3);
    /* 0x2e23 = 11811 pixels per metre; an inch is 0.0254 m. */
    ck_assert_double_eq_tol(picture.info.ppi, 11811 * 0.0254, 1e-9);
    ck_assert(!picture.info.had_alpha);
    picture_clear(&picture);
    (void)unlink(path);
}
END_TEST

START_TEST(few_colours_are_refused)
{
    static const struct {
        int bits;
        int type;
        const char *word;
    } cases[] = {
        {8, PNG_COLOR_TYPE_PALETTE, "palette"},
        {1, PNG_COLOR_TYPE_GRAY, "1-bit"},
        {2, PNG_COLOR_TYPE_GRAY, "2-bit"},
        {4, PNG_COLOR_TYPE_GRAY, "4-bit"},
    };
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct chunk_file out;
        struct picture picture;

        start_file(&out, path, cases[i].bits, cases[i].type);
        if (cases[i].type == PNG_COLOR_TYPE_PALETTE)
            add_chunk(&out, "PLTE", "\1\2\3\4\5\6", 6);
        end_file(&out);
        picture_read(path, &picture);
        ck_assert_int_eq(picture.status, QS_ERR_UNSUPPORTED);
        ck_assert_ptr_nonnull(strstr(picture.err.text, cases[i].word));
    }
    (void)unlink(path);
}
END_TEST

struct size_case {
    uint32_t width;
    uint32_t height;
    int interlace;
    enum qs_status status;
    const char *word;
};

/* 16-bit RGB: 6 bytes a pixel, so 1 GiB is 13377 pixels squared. */
static const struct size_case size_cases[] = {
    {1000001, 1, 0, QS_ERR_UNSUPPORTED, "1000000"},
    {1, 2000000000, 0, QS_ERR_UNSUPPORTED, "1000000"},
    {14000, 14000, 1, QS_ERR_UNSUPPORTED, "interlaced"},
    {14000, 14000, 0, QS_ERR_READ, "row 1 of 14000"}, /* opens, and has no data */
    {0, 1, 0, QS_ERR_READ, ""},
};

START_TEST(too_large_is_refused)
{
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(size_cases); i++) {
        static const unsigned char mark[] = {0x89, 'P',  'N',  'G',
                                             '\r', '\n', 0x1a, '\n'};
        unsigned char header[13] = {0};
        struct chunk_file out = {NULL, NULL, fopen(path, "wb")};
        struct picture picture;

        out.png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
        out.about = png_create_info_struct(out.png);
        png_init_io(out.png, out.file);
        ck_assert_uint_eq(fwrite(mark, 1, sizeof mark, out.file), sizeof mark);
        (void)put_be(header, size_cases[i].width);
        (void)put_be(header + 4, size_cases[i].height);
        header[8] = 16;
        header[9] = PNG_COLOR_TYPE_RGB;
        header[12] = (unsigned char)size_cases[i].interlace;
        add_chunk(&out, "IHDR", header, sizeof header);
        end_file(&out);
        picture_read(path, &picture);
        ck_assert_msg(picture.status == size_cases[i].status, "%zu: %s", i,
                      picture.err.text);
        ck_assert_ptr_nonnull(strstr(picture.err.text, size_cases[i].word));
    }
    (void)unlink(path);
}
END_TEST

QS_TEST_MAIN("image_png", every_kind_comes_back, colour_chunks_by_rank,
             exif_depth_and_resolution, few_colours_are_refused, too_large_is_refused)
