/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * find_frames.h - frames with noise of known strength, and the finder's answer
 *
 * A frame is painted clean in r, g and b (or y alone), then given noise of the
 * variance a m + b, and boiled down to cells.  What the finder returns is held
 * against that variance and against the frame's labels.
 */
#ifndef QS_TESTS_FIND_FRAMES_H
#define QS_TESTS_FIND_FRAMES_H

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/random.h"
#include "flat/find.h"

static const double find_weight[3] = {0.2126, 0.7152, 0.0722}; /* BT.709 */

struct find_frame {
    int width;
    int height;
    enum qs_channel first;
    float *plane[QS_CHANNELS];
    float *variance;       /* of y's noise */
    unsigned short *label; /* regions no patch may leave */
    struct qs_box box[QS_FIND_MAX];
    int count;
};

static inline size_t
find_at(const struct find_frame *f, int x, int y)
{
    return (size_t)y * (size_t)f->width + (size_t)x;
}

static inline void *
find_alloc(size_t count, size_t size)
{
    void *memory = qs_alloc(count, size);

    if (memory == NULL)
        abort();
    return memory;
}

static inline struct find_frame
find_frame_new(int width, int height, enum qs_channel first)
{
    struct find_frame f = {.width = width, .height = height, .first = first};
    size_t count = (size_t)width * (size_t)height;

    for (int c = (int)first; c < QS_CHANNELS; c++)
        f.plane[c] = find_alloc(count, sizeof(float));
    f.variance = find_alloc(count, sizeof(float));
    f.label = find_alloc(count, sizeof *f.label);
    return f;
}

static inline void
find_frame_free(struct find_frame *f)
{
    for (int c = 0; c < QS_CHANNELS; c++)
        qs_free(f->plane[c]);
    qs_free(f->variance);
    qs_free(f->label);
    memset(f, 0, sizeof *f);
}

/* Sets one pixel of the clean frame; grey frames take g. */
static inline void
find_paint(struct find_frame *f, int x, int y, double r, double g, double b)
{
    const double colour[3] = {r, g, b};

    for (int c = 0; c < 3 && f->first == QS_R; c++)
        f->plane[c][find_at(f, x, y)] = (float)colour[c];
    if (f->first == QS_Y)
        f->plane[QS_Y][find_at(f, x, y)] = (float)g;
}

/* Separable blur, edges repeated; keeps the sum of the weights at 1. */
static inline void
find_blur(float *plane, int width, int height, double sigma)
{
    const int reach = (int)ceil(4.0 * sigma), most = width > height ? width : height;
    double *tap = find_alloc(2 * (size_t)reach + 1, sizeof *tap), sum = 0.0;
    float *line = find_alloc((size_t)most, sizeof *line);

    for (int i = 0; i <= 2 * reach; i++)
        sum += tap[i] = exp(-0.5 * (i - reach) * (i - reach) / (sigma * sigma));
    for (int pass = 0; pass < 2; pass++) {
        int lines = pass == 0 ? height : width, count = pass == 0 ? width : height;
        int next = pass == 0 ? 1 : width, start = pass == 0 ? width : 1;

        for (int l = 0; l < lines; l++) {
            for (int i = 0; i < count; i++) {
                double value = 0.0;

                for (int k = -reach; k <= reach; k++) {
                    int j = i + k < 0 ? 0 : i + k >= count ? count - 1 : i + k;

                    value += tap[k + reach] * plane[l * start + j * next];
                }
                line[i] = (float)(value / sum);
            }
            for (int i = 0; i < count; i++)
                plane[l * start + i * next] = line[i];
        }
    }
    qs_free(tap);
    qs_free(line);
}

/* A field of variance 1: white, Gaussian of `sigma`, or with rows of sd `stripes`. */
static inline float *
find_field(int width, int height, double sigma, double stripes,
           struct qs_random *random)
{
    const size_t count = (size_t)width * (size_t)height;
    float *field = find_alloc(count, sizeof *field);
    double row = 0.0, square = 0.0, sum = 0.0;

    for (size_t i = 0; i < count; i++) {
        if (stripes > 0.0 && i % (size_t)width == 0)
            row = stripes * qs_random_normal(random);
        field[i] =
            (float)((qs_random_normal(random) + row) / sqrt(1.0 + stripes * stripes));
    }
    if (sigma <= 0.0)
        return field;
    find_blur(field, width, height, sigma);
    for (int i = -40; i <= 40; i++) {
        double tap = exp(-0.5 * i * i / (sigma * sigma));

        sum += tap;
        square += tap * tap;
    }
    for (size_t i = 0; i < count; i++)
        field[i] = (float)(field[i] * sum * sum / square);
    return field;
}

/* Gives the frame noise, independent from channel to channel, and makes y. */
static inline void
find_add_noise(struct find_frame *f, double a, double b, double sigma, double stripes,
               struct qs_random *random)
{
    const size_t count = (size_t)f->width * (size_t)f->height;

    for (int c = (int)f->first; c < (f->first == QS_Y ? QS_CHANNELS : 3); c++) {
        float *field = find_field(f->width, f->height, sigma, stripes, random);
        double share = f->first == QS_Y ? 1.0 : find_weight[c] * find_weight[c];

        for (size_t i = 0; i < count; i++) {
            double variance = a * f->plane[c][i] + b;

            f->plane[c][i] += (float)(sqrt(variance) * field[i]);
            f->variance[i] += (float)(share * variance);
        }
        qs_free(field);
    }
    for (size_t i = 0; i < count && f->first == QS_R; i++)
        f->plane[QS_Y][i] =
            (float)(find_weight[0] * f->plane[0][i] + find_weight[1] * f->plane[1][i] +
                    find_weight[2] * f->plane[2][i]);
}

static inline void
find_fill(struct qs_cells *cells, const struct find_frame *f, const unsigned char *ends)
{
    for (int row = 0; row < cells->rows; row++) {
        const float *planes[QS_CHANNELS] = {0};
        size_t start = (size_t)row * (size_t)cells->side_px * (size_t)f->width;

        for (int c = (int)f->first; c < QS_CHANNELS; c++)
            planes[c] = f->plane[c] + start;
        qs_cells_fill_row(cells, row, planes, ends == NULL ? NULL : ends + start,
                          f->width);
    }
}

static inline void
find_run(struct find_frame *f, const unsigned char *ends)
{
    struct qs_error err = {0};
    struct qs_cells cells;

    if (qs_cells_init(&cells, f->width, f->height, f->first, &err) != QS_OK)
        abort();
    find_fill(&cells, f, ends);
    if (qs_find_flat(&cells, f->box, &f->count, &err) != QS_OK)
        abort();
    qs_cells_clear(&cells);
}

/* Takes a surface of second order off a box of y by Gram-Schmidt; returns the variance.
 */
static inline double
find_variance(const struct find_frame *f, struct qs_box box)
{
    const int count = box.width * box.height;
    double *term = find_alloc(6 * (size_t)count, sizeof *term);
    double *left = find_alloc((size_t)count, sizeof *left), square = 0.0;

    for (int i = 0; i < count; i++) {
        double u = (i % box.width + 0.5) / box.width - 0.5;
        double v = (double)(i / box.width) / box.height - 0.5;
        const double value[6] = {1.0, u, v, u * u, u * v, v * v};

        for (int t = 0; t < 6; t++)
            term[t * count + i] = value[t];
        left[i] =
            f->plane[QS_Y][find_at(f, box.x + i % box.width, box.y + i / box.width)];
    }
    for (int t = 0; t < 6; t++) {
        for (int s = 0; s <= t; s++) {
            double *target = s == t ? left : term + t * count, *by = term + s * count;
            double dot = 0.0, length = 0.0;

            by = s == t ? term + t * count : by;
            for (int i = 0; i < count; i++) {
                dot += target[i] * by[i];
                length += by[i] * by[i];
            }
            for (int i = 0; i < count; i++)
                target[i] -= dot / length * by[i];
        }
    }
    for (int i = 0; i < count; i++)
        square += left[i] * left[i];
    qs_free(term);
    qs_free(left);
    return square / (count - 6);
}

/* Mean of what was put on the pixels of a box. */
static inline double
find_truth(const struct find_frame *f, struct qs_box box)
{
    double sum = 0.0;

    for (int y = 0; y < box.height; y++) {
        for (int x = 0; x < box.width; x++)
            sum += f->variance[find_at(f, box.x + x, box.y + y)];
    }
    return sum / ((double)box.width * box.height);
}

/* sd over truth, the patches' variances pooled by their pixels. */
static inline double
find_pooled(const struct find_frame *f)
{
    double measured = 0.0, truth = 0.0;

    for (int i = 0; i < f->count; i++) {
        double count = (double)f->box[i].width * f->box[i].height;

        measured += count * find_variance(f, f->box[i]);
        truth += count * find_truth(f, f->box[i]);
    }
    return sqrt(measured / truth);
}

/* Patches that hold pixels of two labels. */
static inline int
find_across(const struct find_frame *f)
{
    int across = 0;

    for (int i = 0; i < f->count; i++) {
        struct qs_box b = f->box[i];
        bool differs = false;

        for (int y = b.y; y < b.y + b.height; y++) {
            for (int x = b.x; x < b.x + b.width; x++)
                differs |= f->label[find_at(f, x, y)] != f->label[find_at(f, b.x, b.y)];
        }
        across += differs;
    }
    return across;
}

static inline double
find_covered(const struct find_frame *f)
{
    double sum = 0.0;

    for (int i = 0; i < f->count; i++)
        sum += (double)f->box[i].width * f->box[i].height;
    return sum / ((double)f->width * f->height);
}

#endif
