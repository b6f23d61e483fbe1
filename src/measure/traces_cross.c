/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_cross.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "flat/shading.h"
#include "measure/traces_matrix.h"
#include "measure/traces_smooth.h"

const struct qs_lag qs_cross_lag[QS_CROSS_LAGS] = {
    {0, 0},  {1, 0},  {2, 0},  {3, 0},  {-3, 1}, {-2, 1}, {-1, 1}, {0, 1}, {1, 1},
    {2, 1},  {3, 1},  {-3, 2}, {-2, 2}, {-1, 2}, {0, 2},  {1, 2},  {2, 2}, {3, 2},
    {-3, 3}, {-2, 3}, {-1, 3}, {0, 3},  {1, 3},  {2, 3},  {3, 3},
};

static void
measure_near(const struct qs_residuals *f, struct qs_cross *out)
{
    for (int place = 0; place < QS_MOSAIC; place++)
        for (int l = 0; l < QS_CROSS_LAGS; l++) {
            struct qs_products made = {.pairs = 0.0};
            const struct qs_comb comb = {((place & 1) ^ f->frame_x) & 1,
                                         ((place >> 1) ^ f->frame_y) & 1, 2, 2};

            qs_products_add(f, qs_cross_lag[l], &comb, &made);
            out->pairs[place][l] = made.pairs;
            for (int a = 0; a < f->channels; a++)
                for (int b = 0; b < f->channels; b++)
                    out->value[place][l][a][b] = made.sum[a][b] / made.pairs;
        }
}

static void
mean_places(struct qs_cross *out)
{
    memset(out->mean, 0, sizeof out->mean);
    for (int l = 0; l < QS_CROSS_LAGS; l++)
        for (int place = 0; place < QS_MOSAIC; place++)
            qs_matrix_add(out->mean[l], 1.0 / QS_MOSAIC, out->value[place][l]);
}

/* Mean square of a 3 x 3 table less what its rows and columns have by themselves. */
static double
interplay(const double table[9])
{
    double row[3] = {0.0}, column[3] = {0.0}, all = 0.0, sum = 0.0;

    for (int k = 0; k < 9; k++) {
        row[k / 3] += table[k] / 3.0;
        column[k % 3] += table[k] / 3.0;
        all += table[k] / 9.0;
    }
    for (int k = 0; k < 9; k++) {
        double off = table[k] - row[k / 3] - column[k % 3] + all;

        sum += off * off / 9.0;
    }
    return sum;
}

/* T2: whether the variance of any channel repeats with 3 pixels, not with 2. */
static bool
has_thirds(const struct qs_residuals *f, const double variance[3])
{
    double sum[3][9] = {{0.0}}, count[9] = {0.0}, most = 0.0;

    for (int y = 0; y < f->height; y++)
        for (int x = 0; x < f->width; x++) {
            int k = (y + f->frame_y) % 3 * 3 + (x + f->frame_x) % 3;
            ptrdiff_t at = (ptrdiff_t)y * f->width + x;

            count[k] += 1.0;
            for (int c = 0; c < f->channels; c++)
                sum[c][k] += f->e[c][at] * f->e[c][at];
        }
    for (int c = 0; c < f->channels; c++) {
        for (int k = 0; k < 9; k++)
            sum[c][k] /= count[k] * variance[c];
        most = fmax(most, interplay(sum[c]));
    }
    /* variances of a ninth of the pixels each; 4 of 9 are free */
    return most > 0.005 && most > 6.0 * 4.0 * 2.0 / ((double)f->width * f->height);
}

/* The shares of blotches in three independent mixtures, the blotchiest first. */
static void
note_blotches(struct qs_smooth *smooth, double variance[3][3], struct qs_cross *out)
{
    double factor[3][3], share[3][3];
    int n = out->channels;

    if (!qs_matrix_factor(variance, n, factor))
        return;
    qs_matrix_whiten(factor, n, smooth->blotch, share);
    out->blotch = fmin(fmax(qs_matrix_greatest(share, n), 0.0), 1.0);
    if (n < 3)
        return;
    out->blotch_least = qs_matrix_least(share, n);
    out->blotch_second = share[0][0] + share[1][1] + share[2][2] -
                         qs_matrix_greatest(share, n) - out->blotch_least;
}

static void
measure(const struct qs_residuals *f, struct qs_cross *out)
{
    struct qs_smooth smooth;
    double variance[3] = {1.0, 1.0, 1.0}, all[3][3];

    out->channels = f->channels;
    out->pixels = (double)f->width * f->height;
    measure_near(f, out);
    mean_places(out);
    for (int c = 0; c < f->channels; c++) {
        variance[c] = out->mean[0][c][c];
        if (variance[c] <= 0.0)
            return;
    }
    memcpy(all, out->mean[0], sizeof all);
    out->thirds = has_thirds(f, variance);
    qs_smooth_find(f, all, &smooth);
    qs_smooth_take_off(&smooth, out);
    mean_places(out);
    out->slow = smooth.slow;
    note_blotches(&smooth, all, out);
}

/* The middle of a plane, at most QS_CROSS_MOST_PX to a side. */
static struct qs_box
middle(const struct qs_plane *plane)
{
    struct qs_box box = {0, 0, plane->width, plane->height};

    if (box.width > QS_CROSS_MOST_PX) {
        box.x = (box.width - QS_CROSS_MOST_PX) / 2;
        box.width = QS_CROSS_MOST_PX;
    }
    if (box.height > QS_CROSS_MOST_PX) {
        box.y = (box.height - QS_CROSS_MOST_PX) / 2;
        box.height = QS_CROSS_MOST_PX;
    }
    return box;
}

/*
 * Takes off what each place of the mosaic has for itself (greens that differ; or a raw
 * mosaic stored as a picture), and returns its share of the variance.
 */
static double
level_places(double *e, int width, int height)
{
    double all = 0.0, between = 0.0;

    for (ptrdiff_t i = 0; i < (ptrdiff_t)width * height; i++)
        all += e[i] * e[i];
    for (int place = 0; place < QS_MOSAIC; place++) {
        double sum = 0.0, count = 0.0;

        for (int y = place >> 1; y < height; y += 2)
            for (int x = place & 1; x < width; x += 2) {
                sum += e[(ptrdiff_t)y * width + x];
                count += 1.0;
            }
        between += sum * sum / count;
        for (int y = place >> 1; y < height; y += 2)
            for (int x = place & 1; x < width; x += 2)
                e[(ptrdiff_t)y * width + x] -= sum / count;
    }
    return all > 0.0 ? between / all : 0.0;
}

enum qs_status
qs_cross_measure(const struct qs_plane *planes, int channels, int frame_x, int frame_y,
                 struct qs_cross *out, struct qs_error *err)
{
    struct qs_box box = middle(&planes[0]);
    struct qs_residuals field = {{NULL, NULL, NULL}, channels,        box.width,
                                 box.height,         frame_x + box.x, frame_y + box.y};
    size_t count = (size_t)box.width * (size_t)box.height;
    struct qs_shading_basis basis = {0};
    struct qs_surface surface;
    double *room, places = 0.0;
    enum qs_status status;

    *out = (struct qs_cross){.channels = channels};
    if (box.width < QS_CROSS_LEAST_PX || box.height < QS_CROSS_LEAST_PX)
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "A patch of %d x %d pixels is too small to tell what was done "
                       "to the file; give one of at least %d x %d.",
                       box.width, box.height, QS_CROSS_LEAST_PX, QS_CROSS_LEAST_PX);
    room = qs_alloc(count * 3, sizeof *room);
    if (room == NULL)
        return qs_fail_memory(err);
    status = qs_shading_basis_init(&basis, box.width, box.height, err);
    for (int c = 0; status == QS_OK && c < channels; c++) {
        struct qs_plane part = qs_plane_part(&planes[c], box);

        (void)qs_shading_remove(&basis, &part, room + (size_t)c * count, &surface);
        places =
            fmax(places, level_places(room + (size_t)c * count, box.width, box.height));
        field.e[c] = room + (size_t)c * count;
    }
    out->places = places;
    if (status == QS_OK)
        measure(&field, out);
    qs_shading_basis_clear(&basis);
    qs_free(room);
    return status;
}
