/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "mosaic.h"

const char *const noise_name[NOISE_KINDS] = {
    "white", "demosaiced", "gradient", "soft 0.7", "soft 1", "blotchy 4", "striped"};

static const double luminance[3] = {0.2126, 0.7152, 0.0722}; /* BT.709 */

void *
must_alloc(size_t count, size_t size)
{
    void *memory = qs_alloc(count, size);

    if (memory == NULL) {
        fputs("bench_patches: out of memory\n", stderr);
        exit(1);
    }
    return memory;
}

void
must_free(void *memory)
{
    qs_free(memory);
}

struct picture
picture_new(int width, int height, int channels, bool with_labels)
{
    struct picture p = {.width = width, .height = height, .channels = channels};
    size_t count = (size_t)width * (size_t)height;

    for (int c = 0; c < channels; c++)
        p.plane[c] = must_alloc(count, sizeof(float));
    if (with_labels)
        p.label = must_alloc(count, sizeof *p.label);
    return p;
}

void
picture_free(struct picture *picture)
{
    for (int c = 0; c < 3; c++)
        must_free(picture->plane[c]);
    must_free(picture->label);
    memset(picture, 0, sizeof *picture);
}

static int
mirror(int i, int count)
{
    if (i < 0)
        i = -i - 1;
    i %= 2 * count;
    return i < count ? i : 2 * count - 1 - i;
}

static int
kernel(double sigma, double *tap)
{
    int reach = (int)ceil(4.0 * sigma);
    double sum = 0.0;

    for (int i = -reach; i <= reach; i++)
        sum += tap[i + reach] = exp(-0.5 * i * i / (sigma * sigma));
    for (int i = 0; i <= 2 * reach; i++)
        tap[i] /= sum;
    return reach;
}

void
blur(float *plane, int width, int height, double sigma)
{
    double tap[201];
    float *line;
    int reach, most = width > height ? width : height;

    if (sigma <= 0.0)
        return;
    line = must_alloc((size_t)most, sizeof *line);
    reach = kernel(sigma, tap);
    for (int pass = 0; pass < 2; pass++) {
        int lines = pass == 0 ? height : width, count = pass == 0 ? width : height;
        ptrdiff_t next = pass == 0 ? 1 : width, start = pass == 0 ? width : 1;

        for (int l = 0; l < lines; l++) {
            float *at = plane + l * start;

            for (int i = 0; i < count; i++) {
                double sum = 0.0;

                for (int k = -reach; k <= reach; k++)
                    sum += tap[k + reach] * at[mirror(i + k, count) * next];
                line[i] = (float)sum;
            }
            for (int i = 0; i < count; i++)
                at[i * next] = line[i];
        }
    }
    must_free(line);
}

/* A field of sd 1 with the noise's correlation. */
static void
unit_field(float *field, int width, int height, enum noise_kind kind,
           struct qs_random *random)
{
    static const double sigma[NOISE_KINDS] = {0.0, 0.0, 0.0, 0.7, 1.0, 4.0, 0.0};
    const size_t count = (size_t)width * (size_t)height;
    double tap[201], square = 0.0;
    int reach;

    for (size_t i = 0; i < count; i++)
        field[i] = (float)qs_random_normal(random);
    if (kind == NOISE_STRIPED) {
        for (int y = 0; y < height; y++) {
            double offset = 0.5 * qs_random_normal(random);

            for (int x = 0; x < width; x++) {
                float *value = &field[(size_t)y * (size_t)width + (size_t)x];

                *value = (float)((*value + offset) / sqrt(1.25));
            }
        }
    }
    if (sigma[kind] <= 0.0)
        return;
    blur(field, width, height, sigma[kind]);
    reach = kernel(sigma[kind], tap);
    for (int i = 0; i <= 2 * reach; i++)
        square += tap[i] * tap[i];
    for (size_t i = 0; i < count; i++)
        field[i] = (float)(field[i] / square);
}

/* Adds noise of the kernel's kind to every plane and notes its variance. */
static void
add_noise(struct frame *f, const struct picture *p, const struct noise *noise,
          struct qs_random *random)
{
    const size_t count = (size_t)f->width * (size_t)f->height;
    float *field = must_alloc(count, sizeof *field);

    for (int c = 0; c < p->channels; c++) {
        int channel = p->channels == 1 ? QS_Y : c;

        unit_field(field, f->width, f->height, noise->kind, random);
        for (size_t i = 0; i < count; i++) {
            double variance = fmax(noise->a * p->plane[c][i] + noise->b, 0.0);

            f->plane[channel][i] = (float)(p->plane[c][i] + sqrt(variance) * field[i]);
            f->variance[channel][i] = (float)variance;
        }
    }
    must_free(field);
}

/* Noise of y where that of r, g and b is independent. */
static void
sum_luminance(struct frame *f)
{
    const size_t count = (size_t)f->width * (size_t)f->height;

    for (int c = 0; c < 3; c++) {
        for (size_t i = 0; i < count; i++) {
            f->plane[QS_Y][i] += (float)(luminance[c] * f->plane[c][i]);
            f->variance[QS_Y][i] +=
                (float)(luminance[c] * luminance[c] * f->variance[c][i]);
        }
    }
}

/* Cuts a value to what a 16-bit file of linear light holds; whether it was at an end.
 */
static bool
to_code(float *value, double pedestal)
{
    double code = floor((*value + pedestal) / (1.0 + 2.0 * pedestal) * 65535.0 + 0.5);
    double held = code < 0.0 ? 0.0 : code > 65535.0 ? 65535.0 : code;

    *value = (float)(held / 65535.0);
    return held <= 0.0 || held >= 65535.0;
}

void
frame_to_codes(struct frame *f, double pedestal)
{
    const size_t count = (size_t)f->width * (size_t)f->height;
    const int colours = f->first == QS_Y ? QS_CHANNELS : 3;
    const double scale = 1.0 / (1.0 + 2.0 * pedestal);

    f->ends = must_alloc(count, 1);
    for (size_t i = 0; i < count; i++) {
        double y = 0.0;

        for (int c = (int)f->first; c < colours; c++) {
            f->ends[i] |= to_code(&f->plane[c][i], pedestal);
            y += c < 3 ? luminance[c] * f->plane[c][i] : 0.0;
        }
        if (f->first != QS_Y)
            f->plane[QS_Y][i] = (float)y;
        for (int c = (int)f->first; c < QS_CHANNELS; c++)
            f->variance[c][i] *= (float)(scale * scale);
    }
}

struct frame
frame_make(const struct picture *p, const struct noise *noise, struct qs_random *random)
{
    struct frame f = {.width = p->width, .height = p->height};
    const size_t count = (size_t)f.width * (size_t)f.height;

    f.first = qs_channel_first(p->channels);
    for (int c = (int)f.first; c < QS_CHANNELS; c++) {
        f.plane[c] = must_alloc(count, sizeof(float));
        f.variance[c] = must_alloc(count, sizeof(float));
    }
    add_noise(&f, p, noise, random);
    if (p->channels == 1)
        return f;
    if (noise->kind == NOISE_DEMOSAICED || noise->kind == NOISE_GRADIENT)
        mosaic_pass(f.plane, f.variance, f.width, f.height,
                    noise->kind == NOISE_GRADIENT ? MOSAIC_GRADIENT : MOSAIC_BILINEAR,
                    luminance);
    else
        sum_luminance(&f);
    return f;
}

void
frame_free(struct frame *frame)
{
    for (int c = 0; c < QS_CHANNELS; c++) {
        must_free(frame->plane[c]);
        must_free(frame->variance[c]);
    }
    must_free(frame->ends);
    memset(frame, 0, sizeof *frame);
}
