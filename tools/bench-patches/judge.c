/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "sim.h"

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

/* Standard deviation of a channel in a box about its second-order surface. */
static double
measured_sd(const struct frame *f, int channel, struct qs_box box)
{
    const float *corner = f->plane[channel] + (ptrdiff_t)box.y * f->width + box.x;
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
true_sd(const struct frame *f, int channel, struct qs_box box)
{
    double sum = 0.0;

    for (int y = 0; y < box.height; y++) {
        for (int x = 0; x < box.width; x++)
            sum += f->variance[channel][(ptrdiff_t)(box.y + y) * f->width + box.x + x];
    }
    return sqrt(sum / ((double)box.width * box.height));
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
        qs_cells_fill_row(cells, row, planes,
                          f->ends == NULL
                              ? NULL
                              : f->ends + (ptrdiff_t)row * cells->side_px * f->width,
                          f->width);
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
    double error[QS_FIND_MAX * QS_CHANNELS];
    int errors = 0;

    o->smallest = f->width;
    for (int i = 0; i < o->patches; i++) {
        struct qs_box box = o->box[i];

        for (int c = (int)f->first; c < QS_CHANNELS; c++)
            error[errors++] = measured_sd(f, c, box) / true_sd(f, c, box) - 1.0;
        o->smallest = box.width < o->smallest ? box.width : o->smallest;
        o->covered +=
            (double)box.width * box.height / ((double)f->width * (double)f->height);
        if (label != NULL)
            o->across += is_across(f, label, box, true_sd(f, QS_Y, box));
    }
    if (errors == 0)
        return;
    qsort(error, (size_t)errors, sizeof error[0], ascending);
    o->error = error[errors / 2];
    o->worst = fabs(error[0]) > fabs(error[errors - 1]) ? error[0] : error[errors - 1];
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
