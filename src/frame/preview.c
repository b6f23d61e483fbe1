/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/preview.h"

#include <math.h>

#include "base/memory.h"
#include "frame/opening.h"
#include "frame/strips.h"
#include "linear/curve.h"

/* A picture being made smaller, row by row. */
struct shrinking {
    const struct qs_linear *linear;
    const struct qs_frame *frame;
    struct qs_preview *preview;
    float *planes[3]; /* one row of the frame */
    double *sums;     /* [2][width][3]: the small row being filled, and the next */
    int row;          /* of the small picture, that sums[0] is */
};

/* Where a pixel of the large picture falls in the small one, along one axis. */
struct share {
    int at;      /* the small pixel it begins in */
    double here; /* its length in that one, in small pixels, */
    double next; /*   and in the one after */
};

static struct share
share_of(int i, int in, int out)
{
    double scale = (double)out / in, from = i * scale, to = (i + 1.0) * scale;
    struct share share = {.at = (int)from};

    share.here = fmin(to, share.at + 1.0) - from;
    share.next = fmax(to - (share.at + 1.0), 0.0);
    if (share.at + 1 >= out) /* rounding at the far rim */
        share.next = 0.0;
    return share;
}

/* sRGB (IEC 61966-2-1), 0 to 255. */
static unsigned char
shown(double light)
{
    if (!(light > 0.0))
        return 0;
    if (light >= 1.0)
        return 255;
    return (unsigned char)(255.0 * qs_curve_fraction(qs_curve_srgb(), light) + 0.5);
}

/* Gives out the filled row and makes the next one the current. */
static void
finish_row(struct shrinking *now)
{
    int values = 3 * now->preview->width;
    unsigned char *out = now->preview->rgb + (ptrdiff_t)now->row * values;

    for (int i = 0; i < values; i++) {
        out[i] = shown(now->sums[i]);
        now->sums[i] = now->sums[values + i];
        now->sums[values + i] = 0.0;
    }
    now->row++;
}

static void
add_row(struct shrinking *now, double here, double next)
{
    int width = now->preview->width;

    for (int x = 0; x < now->frame->width; x++) {
        struct share across = share_of(x, now->frame->width, width);

        for (int c = 0; c < 3; c++) {
            double light = now->planes[now->frame->channels == 1 ? 0 : c][x];
            double *sum = now->sums + 3 * across.at + c;

            sum[0] += light * across.here * here;
            sum[3 * width] += light * across.here * next;
            if (across.next > 0.0) {
                sum[3] += light * across.next * here;
                sum[3 * width + 3] += light * across.next * next;
            }
        }
    }
}

static void
take_row(struct shrinking *now, const struct qs_strips *strips, int y)
{
    struct share down = share_of(y, now->frame->height, now->preview->height);

    while (now->row < down.at)
        finish_row(now);
    qs_linear_decode(now->linear, qs_strips_at(strips, 0, y), now->frame->width,
                     now->planes, NULL);
    add_row(now, down.here, down.next);
}

static enum qs_status
read_rows(struct shrinking *now, struct qs_image *image, struct qs_error *err)
{
    struct qs_strips strips = {0};
    enum qs_status status = qs_strips_init(&strips, image, err);

    while (status == QS_OK && qs_strips_next(&strips)) {
        status = qs_strips_read(&strips, err);
        for (int y = strips.y; status == QS_OK && y < strips.y + strips.rows; y++)
            take_row(now, &strips, y);
    }
    while (status == QS_OK && now->row < now->preview->height)
        finish_row(now);
    qs_strips_clear(&strips);
    return status;
}

/* The small picture's size; a side is never less than a pixel. */
static void
choose_size(const struct qs_frame *frame, int most_px, struct qs_preview *preview)
{
    int edge = frame->width > frame->height ? frame->width : frame->height;
    double scale = edge > most_px ? (double)most_px / edge : 1.0;

    preview->width = (int)fmax(floor(frame->width * scale + 0.5), 1.0);
    preview->height = (int)fmax(floor(frame->height * scale + 0.5), 1.0);
}

static enum qs_status
shrink(struct qs_image *image, const struct qs_linear *linear,
       const struct qs_frame *frame, struct qs_preview *preview, struct qs_error *err)
{
    size_t width = (size_t)preview->width;
    struct shrinking now = {.linear = linear, .frame = frame, .preview = preview};
    enum qs_status status = QS_OK;

    preview->rgb = qs_alloc((size_t)preview->height, 3 * width);
    now.sums = qs_alloc(6 * width, sizeof *now.sums);
    for (int c = 0; c < 3; c++) {
        now.planes[c] = qs_alloc((size_t)frame->width, sizeof(float));
        if (now.planes[c] == NULL)
            status = qs_fail_memory(err);
    }
    if (preview->rgb == NULL || now.sums == NULL)
        status = qs_fail_memory(err);
    if (status == QS_OK)
        status = read_rows(&now, image, err);
    for (int c = 0; c < 3; c++)
        qs_free(now.planes[c]);
    qs_free(now.sums);
    return status;
}

enum qs_status
qs_preview_make(const char *path, const struct qs_frame_options *options, int most_px,
                struct qs_preview *out, struct qs_error *err)
{
    struct qs_image *image = NULL;
    struct qs_linear *linear = NULL;
    struct qs_frame frame = {0};
    enum qs_status status = qs_frame_open(path, options, &image, &linear, &frame, err);

    *out = (struct qs_preview){0};
    if (status == QS_OK) {
        choose_size(&frame, most_px, out);
        status = shrink(image, linear, &frame, out, err);
    }
    qs_linear_free(linear);
    qs_image_close(image);
    if (status != QS_OK)
        qs_preview_clear(out);
    return status;
}

void
qs_preview_clear(struct qs_preview *preview)
{
    qs_free(preview->rgb);
    *preview = (struct qs_preview){0};
}
