/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_cross.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/lanes.h"
#include "base/memory.h"
#include "flat/shading.h"
#include "measure/traces_matrix.h"
#include "measure/traces_smooth.h"

const struct qs_lag qs_cross_lag[QS_CROSS_LAGS] = {
    {0, 0},  {1, 0},  {2, 0},  {3, 0},  {-3, 1}, {-2, 1}, {-1, 1}, {0, 1}, {1, 1},
    {2, 1},  {3, 1},  {-3, 2}, {-2, 2}, {-1, 2}, {0, 2},  {1, 2},  {2, 2}, {3, 2},
    {-3, 3}, {-2, 3}, {-1, 3}, {0, 3},  {1, 3},  {2, 3},  {3, 3},
};

/* Rows of one parity hold two places of the mosaic, in their even and odd columns. */
static void
measure_near(const struct qs_residuals *f, struct qs_cross *out)
{
    for (int y = 0; y < 2; y++) {
        const struct qs_comb comb = {y, 2};
        struct qs_products made[QS_CROSS_LAGS];

        qs_products_make(f, f, qs_cross_lag, QS_CROSS_LAGS, &comb, made);
        for (int k = 0; k < 2 * QS_CROSS_LAGS; k++) {
            int l = k / 2, x = k % 2;
            int place = 2 * ((y ^ f->frame_y) & 1) + ((x ^ f->frame_x) & 1);

            out->pairs[place][l] = made[l].pairs[x];
            for (int a = 0; a < f->channels; a++)
                for (int b = 0; b < f->channels; b++)
                    out->value[place][l][a][b] =
                        made[l].sum[x][a][b] / made[l].pairs[x];
        }
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

QS_CLONES static void
add_squares(const double *row, int count, double *restrict sums)
{
    for (int x = 0; x < count; x++)
        sums[x] += row[x] * row[x];
}

/* Sums of squares by place modulo 3; `room` holds three rows. */
static void
sum_thirds(const struct qs_residuals *f, int channel, double *room, double sum[9])
{
    memset(room, 0, 3 * (size_t)f->width * sizeof *room);
    for (int y = 0; y < f->height; y++)
        add_squares(f->e[channel] + y * f->stride, f->width,
                    room + (y + f->frame_y) % 3 * f->width);
    for (int k = 0; k < 3; k++)
        for (int x = 0; x < f->width; x++)
            sum[3 * k + (x + f->frame_x) % 3] += room[k * f->width + x];
}

/* T2: whether the variance of any channel repeats with 3 pixels, not with 2. */
static bool
has_thirds(const struct qs_residuals *f, const double variance[3], double *room)
{
    double count[9] = {0.0}, most = 0.0;

    for (int y = 0; y < 3 && y < f->height; y++)
        for (int x = 0; x < 3 && x < f->width; x++)
            count[(y + f->frame_y) % 3 * 3 + (x + f->frame_x) % 3] =
                (double)((f->height - y + 2) / 3) * ((f->width - x + 2) / 3);
    for (int c = 0; c < f->channels; c++) {
        double sum[9] = {0.0};

        sum_thirds(f, c, room, sum);
        for (int k = 0; k < 9; k++)
            sum[k] /= count[k] * variance[c];
        most = fmax(most, interplay(sum));
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
measure(const struct qs_residuals *f, struct qs_residuals *room, struct qs_cross *out)
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
    out->thirds = has_thirds(f, variance, room->e[0]);
    memset(room->e[0] - QS_RESIDUAL_PAD, 0,
           qs_residual_room(f->width, f->height) * sizeof *room->e[0]);
    qs_smooth_find(f, all, room, &smooth);
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

/* row += from */
QS_CLONES static void
add_row(const double *from, int count, double *restrict row)
{
    for (int x = 0; x < count; x++)
        row[x] += from[x];
}

/* Takes means[0] off even columns, means[1] off odd ones. */
QS_CLONES static void
level_row(double *row, int count, const double means[2])
{
    for (int x = 0; x + 1 < count; x += 2) {
        row[x] -= means[0];
        row[x + 1] -= means[1];
    }
    if (count % 2 == 1)
        row[count - 1] -= means[0];
}

/*
 * Takes off what each place of the mosaic has for itself (greens that differ; or a raw
 * mosaic stored as a picture), and returns its share of the variance.  `room` holds a
 * row.
 */
static double
level_places(double *e, int width, int height, double *room)
{
    double all = qs_dot(e, e, (ptrdiff_t)width * height), between = 0.0;

    for (int odd = 0; odd < 2; odd++) {
        double sum[2] = {0.0}, mean[2];

        memset(room, 0, (size_t)width * sizeof *room);
        for (int y = odd; y < height; y += 2)
            add_row(e + (ptrdiff_t)y * width, width, room);
        for (int x = 0; x < width; x++)
            sum[x & 1] += room[x];
        for (int x = 0; x < 2; x++) {
            double count = (double)((height + 1 - odd) / 2) * ((width + 1 - x) / 2);

            between += sum[x] * sum[x] / count;
            mean[x] = sum[x] / count;
        }
        for (int y = odd; y < height; y += 2)
            level_row(e + (ptrdiff_t)y * width, width, mean);
    }
    return all > 0.0 ? between / all : 0.0;
}

/* Three padded channels in one piece of memory, all zero. */
static bool
residuals_init(struct qs_residuals *f)
{
    double *room = qs_alloc(qs_residual_room(f->width, f->height), sizeof *room);

    if (room == NULL)
        return false;
    f->stride = qs_residual_stride(f->width);
    for (int c = 0; c < 3; c++)
        f->e[c] = room + QS_RESIDUAL_PAD + c * f->height * f->stride;
    return true;
}

static void
residuals_clear(struct qs_residuals *f)
{
    if (f->e[0] != NULL)
        qs_free(f->e[0] - QS_RESIDUAL_PAD);
}

/* Fills *f from the planes by way of *room; returns the places' share, see qs_cross. */
static double
fill_residuals(const struct qs_plane *planes, struct qs_box box,
               const struct qs_shading_basis *basis, struct qs_residuals *room,
               struct qs_residuals *f)
{
    double *dense = room->e[0], *row = room->e[2], places = 0.0;

    for (int c = 0; c < f->channels; c++) {
        struct qs_plane part = qs_plane_part(&planes[c], box);
        struct qs_surface surface;

        (void)qs_shading_remove(basis, &part, dense, &surface);
        places = fmax(places, level_places(dense, box.width, box.height, row));
        for (int y = 0; y < box.height; y++)
            memcpy(f->e[c] + y * f->stride, dense + (ptrdiff_t)y * box.width,
                   (size_t)box.width * sizeof *dense);
    }
    return places;
}

enum qs_status
qs_cross_measure(const struct qs_plane *planes, int channels, int frame_x, int frame_y,
                 struct qs_cross *out, struct qs_error *err)
{
    const struct qs_box box = middle(&planes[0]);
    struct qs_residuals field = {.channels = channels,
                                 .width = box.width,
                                 .height = box.height,
                                 .frame_x = frame_x + box.x,
                                 .frame_y = frame_y + box.y};
    struct qs_residuals room = field;
    struct qs_shading_basis basis = {0};
    enum qs_status status;

    *out = (struct qs_cross){.channels = channels};
    if (box.width < QS_CROSS_LEAST_PX || box.height < QS_CROSS_LEAST_PX)
        return qs_fail(err, QS_ERR_TOO_FEW,
                       "A patch of %d x %d pixels is too small to tell what was done "
                       "to the file; give one of at least %d x %d.",
                       box.width, box.height, QS_CROSS_LEAST_PX, QS_CROSS_LEAST_PX);
    status = qs_shading_basis_init(&basis, box.width, box.height, err);
    if (status == QS_OK && (!residuals_init(&field) || !residuals_init(&room)))
        status = qs_fail_memory(err);
    if (status == QS_OK) {
        out->places = fill_residuals(planes, box, &basis, &room, &field);
        measure(&field, &room, out);
    }
    residuals_clear(&room);
    residuals_clear(&field);
    qs_shading_basis_clear(&basis);
    return status;
}
