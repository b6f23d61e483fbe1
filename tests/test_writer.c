/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Pictures written strip by strip, read back by libtiff and libpng (general-purpose
 * reference libraries): every sample as it was given, packed in any order, for every
 * format, compression, depth and kind of picture.
 */
#include "image/writer.h"

#include <fcntl.h>
#include <png.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <tiffio.h>
#include <unistd.h>

#include "base/random.h"
#include "check_main.h"
#include "image/tiff_write.h"
#include "image_check.h"
#include "writer_check.h"

enum {
    WIDTH = 37,
    HEIGHT = 141, /* two strips of 64 rows and a rest */
    MOST = WIDTH * HEIGHT * 4
};

/* A slope with noise and flat parts: every filter of PNG has rows it suits. */
static void
paint(const struct qs_picture_plan *plan, void *codes)
{
    int samples = plan->channels + (int)(plan->alpha != QS_ALPHA_NONE);
    struct qs_random random;

    qs_random_seed(&random, 7);
    for (int i = 0; i < WIDTH * HEIGHT * samples; i++) {
        int x = i / samples % WIDTH, y = i / samples / WIDTH;
        double code = 150.0 * x + 260.0 * y + 3000.0 * (i % samples);

        if (y % 8 > 4)
            code += 20000.0 * qs_random_even(&random);
        if (y % 32 < 3)
            code = 40000.0;
        if (plan->bits == 8)
            ((uint8_t *)codes)[i] = (uint8_t)(code / 257.0);
        else
            ((uint16_t *)codes)[i] = (uint16_t)code;
    }
}

static struct qs_picture_plan
plan_of(enum qs_file_format format, enum qs_compression compression, int channels,
        bool alpha, int bits)
{
    return (struct qs_picture_plan){.width = WIDTH,
                                    .height = HEIGHT,
                                    .channels = channels,
                                    .bits = bits,
                                    .alpha = alpha ? QS_ALPHA_STRAIGHT : QS_ALPHA_NONE,
                                    .format = format,
                                    .compression = compression,
                                    .ppi = 300.0,
                                    .orientation = 6};
}

/* Strips are packed from the last to the first, and put from the first to the last. */
static void
write_picture(const char *path, const struct qs_picture_plan *plan, const void *codes)
{
    size_t line = (size_t)WIDTH *
                  (size_t)(plan->channels + (int)(plan->alpha != QS_ALPHA_NONE)) *
                  (size_t)plan->bits / 8;
    struct qs_packed packed[HEIGHT];
    struct qs_writer *writer;
    struct qs_error err = {0};
    int rows, strips;

    ck_assert_int_eq(qs_writer_open(path, plan, &writer, &err), QS_OK);
    rows = qs_writer_strip_rows(writer);
    strips = qs_writer_strips(writer);
    ck_assert_int_gt(strips, 2);
    for (int i = strips - 1; i >= 0; i--)
        ck_assert_int_eq(
            qs_writer_pack(writer, i,
                           (const uint8_t *)codes + (size_t)(i * rows) * line,
                           i < strips - 1 ? rows : HEIGHT - i * rows, &packed[i], &err),
            QS_OK);
    for (int i = 0; i < strips; i++) {
        ck_assert_int_eq(qs_writer_put(writer, &packed[i], &err), QS_OK);
        qs_packed_clear(&packed[i]);
    }
    ck_assert_int_eq(qs_writer_close(writer, NULL, &err), QS_OK);
}

/* Checks the tags, and leaves the samples in `into`. */
static void
read_tiff(const char *path, const struct qs_picture_plan *plan, uint8_t *into)
{
    TIFF *tiff = TIFFOpen(path, "r");
    uint16_t value = 0, *kinds = NULL;
    uint32_t side = 0;
    float ppi = 0.0F;

    ck_assert_ptr_nonnull(tiff);
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &side), 1);
    ck_assert_uint_eq(side, WIDTH);
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &side), 1);
    ck_assert_uint_eq(side, HEIGHT);
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_COMPRESSION, &value), 1);
    ck_assert_uint_eq(value, qs_compression_kind(plan->compression)->tiff_tag);
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_ORIENTATION, &value), 1);
    ck_assert_uint_eq(value, 6);
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &ppi), 1);
    ck_assert_float_eq(ppi, 300.0F);
    ck_assert_int_eq(TIFFGetField(tiff, TIFFTAG_EXTRASAMPLES, &value, &kinds),
                     plan->alpha);
    if (plan->alpha)
        ck_assert_uint_eq(kinds[0], EXTRASAMPLE_UNASSALPHA);
    read_strips(tiff, into);
    TIFFClose(tiff);
}

static void
read_png(const char *path, const struct qs_picture_plan *plan, uint8_t *into)
{
    png_infop about;
    png_structp png = png_read_whole(path, &about);

    ck_assert_uint_eq(png_get_image_height(png, about), HEIGHT);
    ck_assert_uint_eq(png_get_image_width(png, about), WIDTH);
    ck_assert_int_eq(png_get_bit_depth(png, about), plan->bits);
    ck_assert_int_eq(png_get_channels(png, about), (int)samples_of(plan));
    ck_assert_uint_eq(png_get_x_pixels_per_meter(png, about), 11811);
    png_take_rows(png, about, plan, into);
}

static void
there_and_back(const struct qs_picture_plan *plan)
{
    uint16_t *codes = calloc(MOST, sizeof *codes), *back = calloc(MOST, sizeof *back);
    size_t bytes = (size_t)(WIDTH * HEIGHT) *
                   (size_t)(plan->channels + (int)(plan->alpha != QS_ALPHA_NONE)) *
                   (size_t)plan->bits / 8;
    char path[64];

    scratch_file(path);
    paint(plan, codes);
    write_picture(path, plan, codes);
    if (plan->format == QS_FILE_PNG)
        read_png(path, plan, (uint8_t *)back);
    else
        read_tiff(path, plan, (uint8_t *)back);
    ck_assert_mem_eq(codes, back, bytes);
    unlink(path);
    free(codes);
    free(back);
}

START_TEST(every_kind_comes_back)
{
    for (int compression = 0; compression < QS_COMPRESSIONS; compression++)
        for (int kind = 0; kind < 16; kind++) {
            enum qs_file_format format = kind & 8 ? QS_FILE_PNG : QS_FILE_TIFF;
            const struct qs_picture_plan plan =
                plan_of(format, (enum qs_compression)compression, kind & 1 ? 3 : 1,
                        (kind & 2) != 0, kind & 4 ? 16 : 8);
            const struct qs_compression_kind *how =
                qs_compression_kind(plan.compression);

            if (how->built && (format == QS_FILE_TIFF || how->in_png))
                there_and_back(&plan);
        }
}
END_TEST

/* BigTIFF, design of 2004 (libtiff's own, from memory): version 43 in the header. */
START_TEST(a_large_picture_is_a_bigtiff)
{
    const struct qs_picture_plan plan =
        plan_of(QS_FILE_TIFF, QS_COMPRESS_DEFLATE, 3, true, 16);
    uint16_t *codes = calloc(MOST, sizeof *codes), version[2] = {0};
    char path[64];
    FILE *file;

    scratch_file(path);
    qs_tiff_set_classic_limit(1000);
    there_and_back(&plan);
    write_picture(path, &plan, codes);
    qs_tiff_set_classic_limit(QS_TIFF_CLASSIC_BYTES);
    file = fopen(path, "rb");
    ck_assert_uint_eq(fread(version, sizeof *version, 2, file), 2);
    ck_assert_uint_eq(version[1], 43);
    (void)fclose(file);
    unlink(path);
    free(codes);
}
END_TEST

/* The whole of 4 GB is 2^32 bytes; 150 MP of 16-bit RGB are 0.9 GB (arithmetic). */
START_TEST(only_a_large_picture_is_one)
{
    struct qs_picture_plan plan = plan_of(QS_FILE_TIFF, QS_COMPRESS_NONE, 3, false, 16);

    plan.width = 15000;
    plan.height = 10000;
    ck_assert(qs_tiff_most_bytes(&plan, 16) < QS_TIFF_CLASSIC_BYTES);
    plan.height = 50000;
    ck_assert(qs_tiff_most_bytes(&plan, 16) > QS_TIFF_CLASSIC_BYTES);
}
END_TEST

START_TEST(what_cannot_be_written_is_said)
{
    struct qs_picture_plan plan = plan_of(QS_FILE_PNG, QS_COMPRESS_LZW, 3, false, 16);
    struct qs_writer *writer;
    struct qs_error err = {0};

    ck_assert_int_eq(qs_writer_open("x", &plan, &writer, &err), QS_ERR_UNSUPPORTED);
    ck_assert_ptr_nonnull(strstr(err.text, "lzw"));
    qs_error_clear(&err);
    plan.compression = QS_COMPRESS_NONE;
    plan.ppi = 1e9;
    ck_assert_int_eq(qs_writer_open("x", &plan, &writer, &err), QS_ERR_UNSUPPORTED);
    plan.ppi = 0.0;
    ck_assert_int_eq(qs_writer_open("/no-such-folder/x", &plan, &writer, &err),
                     QS_ERR_WRITE);
    ck_assert_ptr_null(writer);
}
END_TEST

/* The first strip of a PNG, which opens the stream, and is one only. */
START_TEST(a_strip_without_memory_is_empty)
{
    struct qs_picture_plan plan =
        plan_of(QS_FILE_PNG, QS_COMPRESS_DEFLATE, 3, true, 16);
    uint16_t *codes = calloc(MOST, sizeof *codes);
    enum qs_status status = QS_ERR_MEMORY;
    struct qs_writer *writer;
    struct qs_packed packed;
    struct qs_error err = {0};
    char path[64];

    scratch_file(path);
    plan.height = 9;
    ck_assert_int_eq(qs_writer_open(path, &plan, &writer, &err), QS_OK);
    for (long n = 0; status != QS_OK; n++) {
        qs_alloc_fail_at(n);
        status = qs_writer_pack(writer, 0, codes, 9, &packed, NULL);
        qs_alloc_fail_at(-1);
        ck_assert(status == QS_OK || status == QS_ERR_MEMORY);
        ck_assert_int_eq(packed.bytes != NULL, status == QS_OK);
        ck_assert_int_eq(packed.size != 0, status == QS_OK);
        ck_assert_int_eq(packed.plain_size != 0, status == QS_OK);
        ck_assert_int_eq(packed.check != 0, status == QS_OK);
    }
    qs_packed_clear(&packed);
    qs_writer_drop(writer);
    unlink(path);
    free(codes);
}
END_TEST

/* Writes under a limit on the size of files; true where nothing failed. */
static bool
goes_through(const char *path, const struct qs_picture_plan *plan, const void *codes)
{
    size_t line = (size_t)WIDTH *
                  (size_t)(plan->channels + (int)(plan->alpha != QS_ALPHA_NONE)) *
                  (size_t)plan->bits / 8;
    struct qs_packed packed;
    struct qs_writer *writer;
    struct qs_error err = {0};
    enum qs_status status = qs_writer_open(path, plan, &writer, &err);

    for (int i = 0; status == QS_OK && i < qs_writer_strips(writer); i++) {
        int first = i * qs_writer_strip_rows(writer);
        int rows = qs_writer_strip_rows(writer);

        rows = rows < HEIGHT - first ? rows : HEIGHT - first;
        ck_assert_int_eq(qs_writer_pack(writer, i,
                                        (const uint8_t *)codes + (size_t)first * line,
                                        rows, &packed, &err),
                         QS_OK);
        status = qs_writer_put(writer, &packed, &err);
        qs_packed_clear(&packed);
        if (status != QS_OK)
            qs_writer_drop(writer);
    }
    if (status == QS_OK)
        status = qs_writer_close(writer, NULL, &err);
    if (status == QS_OK)
        return true;
    ck_assert_int_eq(status, QS_ERR_WRITE);
    ck_assert_ptr_nonnull(strstr(err.text, "larger than this disk"));
    return false;
}

/* A disk that is full after every so many bytes: POSIX, setrlimit. */
static void
fill_up(const struct qs_picture_plan *plan, const void *codes)
{
    struct rlimit old, low;
    char path[64];
    bool done = false;

    scratch_file(path);
    ck_assert_int_eq(getrlimit(RLIMIT_FSIZE, &old), 0);
    for (rlim_t most = 0; !done; most += 1 + most / 3) {
        low = (struct rlimit){most, old.rlim_max};
        ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &low), 0);
        done = goes_through(path, plan, codes);
        ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &old), 0);
        ck_assert(!done || most > 1000);
        ck_assert_uint_lt(most, 1 << 20);
    }
    unlink(path);
}

static void
fill_up_with_all(const void *codes)
{
    for (int compression = 0; compression < QS_COMPRESSIONS; compression++)
        for (int format = 0; format < 2; format++) {
            const struct qs_picture_plan plan =
                plan_of((enum qs_file_format)format, (enum qs_compression)compression,
                        3, false, 16);
            const struct qs_compression_kind *how =
                qs_compression_kind(plan.compression);

            if (how->built && (format == QS_FILE_TIFF || how->in_png))
                fill_up(&plan, codes);
        }
}

START_TEST(a_full_disk_is_said_and_no_more)
{
    const struct qs_picture_plan plan =
        plan_of(QS_FILE_TIFF, QS_COMPRESS_NONE, 3, false, 16);
    uint16_t *codes = calloc(MOST, sizeof *codes);
    void (*old)(int) = signal(SIGXFSZ, SIG_IGN);
    int errors = dup(STDERR_FILENO), caught;
    char path[64];
    size_t said;

    scratch_file(path);
    caught = open(path, O_WRONLY);
    (void)dup2(caught, STDERR_FILENO);
    paint(&plan, codes);
    fill_up_with_all(codes);
    (void)dup2(errors, STDERR_FILENO);
    (void)close(errors);
    (void)close(caught);
    (void)signal(SIGXFSZ, old);
    free(read_bytes(path, &said));
    ck_assert_uint_eq(said, 0);
    unlink(path);
    free(codes);
}
END_TEST

QS_TEST_MAIN("writer", every_kind_comes_back, a_large_picture_is_a_bigtiff,
             only_a_large_picture_is_one, what_cannot_be_written_is_said,
             a_strip_without_memory_is_empty, a_full_disk_is_said_and_no_more)
