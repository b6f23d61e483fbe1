/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "photos.h"

#include <stdio.h>
#include <stdlib.h>

#include "image/image.h"
#include "linear/linear.h"

static void
must(enum qs_status status, const char *path, const struct qs_error *err)
{
    if (status == QS_OK)
        return;
    fprintf(stderr, "bench_patches: %s: %s\n", path, err->text);
    exit(1);
}

/* Adds one row of the file to the picture's sums. */
static void
add_row(struct picture *p, const float *const row[3], int y, int reduce)
{
    const float share = 1.0f / (float)(reduce * reduce);

    if (y / reduce >= p->height)
        return;
    for (int c = 0; c < p->channels; c++) {
        float *out = p->plane[c] + (size_t)(y / reduce) * (size_t)p->width;

        for (int x = 0; x < p->width * reduce; x++)
            out[x / reduce] += share * row[c][x];
    }
}

struct picture
photo_read(const char *path, int reduce)
{
    struct qs_image *image;
    struct qs_linear *linear;
    const struct qs_image_info *info;
    struct qs_error err = {0};
    struct picture p;
    float *row[3];
    void *codes;

    must(qs_image_open(path, &image, &err), path, &err);
    info = qs_image_info(image);
    must(qs_linear_new(info, NULL, &linear, &err), path, &err);
    p = picture_new(info->width / reduce, info->height / reduce, info->channels, false);
    codes = must_alloc(qs_image_row_bytes(image), 1);
    for (int c = 0; c < 3; c++)
        row[c] = must_alloc((size_t)info->width, sizeof *row[c]);
    for (int y = 0; y < info->height; y++) {
        must(qs_image_read(image, 1, codes, &err), path, &err);
        qs_linear_decode(linear, codes, info->width, row, NULL);
        add_row(&p, (const float *const *)row, y, reduce);
    }
    for (int c = 0; c < 3; c++)
        must_free(row[c]);
    must_free(codes);
    qs_linear_free(linear);
    qs_image_close(image);
    return p;
}
