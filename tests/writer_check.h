/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * writer_check.h - what the test_writer*.c programs share: noise of any size written
 * by one thread, and read by libtiff and libpng
 */
#ifndef QS_TESTS_WRITER_CHECK_H
#define QS_TESTS_WRITER_CHECK_H

#include <check.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>
#include <tiffio.h>

#include "base/random.h"
#include "image/writer.h"

static inline size_t
samples_of(const struct qs_picture_plan *plan)
{
    return (size_t)plan->channels + (plan->alpha != QS_ALPHA_NONE ? 1 : 0);
}

static inline size_t
line_bytes(const struct qs_picture_plan *plan)
{
    return (size_t)plan->width * samples_of(plan) * (size_t)(plan->bits / 8);
}

static inline size_t
all_bytes(const struct qs_picture_plan *plan)
{
    return line_bytes(plan) * (size_t)plan->height;
}

/* True where this build and this format have the plan's compression. */
static inline bool
is_possible(const struct qs_picture_plan *plan)
{
    const struct qs_compression_kind *how = qs_compression_kind(plan->compression);

    return how->built && (plan->format == QS_FILE_TIFF || how->in_png);
}

/* Noise whose steps differ from byte to byte; the caller frees. */
static inline uint8_t *
noise_of(const struct qs_picture_plan *plan)
{
    uint8_t *codes = malloc(all_bytes(plan));
    struct qs_random random;

    if (codes == NULL)
        abort();
    qs_random_seed(&random, (uint64_t)plan->width);
    for (size_t i = 0; i < all_bytes(plan); i++)
        codes[i] = (uint8_t)(qs_random_even(&random) * (i % 3 == 0 ? 256.0 : 9.0));
    return codes;
}

/* Rows of strip `index`. */
static inline int
rows_of_strip(const struct qs_writer *writer, const struct qs_picture_plan *plan,
              int index)
{
    int rows = qs_writer_strip_rows(writer), left = plan->height - index * rows;

    return rows < left ? rows : left;
}

static inline void
write_by_one(const char *path, const struct qs_picture_plan *plan, const uint8_t *codes)
{
    struct qs_writer *writer;
    struct qs_error err = {0};

    ck_assert_msg(qs_writer_open(path, plan, &writer, &err) == QS_OK, "%s", err.text);
    for (int i = 0; i < qs_writer_strips(writer); i++) {
        struct qs_packed packed;

        ck_assert_int_eq(
            qs_writer_pack(writer, i,
                           codes + (size_t)(i * qs_writer_strip_rows(writer)) *
                                       line_bytes(plan),
                           rows_of_strip(writer, plan, i), &packed, &err),
            QS_OK);
        ck_assert_int_eq(qs_writer_put(writer, &packed, &err), QS_OK);
        qs_packed_clear(&packed);
    }
    ck_assert_int_eq(qs_writer_close(writer, NULL, &err), QS_OK);
}

/* All strips of a file, one after the other. */
static inline void
read_strips(TIFF *tiff, uint8_t *into)
{
    for (uint32_t i = 0; i < TIFFNumberOfStrips(tiff); i++) {
        tmsize_t size = TIFFReadEncodedStrip(tiff, i, into, -1);

        ck_assert_int_gt(size, 0);
        into += size;
    }
}

/* A file read whole, in machine order; an error of libpng ends the test. */
static inline png_structp
png_read_whole(const char *path, png_infop *about)
{
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    FILE *file = fopen(path, "rb");
    const png_uint_16 one = 1;

    ck_assert_ptr_nonnull(file);
    *about = png_create_info_struct(png);
    png_init_io(png, file);
    png_read_png(png, *about,
                 *(const png_byte *)&one == 1 ? PNG_TRANSFORM_SWAP_ENDIAN
                                              : PNG_TRANSFORM_IDENTITY,
                 NULL);
    (void)fclose(file);
    return png;
}

/* Its rows, one after the other; then it is let go. */
static inline void
png_take_rows(png_structp png, png_infop about, const struct qs_picture_plan *plan,
              uint8_t *into)
{
    png_bytepp rows = png_get_rows(png, about);

    ck_assert_uint_eq(png_get_rowbytes(png, about), line_bytes(plan));
    for (int y = 0; y < plan->height; y++)
        memcpy(into + (size_t)y * line_bytes(plan), rows[y], line_bytes(plan));
    png_destroy_read_struct(&png, &about, NULL);
}

#endif
