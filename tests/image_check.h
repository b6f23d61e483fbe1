/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * image_check.h - what the test_image_*.c programs share: scratch files, and a
 * picture read whole
 */
#ifndef QS_TESTS_IMAGE_CHECK_H
#define QS_TESTS_IMAGE_CHECK_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/status.h"
#include "image/image.h"

/* A picture read whole; info.colour.icc is NULL, as its image is closed. */
struct picture {
    enum qs_status status; /* of opening or reading, whichever failed */
    struct qs_error err;
    struct qs_image_info info;
    size_t row_bytes;
    unsigned char *rows; /* NULL where not all could be read */
};

/* Fills `path` with the name of a new empty file. */
static inline void
scratch_file(char path[64])
{
    int file;

    (void)strcpy(path, "/tmp/image-check-XXXXXX");
    file = mkstemp(path);
    if (file < 0 || close(file) != 0)
        abort();
}

static inline void
write_bytes(const char *path, const void *bytes, size_t count)
{
    FILE *file = fopen(path, "wb");

    if (file == NULL || fwrite(bytes, 1, count, file) != count || fclose(file) != 0)
        abort();
}

/* The caller frees; NULL where there is no such file. */
static inline unsigned char *
read_bytes(const char *path, size_t *count)
{
    FILE *file = fopen(path, "rb");
    unsigned char *bytes;

    if (file == NULL)
        return NULL;
    if (fseek(file, 0, SEEK_END) != 0)
        abort();
    *count = (size_t)ftell(file);
    rewind(file);
    bytes = malloc(*count + 1);
    if (bytes == NULL || fread(bytes, 1, *count, file) != *count)
        abort();
    (void)fclose(file);
    return bytes;
}

/* Pictures of more than this are read row by row into the same place and dropped. */
#define KEPT_BYTES ((size_t)64 << 20)

static inline void
read_rows(struct qs_image *image, struct picture *picture)
{
    size_t height = (size_t)picture->info.height;
    bool keep = picture->row_bytes <= KEPT_BYTES / height;
    unsigned char *rows =
        malloc(keep ? height * picture->row_bytes : picture->row_bytes);

    if (rows == NULL)
        abort();
    for (size_t y = 0; y < height && picture->status == QS_OK; y++)
        picture->status = qs_image_read(
            image, 1, rows + (keep ? y * picture->row_bytes : 0), &picture->err);
    picture->rows = keep && picture->status == QS_OK ? rows : NULL;
    if (picture->rows == NULL)
        free(rows);
}

static inline void
picture_read(const char *path, struct picture *picture)
{
    struct qs_image *image;

    memset(picture, 0, sizeof *picture);
    picture->status = qs_image_open(path, &image, &picture->err);
    if (picture->status != QS_OK)
        return;
    picture->info = *qs_image_info(image);
    picture->info.colour.icc = NULL;
    picture->row_bytes = qs_image_row_bytes(image);
    read_rows(image, picture);
    qs_image_close(image);
}

static inline size_t
picture_bytes(const struct picture *picture)
{
    return picture->row_bytes * (size_t)picture->info.height;
}

static inline bool
pictures_agree(const struct picture *a, const struct picture *b)
{
    return a->rows != NULL && b->rows != NULL && picture_bytes(a) == picture_bytes(b) &&
           memcmp(a->rows, b->rows, picture_bytes(a)) == 0;
}

static inline void
picture_clear(struct picture *picture)
{
    free(picture->rows);
    picture->rows = NULL;
}

#endif
