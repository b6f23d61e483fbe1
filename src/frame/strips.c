/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/strips.h"

#include "base/memory.h"

enum qs_status
qs_strips_init(struct qs_strips *strips, struct qs_image *image, struct qs_error *err)
{
    const struct qs_image_info *info = qs_image_info(image);

    *strips = (struct qs_strips){.image = image, .height = info->height};
    strips->row_bytes = qs_image_row_bytes(image);
    strips->pixel_bytes = strips->row_bytes / (size_t)info->width;
    strips->codes = qs_alloc(strips->row_bytes, QS_STRIP_ROWS);
    return strips->codes == NULL ? qs_fail_memory(err) : QS_OK;
}

void
qs_strips_clear(struct qs_strips *strips)
{
    qs_free(strips->codes);
    qs_free(strips->ahead);
    *strips = (struct qs_strips){0};
}

/* Rows of the strip whose first row is y; 0 below the frame. */
static int
rows_from(const struct qs_strips *strips, int y)
{
    return strips->height - y < QS_STRIP_ROWS ? strips->height - y : QS_STRIP_ROWS;
}

bool
qs_strips_next(struct qs_strips *strips)
{
    strips->y += strips->rows;
    strips->rows = rows_from(strips, strips->y);
    if (strips->ahead != NULL) {
        unsigned char *done = strips->codes;

        strips->codes = strips->ahead;
        strips->ahead = done;
    }
    return strips->rows > 0;
}

enum qs_status
qs_strips_read_ahead(struct qs_strips *strips, struct qs_error *err)
{
    if (strips->ahead == NULL)
        strips->ahead = qs_alloc(strips->row_bytes, QS_STRIP_ROWS);
    if (strips->ahead == NULL)
        return qs_fail_memory(err);
    return qs_image_read(strips->image, rows_from(strips, strips->y + strips->rows),
                         strips->ahead, err);
}

enum qs_status
qs_strips_read(struct qs_strips *strips, struct qs_error *err)
{
    return qs_image_read(strips->image, strips->rows, strips->codes, err);
}

enum qs_status
qs_strips_skip(struct qs_strips *strips, struct qs_error *err)
{
    return qs_image_skip(strips->image, strips->rows, err);
}

const void *
qs_strips_at(const struct qs_strips *strips, int x, int y)
{
    return strips->codes + (size_t)(y - strips->y) * strips->row_bytes +
           (size_t)x * strips->pixel_bytes;
}
