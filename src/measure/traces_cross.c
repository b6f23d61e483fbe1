/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_cross.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "flat/shading.h"
#include "measure/traces_matrix.h"

const struct qs_lag qs_cross_lag[QS_CROSS_LAGS] = {
    {0, 0},  {1, 0},  {2, 0},  {3, 0},  {-3, 1}, {-2, 1}, {-1, 1}, {0, 1}, {1, 1},
    {2, 1},  {3, 1},  {-3, 2}, {-2, 2}, {-1, 2}, {0, 2},  {1, 2},  {2, 2}, {3, 2},
    {-3, 3}, {-2, 3}, {-1, 3}, {0, 3},  {1, 3},  {2, 3},  {3, 3},
};

/* Lags beyond the reach of 5 x 5 demosaicing, off the axes. */
static const struct qs_lag far_lag[] = {
    {4, 3}, {-4, 3}, {3, 4}, {-3, 4}, {5, 2}, {-5, 2}, {2, 5}, {-2, 5}, {5, 5}, {-5, 5},
    {4, 6}, {-4, 6}, {6, 4}, {-6, 4}, {7, 2}, {-7, 2}, {2, 7}, {-2, 7}, {7, 5}, {-7, 5},
    {5, 7}, {-5, 7}, {8, 3}, {-8, 3}, {3, 8}, {-3, 8}, {6, 7}, {-6, 7},
};

enum {
    FAR_LAGS = sizeof far_lag / sizeof far_lag[0],
    AXIS_FROM = 5, /* lags along an axis that show stripes */
    AXIS_TO = 9
};

/*
 * Blotches are wider than a Gaussian of 2.5 px behind them, xx = 1 / (4 sd^2): what
 * hangs together more closely is what noise reduction leaves.
 */
static const double NARROWEST = 0.04;

/*
 * Blotches and stripes are taken off where they are surer than this many sd of
 * white noise; noise that hangs together is up to 4 times as unsure.
 */
static const double SURE_BLOTCH = 8.0;
static const double SURE_STRIPE = 8.0;

/* The residuals of one patch. */
struct field {
    const double *e[3];
    int channels;
    int width;
    int height;
    int frame_x;
    int frame_y;
};

struct products {
    double sum[3][3];
    double pairs;
};

/* Which pixels: every one of a step's multiples from a first one on. */
struct comb {
    int x0, y0;
    int step_x, step_y;
};

/* The first of `from`, from + step ... that leaves room for a lag below zero. */
static int
first_place(int from, int step, int lag)
{
    while (from + lag < 0)
        from += step;
    return from;
}

/* T1: adds a(p) b(p + lag) over the pixels p of a comb. */
static void
add_products(const struct field *f, struct qs_lag lag, const struct comb *comb,
             struct products *out)
{
    int x0 = first_place(comb->x0, comb->step_x, lag.x);
    int y0 = first_place(comb->y0, comb->step_y, lag.y);
    int to_x = f->width - (lag.x > 0 ? lag.x : 0);
    int to_y = f->height - (lag.y > 0 ? lag.y : 0);

    for (int y = y0; y < to_y; y += comb->step_y) {
        ptrdiff_t at = (ptrdiff_t)y * f->width;
        ptrdiff_t there = at + (ptrdiff_t)lag.y * f->width + lag.x;

        for (int a = 0; a < f->channels; a++)
            for (int b = 0; b < f->channels; b++) {
                double sum = 0.0;

                for (int x = x0; x < to_x; x += comb->step_x)
                    sum += f->e[a][at + x] * f->e[b][there + x];
                out->sum[a][b] += sum;
            }
        out->pairs += x0 < to_x ? (to_x - 1 - x0) / comb->step_x + 1 : 0;
    }
}

static void
measure_near(const struct field *f, struct qs_cross *out)
{
    for (int place = 0; place < QS_MOSAIC; place++)
        for (int l = 0; l < QS_CROSS_LAGS; l++) {
            struct products made = {.pairs = 0.0};
            const struct comb comb = {((place & 1) ^ f->frame_x) & 1,
                                      ((place >> 1) ^ f->frame_y) & 1, 2, 2};

            add_products(f, qs_cross_lag[l], &comb, &made);
            out->pairs[place][l] = made.pairs;
            for (int a = 0; a < f->channels; a++)
                for (int b = 0; b < f->channels; b++)
                    out->value[place][l][a][b] = made.sum[a][b] / made.pairs;
        }
}

/* Covariance over all places at one far lag, made symmetric: -lag counts as well. */
static void
measure_far(const struct field *f, struct qs_lag lag, double out[3][3])
{
    static const struct comb all = {0, 0, 1, 1};
    struct products made = {.pairs = 0.0};

    add_products(f, lag, &all, &made);
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            out[a][b] = 0.5 * (made.sum[a][b] + made.sum[b][a]) / made.pairs;
}

/* The shape of blotches: covariance exp(-(xx x^2 + yy y^2 + xy x y)) at lag (x, y). */
struct bell {
    double xx;
    double yy;
    double xy;
};

static double
bell_at(const struct bell *bell, struct qs_lag lag)
{
    return exp(-(bell->xx * lag.x * lag.x + bell->yy * lag.y * lag.y +
                 bell->xy * lag.x * lag.y));
}

/*
 * T3: the bell that the far lags follow: ln of covariance against x^2, y^2 and xy,
 * each lag weighted by its covariance's square, as its logarithm's sd asks.
 */
static struct bell
fit_bell(const double seen[FAR_LAGS], double mean)
{
    double rows[4][5] = {{0.0}};

    for (int l = 0; l < FAR_LAGS; l++) {
        struct qs_lag lag = far_lag[l];
        double term[5] = {1.0, (double)lag.x * lag.x, (double)lag.y * lag.y,
                          (double)lag.x * lag.y, 0.0};

        if (seen[l] < 0.1 * mean)
            continue;
        term[4] = log(seen[l] / mean);
        for (int i = 0; i < 4; i++)
            for (int k = 0; k < 5; k++)
                rows[i][k] += seen[l] * seen[l] * term[i] * term[k];
    }
    for (int i = 0; i < 4; i++)
        rows[i][i] *= 1.0 + 1e-9;
    qs_matrix_solve(&rows[0][0], 4);
    return (struct bell){fmax(-rows[1][4], 0.0), fmax(-rows[2][4], 0.0), -rows[3][4]};
}

/*
 * What lines share that are -REACH to REACH apart, for lines of either parity in the
 * frame: by chance lines differ in what they share with others.
 */
struct shared {
    double value[2][2 * QS_CROSS_REACH + 1][3][3];
};

/* What blotches and stripes add to every place. */
struct smooth {
    double slow; /* what was left in */
    bool blotchy;
    struct bell bell;
    double blotch[3][3]; /* their covariance at lag 0 */
    struct shared row;   /* what rows share */
    struct shared column;
};

static void
add_scaled(double to[3][3], double k, double m[3][3])
{
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            to[a][b] += k * m[a][b];
}

/* The far lags of the mixture of colours that is blotchiest, over its variance. */
static void
blotchiest(double all[FAR_LAGS][3][3], double variance[3][3], int n,
           double seen[FAR_LAGS])
{
    double mean[3][3] = {{0.0}}, factor[3][3], white[3][3], mix[3] = {1.0, 1.0, 1.0};

    memset(seen, 0, FAR_LAGS * sizeof *seen);
    if (!qs_matrix_factor(variance, n, factor)) {
        n = 1; /* one channel says it all */
        if (!qs_matrix_factor(variance, 1, factor))
            return;
    }
    for (int l = 0; l < FAR_LAGS; l++)
        add_scaled(mean, 1.0 / FAR_LAGS, all[l]);
    qs_matrix_whiten(factor, n, mean, white);
    qs_matrix_direction(white, n, mix);
    for (int l = 0; l < FAR_LAGS; l++) {
        qs_matrix_whiten(factor, n, all[l], white);
        for (int a = 0; a < n; a++)
            for (int b = 0; b < n; b++)
                seen[l] += mix[a] * white[a][b] * mix[b];
    }
}

static void
find_blotches(const struct field *f, double variance[3][3], struct smooth *smooth)
{
    double all[FAR_LAGS][3][3], seen[FAR_LAGS], mean = 0.0, gg = 0.0;
    double doubt = SURE_BLOTCH / sqrt((double)f->width * f->height * FAR_LAGS);

    for (int l = 0; l < FAR_LAGS; l++)
        measure_far(f, far_lag[l], all[l]);
    blotchiest(all, variance, f->channels, seen);
    for (int l = 0; l < FAR_LAGS; l++)
        mean += seen[l] / FAR_LAGS;
    if (mean < doubt || mean < 0.005) {
        smooth->slow += mean;
        return;
    }
    smooth->bell = fit_bell(seen, mean);
    if (0.5 * (smooth->bell.xx + smooth->bell.yy) > NARROWEST)
        return;
    smooth->blotchy = true;
    for (int l = 0; l < FAR_LAGS; l++) {
        double g = bell_at(&smooth->bell, far_lag[l]);

        gg += g * g;
        add_scaled(smooth->blotch, g, all[l]);
    }
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            smooth->blotch[a][b] /= gg;
}

/* Mean over far lags along lines, of one parity or (2) both, with lines `apart`. */
static void
shared_by_lines(const struct field *f, const struct smooth *smooth, bool rows,
                int parity, int apart, double out[3][3])
{
    struct comb comb = {0, 0, 1, 1};
    struct products made = {.pairs = 0.0};
    double level = 0.0, count = 2.0 * (AXIS_TO - AXIS_FROM + 1);

    if (parity < 2 && rows) {
        comb.y0 = (parity ^ f->frame_y) & 1;
        comb.step_y = 2;
    } else if (parity < 2) {
        comb.x0 = (parity ^ f->frame_x) & 1;
        comb.step_x = 2;
    }
    for (int d = AXIS_FROM; d <= AXIS_TO; d++)
        for (int side = -1; side <= 1; side += 2) {
            struct qs_lag lag = {rows ? side * d : apart, rows ? apart : side * d};

            add_products(f, lag, &comb, &made);
            level += bell_at(&smooth->bell, lag) / count;
        }
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            out[a][b] = made.sum[a][b] / made.pairs - level * smooth->blotch[a][b];
}

/* Stripes, where there are any. */
static void
find_stripes(const struct field *f, double variance[3][3], struct smooth *smooth,
             bool rows, struct shared *out)
{
    double count = AXIS_TO - AXIS_FROM + 1, own[3][3], factor[3][3], white[3][3];
    int n = f->channels;

    shared_by_lines(f, smooth, rows, 2, 0, own);
    if (!qs_matrix_factor(variance, n, factor)) {
        n = 1; /* one channel says it all */
        if (!qs_matrix_factor(variance, n, factor))
            return;
    }
    qs_matrix_whiten(factor, n, own, white);
    if (qs_matrix_greatest(white, n) <
        SURE_STRIPE / sqrt((double)f->width * f->height * count)) {
        for (int c = 0; c < n; c++)
            smooth->slow += white[c][c];
        return;
    }
    for (int parity = 0; parity < 2; parity++)
        for (int k = 0; k <= 2 * QS_CROSS_REACH; k++)
            shared_by_lines(f, smooth, rows, parity, k - QS_CROSS_REACH,
                            out->value[parity][k]);
}

/* T4: takes the smooth parts off every covariance. */
static void
take_off(struct smooth *smooth, struct qs_cross *out)
{
    for (int l = 0; l < QS_CROSS_LAGS; l++)
        for (int place = 0; place < QS_MOSAIC; place++) {
            struct qs_lag lag = qs_cross_lag[l];

            add_scaled(out->value[place][l], -bell_at(&smooth->bell, lag),
                       smooth->blotch);
            add_scaled(out->value[place][l], -1.0,
                       smooth->row.value[place >> 1][lag.y + QS_CROSS_REACH]);
            add_scaled(out->value[place][l], -1.0,
                       smooth->column.value[place & 1][lag.x + QS_CROSS_REACH]);
        }
}

static void
mean_places(struct qs_cross *out)
{
    memset(out->mean, 0, sizeof out->mean);
    for (int l = 0; l < QS_CROSS_LAGS; l++)
        for (int place = 0; place < QS_MOSAIC; place++)
            add_scaled(out->mean[l], 1.0 / QS_MOSAIC, out->value[place][l]);
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
has_thirds(const struct field *f, const double variance[3])
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
note_blotches(const struct smooth *smooth, double variance[3][3], struct qs_cross *out)
{
    double blotch[3][3], factor[3][3], share[3][3];
    int n = out->channels;

    if (!smooth->blotchy || !qs_matrix_factor(variance, n, factor))
        return;
    memcpy(blotch, smooth->blotch, sizeof blotch);
    qs_matrix_whiten(factor, n, blotch, share);
    out->blotch = fmin(fmax(qs_matrix_greatest(share, n), 0.0), 1.0);
    if (n < 3)
        return;
    out->blotch_least = qs_matrix_least(share, n);
    out->blotch_second = share[0][0] + share[1][1] + share[2][2] -
                         qs_matrix_greatest(share, n) - out->blotch_least;
}

static void
measure(const struct field *f, struct qs_cross *out)
{
    struct smooth smooth = {.blotchy = false};
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
    find_blotches(f, all, &smooth);
    find_stripes(f, all, &smooth, true, &smooth.row);
    find_stripes(f, all, &smooth, false, &smooth.column);
    take_off(&smooth, out);
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
 * Takes off what each place of the mosaic has for itself: a raw mosaic stored as a
 * picture, or greens that differ.
 */
static void
level_places(double *e, int width, int height)
{
    for (int place = 0; place < QS_MOSAIC; place++) {
        double sum = 0.0, count = 0.0;

        for (int y = place >> 1; y < height; y += 2)
            for (int x = place & 1; x < width; x += 2) {
                sum += e[(ptrdiff_t)y * width + x];
                count += 1.0;
            }
        for (int y = place >> 1; y < height; y += 2)
            for (int x = place & 1; x < width; x += 2)
                e[(ptrdiff_t)y * width + x] -= sum / count;
    }
}

enum qs_status
qs_cross_measure(const struct qs_plane *planes, int channels, int frame_x, int frame_y,
                 struct qs_cross *out, struct qs_error *err)
{
    struct qs_box box = middle(&planes[0]);
    struct field field = {{NULL, NULL, NULL}, channels,        box.width,
                          box.height,         frame_x + box.x, frame_y + box.y};
    size_t count = (size_t)box.width * (size_t)box.height;
    struct qs_shading_basis basis = {0};
    struct qs_surface surface;
    double *room;
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
        level_places(room + (size_t)c * count, box.width, box.height);
        field.e[c] = room + (size_t)c * count;
    }
    if (status == QS_OK)
        measure(&field, out);
    qs_shading_basis_clear(&basis);
    qs_free(room);
    return status;
}
