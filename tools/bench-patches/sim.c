/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/memory.h"

const char *const noise_name[NOISE_KINDS] = {"white",  "demosaiced", "soft 0.7",
                                             "soft 1", "blotchy 4",  "striped"};

static const double luminance[3] = {0.2126, 0.7152, 0.0722}; /* BT.709 */

static void *
must_alloc(size_t count, size_t size)
{
    void *memory = qs_alloc(count, size);

    if (memory == NULL) {
        fputs("bench_patches: out of memory\n", stderr);
        exit(1);
    }
    return memory;
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
        qs_free(picture->plane[c]);
    qs_free(picture->label);
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
    qs_free(line);
}

/* A field of sd 1 with the noise's correlation. */
static void
unit_field(float *field, int width, int height, enum noise_kind kind,
           struct qs_random *random)
{
    static const double sigma[NOISE_KINDS] = {0.0, 0.0, 0.7, 1.0, 4.0, 0.0};
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

static int
bayer(int x, int y)
{
    return (y & 1) == 0 ? ((x & 1) == 0 ? 0 : 1) : ((x & 1) == 0 ? 1 : 2);
}

/* Fills each plane's missing pixels with the mean of its neighbours' samples. */
static void
demosaic(struct frame *f)
{
    for (int y = 0; y < f->height; y++) {
        for (int x = 0; x < f->width; x++) {
            for (int c = 0; c < 3; c++) {
                double sum = 0.0;
                int n = 0;

                if (bayer(x, y) == c)
                    continue;
                for (int dy = -1; dy <= 1; dy++) {
                    for (int dx = -1; dx <= 1; dx++) {
                        int u = mirror(x + dx, f->width), v = mirror(y + dy, f->height);

                        if (bayer(x + dx, y + dy) != c || (c == 1 && dx * dy != 0))
                            continue;
                        sum += f->plane[c][(size_t)v * (size_t)f->width + (size_t)u];
                        n++;
                    }
                }
                f->plane[c][(size_t)y * (size_t)f->width + (size_t)x] =
                    (float)(sum / n);
            }
        }
    }
}

static void
add_noise(struct frame *f, const struct picture *p, const struct noise *noise,
          struct qs_random *random)
{
    /* Mean over the four kinds of site of a bilinear demosaic's noise gain. */
    static const double gain[3] = {0.5625, 0.625, 0.5625};
    const size_t count = (size_t)f->width * (size_t)f->height;
    float *field = must_alloc(count, sizeof *field);

    for (int c = 0; c < p->channels; c++) {
        double share = p->channels == 1 ? 1.0 : luminance[c] * luminance[c];
        float *plane = f->plane[p->channels == 1 ? QS_Y : c];

        if (noise->kind == NOISE_DEMOSAICED && p->channels == 3)
            share *= gain[c];
        unit_field(field, f->width, f->height, noise->kind, random);
        for (size_t i = 0; i < count; i++) {
            double variance = noise->a * p->plane[c][i] + noise->b;

            plane[i] = (float)(p->plane[c][i] + sqrt(fmax(variance, 0.0)) * field[i]);
            f->variance[i] += (float)(share * variance);
        }
    }
    qs_free(field);
}

struct frame
frame_make(const struct picture *p, const struct noise *noise, struct qs_random *random)
{
    struct frame f = {.width = p->width, .height = p->height};
    const size_t count = (size_t)f.width * (size_t)f.height;

    f.first = qs_channel_first(p->channels);
    for (int c = (int)f.first; c < QS_CHANNELS; c++)
        f.plane[c] = must_alloc(count, sizeof(float));
    f.variance = must_alloc(count, sizeof(float));
    add_noise(&f, p, noise, random);
    if (p->channels == 1)
        return f;
    if (noise->kind == NOISE_DEMOSAICED)
        demosaic(&f);
    for (size_t i = 0; i < count; i++)
        f.plane[QS_Y][i] =
            (float)(luminance[0] * f.plane[0][i] + luminance[1] * f.plane[1][i] +
                    luminance[2] * f.plane[2][i]);
    return f;
}

void
frame_free(struct frame *frame)
{
    for (int c = 0; c < QS_CHANNELS; c++)
        qs_free(frame->plane[c]);
    qs_free(frame->variance);
    memset(frame, 0, sizeof *frame);
}

/* Solves the 6 by 6 normal equations of a second-order surface. */
static void
solve6(double a[6][7])
{
    for (int i = 0; i < 6; i++) {
        for (int j = 0; j < 6; j++) {
            double factor = a[j][i] / a[i][i];

            for (int k = i; k < 7 && j != i; k++)
                a[j][k] -= factor * a[i][k];
        }
    }
}

static void
surface_terms(double u, double v, double t[6])
{
    t[0] = 1.0;
    t[1] = u;
    t[2] = v;
    t[3] = u * u;
    t[4] = u * v;
    t[5] = v * v;
}

/* Standard deviation of y in a box about its second-order surface. */
static double
measured_sd(const struct frame *f, struct qs_box box)
{
    const float *corner = f->plane[QS_Y] + (ptrdiff_t)box.y * f->width + box.x;
    double a[6][7] = {{0}}, t[6], sum = 0.0;

    for (int pass = 0; pass < 2; pass++) {
        for (int y = 0; y < box.height; y++) {
            for (int x = 0; x < box.width; x++) {
                double left = corner[(ptrdiff_t)y * f->width + x];

                surface_terms(2.0 * x / box.width - 1.0, 2.0 * y / box.height - 1.0, t);
                for (int i = 0; i < 6 && pass == 0; i++) {
                    for (int j = 0; j < 6; j++)
                        a[i][j] += t[i] * t[j];
                    a[i][6] += t[i] * left;
                }
                for (int i = 0; i < 6 && pass == 1; i++)
                    left -= t[i] * a[i][6] / a[i][i];
                sum += pass == 1 ? left * left : 0.0;
            }
        }
        if (pass == 0)
            solve6(a);
    }
    return sqrt(sum / ((double)box.width * box.height - 6.0));
}

static double
true_sd(const struct frame *f, struct qs_box box)
{
    double sum = 0.0;

    for (int y = 0; y < box.height; y++) {
        for (int x = 0; x < box.width; x++)
            sum += f->variance[(ptrdiff_t)(box.y + y) * f->width + box.x + x];
    }
    return sqrt(sum / ((double)box.width * box.height));
}

static double
mean_of(const struct frame *f, struct qs_box box)
{
    double sum = 0.0;

    for (int y = 0; y < box.height; y++) {
        for (int x = 0; x < box.width; x++)
            sum += f->plane[QS_Y][(ptrdiff_t)(box.y + y) * f->width + box.x + x];
    }
    return sum / ((double)box.width * box.height);
}

/*
 * Whether a box holds pixels of two regions that differ by more than half the
 * noise of a pixel.  Fainter edges cannot be seen in a patch, nor do they matter.
 */
static bool
is_across(const struct frame *f, const unsigned short *label, struct qs_box box,
          double sd)
{
    const ptrdiff_t first = (ptrdiff_t)box.y * f->width + box.x;
    double sum[2] = {0.0, 0.0}, count[2] = {0.0, 0.0};

    for (int y = 0; y < box.height; y++) {
        for (int x = 0; x < box.width; x++) {
            ptrdiff_t i = first + (ptrdiff_t)y * f->width + x;
            int other = label[i] != label[first];

            sum[other] += f->plane[QS_Y][i];
            count[other] += 1.0;
        }
    }
    return count[1] > 0.0 && fabs(sum[0] / count[0] - sum[1] / count[1]) > 0.5 * sd;
}

static void
fill_cells(struct qs_cells *cells, const struct frame *f)
{
    struct qs_error err;

    qs_error_clear(&err);
    if (qs_cells_init(cells, f->width, f->height, f->first, &err) != QS_OK) {
        fprintf(stderr, "bench_patches: %s\n", err.text);
        exit(1);
    }
    for (int row = 0; row < cells->rows; row++) {
        const float *planes[QS_CHANNELS] = {0};

        for (int c = (int)f->first; c < QS_CHANNELS; c++)
            planes[c] = f->plane[c] + (ptrdiff_t)row * cells->side_px * f->width;
        qs_cells_fill_row(cells, row, planes, NULL, f->width);
    }
}

static int
ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static void
judge(struct outcome *o, const struct frame *f, const unsigned short *label)
{
    double error[QS_FIND_MAX], low = HUGE_VAL, high = 0.0;

    o->smallest = f->width;
    for (int i = 0; i < o->patches; i++) {
        struct qs_box box = o->box[i];
        double mean = mean_of(f, box);

        double sd = true_sd(f, box);

        error[i] = measured_sd(f, box) / sd - 1.0;
        if (fabs(error[i]) > o->worst)
            o->worst = fabs(error[i]);
        o->smallest = box.width < o->smallest ? box.width : o->smallest;
        o->covered +=
            (double)box.width * box.height / ((double)f->width * (double)f->height);
        low = fmin(low, mean);
        high = fmax(high, mean);
        if (label != NULL)
            o->across += is_across(f, label, box, sd);
    }
    if (o->patches == 0)
        return;
    qsort(error, (size_t)o->patches, sizeof error[0], ascending);
    o->error = error[o->patches / 2];
    o->stops = low > 0.0 ? log2(high / low) : 0.0;
}

struct outcome
outcome_of(const struct frame *f, const unsigned short *label)
{
    struct outcome o = {0};
    struct qs_cells cells;
    struct qs_error err;
    clock_t start;

    qs_error_clear(&err);
    fill_cells(&cells, f);
    start = clock();
    if (qs_find_flat(&cells, o.box, &o.patches, &err) != QS_OK) {
        fprintf(stderr, "bench_patches: %s\n", err.text);
        exit(1);
    }
    o.seconds = (double)(clock() - start) / CLOCKS_PER_SEC;
    qs_cells_clear(&cells);
    judge(&o, f, label);
    return o;
}
