/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Pictures of odd sizes and their profiles, written and read back by libtiff, libpng
 * and zlib (general-purpose reference libraries) and by our own reader.
 */
#include <lcms2.h>
#include <png.h>
#include <string.h>
#include <tiffio.h>
#include <unistd.h>
#include <zlib.h>

#include "check_main.h"
#include "image/tiff_write.h"
#include "image_check.h"
#include "writer_check.h"

static void
read_by_libtiff(const char *path, uint8_t *into)
{
    TIFF *tiff = TIFFOpen(path, "r");

    ck_assert_ptr_nonnull(tiff);
    read_strips(tiff, into);
    TIFFClose(tiff);
}

static void
read_by_libpng(const char *path, const struct qs_picture_plan *plan, uint8_t *into)
{
    png_infop about;
    png_structp png = png_read_whole(path, &about);

    png_take_rows(png, about, plan, into);
}

/* Our reader leaves alpha aside. */
static void
read_by_ourselves(const char *path, const struct qs_picture_plan *plan,
                  const uint8_t *codes)
{
    size_t kept = (size_t)plan->channels * (size_t)(plan->bits / 8);
    size_t step = samples_of(plan) * (size_t)(plan->bits / 8);
    struct picture picture;

    picture_read(path, &picture);
    ck_assert_msg(picture.status == QS_OK, "%s", picture.err.text);
    ck_assert_int_eq(picture.info.had_alpha, plan->alpha != QS_ALPHA_NONE);
    ck_assert_int_eq(picture.info.bits, plan->bits);
    ck_assert_ptr_nonnull(picture.rows);
    for (size_t i = 0; i < (size_t)plan->width * (size_t)plan->height; i++)
        ck_assert_mem_eq(picture.rows + i * kept, codes + i * step, kept);
    picture_clear(&picture);
}

static void
there_and_back(const struct qs_picture_plan *plan)
{
    uint8_t *codes = noise_of(plan), *back = malloc(all_bytes(plan));
    char path[64];

    scratch_file(path);
    write_by_one(path, plan, codes);
    if (plan->format == QS_FILE_TIFF)
        read_by_libtiff(path, back);
    else
        read_by_libpng(path, plan, back);
    ck_assert_mem_eq(codes, back, all_bytes(plan));
    read_by_ourselves(path, plan, codes);
    unlink(path);
    free(back);
    free(codes);
}

/* Every format, compression, depth and kind at one size. */
static void
all_kinds(int width, int height)
{
    for (int compression = 0; compression < QS_COMPRESSIONS; compression++)
        for (int kind = 0; kind < 16; kind++) {
            const struct qs_picture_plan plan = {
                .width = width,
                .height = height,
                .channels = kind & 1 ? 3 : 1,
                .bits = kind & 2 ? 16 : 8,
                .alpha = (kind & 4) != 0 ? QS_ALPHA_STRAIGHT : QS_ALPHA_NONE,
                .format = kind & 8 ? QS_FILE_PNG : QS_FILE_TIFF,
                .compression = (enum qs_compression)compression,
                .orientation = 1};

            if (is_possible(&plan))
                there_and_back(&plan);
        }
}

START_TEST(odd_sizes_come_back)
{
    static const int sizes[][2] = {{1, 1}, {7, 5}, {1, 5000}, {5000, 1}};

    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
        all_kinds(sizes[i][0], sizes[i][1]);
    qs_tiff_set_classic_limit(0); /* BigTIFF */
    all_kinds(7, 5);
    qs_tiff_set_classic_limit(QS_TIFF_CLASSIC_BYTES);
}
END_TEST

/* ---- profiles ---- */

static uint8_t *
profile_bytes(bool is_grey, cmsUInt32Number *size)
{
    cmsToneCurve *curve = cmsBuildGamma(NULL, 2.2);
    cmsHPROFILE profile =
        is_grey ? cmsCreateGrayProfile(cmsD50_xyY(), curve) : cmsCreate_sRGBProfile();
    uint8_t *bytes;

    ck_assert(cmsSaveProfileToMem(profile, NULL, size));
    bytes = malloc(*size);
    ck_assert(cmsSaveProfileToMem(profile, bytes, size));
    cmsCloseProfile(profile);
    cmsFreeToneCurve(curve);
    return bytes;
}

static struct qs_picture_plan
plan_with(enum qs_file_format format, int channels, const uint8_t *icc, size_t size)
{
    return (struct qs_picture_plan){.width = 7,
                                    .height = 5,
                                    .channels = channels,
                                    .bits = 16,
                                    .format = format,
                                    .compression = QS_COMPRESS_DEFLATE,
                                    .orientation = 1,
                                    .icc = icc,
                                    .icc_size = size};
}

/* What our reader says of the profile; it has none but the file's own bytes. */
static void
has_profile(const char *path, const uint8_t *icc, size_t size)
{
    struct qs_image *image;
    struct qs_error err = {0};

    ck_assert_int_eq(qs_image_open(path, &image, &err), QS_OK);
    ck_assert_int_eq(qs_image_info(image)->colour.claim, QS_CLAIM_ICC);
    ck_assert_uint_eq(qs_image_info(image)->colour.icc_size, size);
    ck_assert_mem_eq(qs_image_info(image)->colour.icc, icc, size);
    qs_image_close(image);
}

static void
libtiff_has_profile(const char *path, const uint8_t *icc, size_t size)
{
    TIFF *tiff = TIFFOpen(path, "r");
    uint32_t found = 0;
    void *bytes = NULL;

    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &found, &bytes), 1);
    ck_assert_uint_eq(found, size);
    ck_assert_mem_eq(bytes, icc, size);
    TIFFClose(tiff);
}

static void
libpng_has_profile(const char *path, const uint8_t *icc, size_t size)
{
    FILE *file = fopen(path, "rb");
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop about = png_create_info_struct(png);
    png_charp name;
    png_bytep bytes;
    png_uint_32 found = 0;
    int method;

    png_init_io(png, file);
    png_read_info(png, about);
    ck_assert_uint_eq(png_get_iCCP(png, about, &name, &method, &bytes, &found),
                      PNG_INFO_iCCP);
    ck_assert_uint_eq(found, size);
    ck_assert_mem_eq(bytes, icc, size);
    png_destroy_read_struct(&png, &about, NULL);
    (void)fclose(file);
}

START_TEST(profiles_come_back_to_the_byte)
{
    for (int kind = 0; kind < 4; kind++) {
        cmsUInt32Number size = 0;
        uint8_t *icc = profile_bytes((kind & 1) != 0, &size);
        const struct qs_picture_plan plan = plan_with(
            kind & 2 ? QS_FILE_PNG : QS_FILE_TIFF, kind & 1 ? 1 : 3, icc, size);
        uint8_t *codes = noise_of(&plan);
        char path[64];

        scratch_file(path);
        write_by_one(path, &plan, codes);
        has_profile(path, icc, size);
        if (kind & 2)
            libpng_has_profile(path, icc, size);
        else
            libtiff_has_profile(path, icc, size);
        unlink(path);
        free(codes);
        free(icc);
    }
}
END_TEST

START_TEST(a_profile_of_the_wrong_kind_is_refused)
{
    char path[64];

    scratch_file(path);
    for (int kind = 0; kind < 3; kind++) { /* grey for RGB, RGB for grey, damaged */
        cmsUInt32Number size = 0;
        uint8_t *icc = profile_bytes(kind == 0, &size);
        const struct qs_picture_plan plan =
            plan_with(QS_FILE_PNG, kind == 1 ? 1 : 3, icc, kind == 2 ? 100 : size);
        struct qs_writer *writer;
        struct qs_error err = {0};

        ck_assert_int_eq(qs_writer_open(path, &plan, &writer, &err),
                         QS_ERR_UNSUPPORTED);
        ck_assert_ptr_null(writer);
        ck_assert_ptr_nonnull(strstr(err.text, "profile"));
        free(icc);
    }
    unlink(path);
}
END_TEST

/* ---- PNG's stream ---- */

/* Joins the IDAT chunks; the caller frees. */
static uint8_t *
stream_of(const char *path, size_t *size)
{
    size_t file_size = 0;
    uint8_t *file = read_bytes(path, &file_size), *stream = malloc(file_size);

    *size = 0;
    for (size_t at = 8; at + 12 <= file_size;) {
        size_t length = png_get_uint_32(file + at);

        if (memcmp(file + at + 4, "IDAT", 4) == 0) {
            memcpy(stream + *size, file + at + 8, length);
            *size += length;
        }
        ck_assert_uint_eq(png_get_uint_32(file + at + 8 + length),
                          crc32(0, file + at + 4, (uInt)(length + 4)));
        at += length + 12;
    }
    free(file);
    return stream;
}

/* zlib checks the sum of the whole itself, and says Z_DATA_ERROR where it is wrong. */
START_TEST(the_stream_is_sound_as_a_whole)
{
    for (int compression = 0; compression < 2; compression++) {
        struct qs_picture_plan plan = {.width = 311,
                                       .height = 333,
                                       .channels = 3,
                                       .bits = 16,
                                       .format = QS_FILE_PNG,
                                       .compression = (enum qs_compression)compression,
                                       .orientation = 1};
        size_t wanted = all_bytes(&plan) + (size_t)plan.height, size;
        uint8_t *codes = noise_of(&plan), *plain = malloc(wanted + 1), *stream;
        uLongf got = wanted + 1;
        char path[64];

        scratch_file(path);
        write_by_one(path, &plan, codes);
        stream = stream_of(path, &size);
        ck_assert_int_eq(uncompress(plain, &got, stream, size), Z_OK);
        ck_assert_uint_eq(got, wanted);
        ck_assert_uint_eq(png_get_uint_32(stream + size - 4),
                          adler32(adler32(0, Z_NULL, 0), plain, (uInt)got));
        unlink(path);
        free(stream);
        free(plain);
        free(codes);
    }
}
END_TEST

QS_TEST_MAIN("writer_sizes", odd_sizes_come_back, profiles_come_back_to_the_byte,
             a_profile_of_the_wrong_kind_is_refused, the_stream_is_sound_as_a_whole)
