/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/patch_pixels.h"

#include "base/memory.h"

static struct qs_box
with_margin(struct qs_box box, int margin, int width, int height)
{
    int left = box.x < margin ? box.x : margin;
    int top = box.y < margin ? box.y : margin;
    int right = width - box.x - box.width, below = height - box.y - box.height;

    right = right < margin ? right : margin;
    below = below < margin ? below : margin;
    return (struct qs_box){box.x - left, box.y - top, box.width + left + right,
                           box.height + top + below};
}

static size_t
area_pixels(const struct qs_patch_pixels *pixels)
{
    return (size_t)pixels->area.width * (size_t)pixels->area.height;
}

enum qs_status
qs_patch_pixels_init(struct qs_patch_pixels *pixels, struct qs_box box, int margin,
                     int width, int height, enum qs_channel first, bool fractions,
                     struct qs_error *err)
{
    bool ready = true;
    size_t count;

    *pixels = (struct qs_patch_pixels){.box = box, .first = first};
    pixels->area = with_margin(box, margin, width, height);
    count = area_pixels(pixels);
    for (int c = (int)first; c < QS_CHANNELS; c++) {
        pixels->plane[c] = qs_alloc(count, sizeof(float));
        ready = ready && pixels->plane[c] != NULL;
    }
    for (int c = 0; fractions && c < (first == QS_Y ? 1 : 3); c++) {
        pixels->fraction[c] = qs_alloc(count, sizeof(float));
        ready = ready && pixels->fraction[c] != NULL;
    }
    pixels->ends = qs_alloc(count, 1);
    if (ready && pixels->ends != NULL)
        return QS_OK;
    qs_patch_pixels_clear(pixels);
    return qs_fail_memory(err);
}

void
qs_patch_pixels_clear(struct qs_patch_pixels *pixels)
{
    for (int c = 0; c < QS_CHANNELS; c++)
        qs_free(pixels->plane[c]);
    for (int c = 0; c < 3; c++)
        qs_free(pixels->fraction[c]);
    qs_free(pixels->ends);
    *pixels = (struct qs_patch_pixels){0};
}

size_t
qs_patch_pixels_bytes(const struct qs_patch_pixels *pixels)
{
    size_t planes = 0;

    for (int c = 0; c < QS_CHANNELS; c++)
        planes += pixels->plane[c] != NULL;
    for (int c = 0; c < 3; c++)
        planes += pixels->fraction[c] != NULL;
    return area_pixels(pixels) * (planes * sizeof(float) + 1);
}

void
qs_patch_pixels_take_row(struct qs_patch_pixels *pixels, int y, const void *codes,
                         const struct qs_linear *linear)
{
    int count = pixels->area.width;
    size_t at = (size_t)y * (size_t)count;
    float *out[3];

    if (pixels->first == QS_Y) {
        out[0] = pixels->plane[QS_Y] + at;
        out[1] = out[2] = NULL;
    } else {
        for (int c = 0; c < 3; c++)
            out[c] = pixels->plane[c] + at;
    }
    qs_linear_decode(linear, codes, count, out, pixels->ends + at);
    if (pixels->first != QS_Y)
        qs_linear_luminance(linear, out[0], out[1], out[2], count,
                            pixels->plane[QS_Y] + at);
    if (pixels->fraction[0] == NULL)
        return;
    for (int c = 0; c < (pixels->first == QS_Y ? 1 : 3); c++)
        out[c] = pixels->fraction[c] + at;
    qs_linear_fractions(linear, codes, count, out);
}

void
qs_patch_pixels_take(struct qs_patch_pixels *pixels, const struct qs_strips *strips,
                     const struct qs_linear *linear)
{
    int top = pixels->area.y, below = pixels->area.y + pixels->area.height;
    int from = top > strips->y ? top : strips->y;
    int to = below < strips->y + strips->rows ? below : strips->y + strips->rows;

    for (int y = from; y < to; y++)
        qs_patch_pixels_take_row(pixels, y - top,
                                 qs_strips_at(strips, pixels->area.x, y), linear);
}

struct qs_plane
qs_patch_pixels_plane(const struct qs_patch_pixels *pixels, enum qs_channel channel)
{
    return (struct qs_plane){pixels->plane[channel], pixels->area.width,
                             pixels->area.height, pixels->area.width};
}
