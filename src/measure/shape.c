/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/shape.h"

#include <complex.h>
#include <fftw3.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/lanes.h"
#include "base/memory.h"
#include "measure/fft_plans.h"

/*
 * What one measurement works with.  The pixels of each place of the mosaic are a small
 * picture of their own, with a spectrum of its own; places are counted in the patch.
 */
struct work {
    int nx, ny;         /* frequency grid of one place */
    int half;           /* nx / 2 + 1 */
    int place_rows;     /* pixels down of a place, at most */
    int reach_y;        /* longest lag down between places, in their own pixels */
    double *real;       /* [place_rows][nx], or [2 reach_y + 1][nx] */
    fftw_complex *kept; /* [2 reach_y + 1][half] */
    fftw_complex *spectrum[QS_MOSAIC]; /* [ny][half] */
    fftw_complex *product;             /* [ny][half] */
    struct qs_fft *rows, *columns, *columns_back, *rows_back;
};

/* The next even number with no prime factor above 7: quick to transform. */
static int
grid_size(int n)
{
    for (n += n & 1;; n += 2) {
        int rest = n;

        for (int p = 2; p <= 7; p++)
            while (rest % p == 0)
                rest /= p;
        if (rest == 1)
            return n;
    }
}

static void
work_clear(struct work *work)
{
    qs_fft_give_back(work->rows);
    qs_fft_give_back(work->columns);
    qs_fft_give_back(work->columns_back);
    qs_fft_give_back(work->rows_back);
    fftw_free(work->real);
    fftw_free(work->kept);
    fftw_free(work->product);
    for (int p = 0; p < QS_MOSAIC; p++)
        fftw_free(work->spectrum[p]);
}

static bool
allocate_work(struct work *work)
{
    const int kept = 2 * work->reach_y + 1;
    const int rows = kept > work->place_rows ? kept : work->place_rows;
    const size_t bins = (size_t)work->ny * (size_t)work->half;
    bool ready = true;

    work->real = fftw_alloc_real((size_t)rows * (size_t)work->nx);
    work->kept = fftw_alloc_complex((size_t)kept * (size_t)work->half);
    work->product = fftw_alloc_complex(bins);
    for (int p = 0; p < QS_MOSAIC; p++) {
        work->spectrum[p] = fftw_alloc_complex(bins);
        ready = ready && work->spectrum[p] != NULL;
    }
    return ready && work->real != NULL && work->kept != NULL && work->product != NULL;
}

static bool
work_init(struct work *work, const struct qs_noise_shape *shape)
{
    *work = (struct work){.place_rows = (shape->height + 1) / 2,
                          .reach_y = (shape->lags_y + 1) / 2};
    work->nx = grid_size((shape->width + 1) / 2 + (shape->lags_x + 1) / 2);
    work->ny = grid_size(work->place_rows + work->reach_y);
    work->half = work->nx / 2 + 1;
    if (!allocate_work(work))
        return false;
    work->rows = qs_fft_take(QS_FFT_ROWS, work->nx, work->place_rows);
    work->columns = qs_fft_take(QS_FFT_COLUMNS, work->ny, work->half);
    work->columns_back = qs_fft_take(QS_FFT_COLUMNS_BACK, work->ny, work->half);
    work->rows_back = qs_fft_take(QS_FFT_ROWS_BACK, work->nx, 2 * work->reach_y + 1);
    return work->rows != NULL && work->columns != NULL && work->columns_back != NULL &&
           work->rows_back != NULL;
}

/* S2: the spectrum of one place, padded with zeros by the longest lag. */
static void
transform(struct work *work, const double *residual, int width, int height, int place)
{
    const int px = place & 1, py = place >> 1;
    const size_t bins = (size_t)work->ny * (size_t)work->half;

    memset(work->real, 0,
           (size_t)work->place_rows * (size_t)work->nx * sizeof *work->real);
    for (int y = py; y < height; y += 2) {
        const double *from = residual + (ptrdiff_t)y * width;
        double *to = work->real + (ptrdiff_t)(y / 2) * work->nx;

        for (int x = px; x < width; x += 2)
            to[x / 2] = from[x];
    }
    memset(work->spectrum[place], 0, bins * sizeof *work->product);
    qs_fft_rows(work->rows, work->real, work->spectrum[place]);
    qs_fft_columns(work->columns, work->spectrum[place]);
}

/*
 * out = conj(a) b.  Not in QS_CLONES: gcc 12 contracts this very form for wide
 * processors, whatever it is told.
 */
static void
multiply(const fftw_complex *a, const fftw_complex *b, size_t count,
         fftw_complex *restrict out)
{
    const double *left = (const double *)a, *right = (const double *)b;
    double *product = (double *)out;

    for (size_t k = 0; k < 2 * count; k += 2) {
        product[k] = left[k] * right[k] + left[k + 1] * right[k + 1];
        product[k + 1] = left[k] * right[k + 1] - left[k + 1] * right[k];
    }
}

/* Row of a grid of n rows that a lag, of either sign, is found in. */
static int
wrapped(int lag, int n)
{
    return ((lag % n) + n) % n;
}

/*
 * S3: real[s_y + reach_y][s_x mod nx] = sum of a(i) b(i + s), times the grid's size,
 * for the pixels i of place a and b of another one.  Rows further down than any lag are
 * not transformed back.
 */
static void
correlate(struct work *work, int a, int b)
{
    multiply(work->spectrum[a], work->spectrum[b],
             (size_t)work->ny * (size_t)work->half, work->product);
    qs_fft_columns(work->columns_back, work->product);
    for (int s = -work->reach_y; s <= work->reach_y; s++)
        memcpy(work->kept + (ptrdiff_t)(s + work->reach_y) * work->half,
               work->product + (ptrdiff_t)wrapped(s, work->ny) * work->half,
               (size_t)work->half * sizeof *work->kept);
    qs_fft_rows_back(work->rows_back, work->kept, work->real);
}

/* Places n of one parity with both n and n + lag in [0, length). */
static int
pairs_along(int length, int lag, int parity)
{
    int from = lag < 0 ? -lag : 0;
    int to = lag > 0 ? length - lag : length; /* from <= n < to */

    return (to + 1 - parity) / 2 - (from + 1 - parity) / 2;
}

/*
 * S4: the means at the lags that lead from place a of the patch to place b, which come
 * to every second lag along each axis; `side` -1 where what was correlated is b with a.
 */
static void
take_means(const struct work *work, int a, int b, int side,
           const struct qs_noise_shape *shape, double *covariance)
{
    const int ax = a & 1, ay = a >> 1, bx = b & 1, by = b >> 1;
    const int columns = 2 * shape->lags_x + 1;
    const double scale = 1.0 / ((double)work->nx * work->ny);

    for (int dy = -shape->lags_y; dy <= shape->lags_y; dy++) {
        const double *row;
        int down = pairs_along(shape->height, dy, ay);

        if (((ay + dy) & 1) != by)
            continue;
        row = work->real +
              (ptrdiff_t)(side * (ay + dy - by) / 2 + work->reach_y) * work->nx;
        for (int dx = -shape->lags_x; dx <= shape->lags_x; dx++) {
            int pairs = down * pairs_along(shape->width, dx, ax);

            if (((ax + dx) & 1) != bx)
                continue;
            covariance[(ptrdiff_t)(dy + shape->lags_y) * columns + dx + shape->lags_x] =
                pairs > 0
                    ? scale * row[wrapped(side * (ax + dx - bx) / 2, work->nx)] / pairs
                    : 0.0;
        }
    }
}

/* Sum over n of p(n) p(n + lag) for one polynomial of one axis. */
static double
polynomial_overlap(const double *p, int n, int lag)
{
    double sum = 0.0;

    lag = abs(lag);
    for (int i = 0; i + lag < n; i++)
        sum += p[i] * p[i + lag];
    return sum;
}

/*
 * S6: what taking off the surface took from the covariance at each lag, as a
 * mean over the pixel pairs that have the lag.  Adds it to all four places.
 */
static enum qs_status
add_taken(struct qs_noise_shape *shape, const struct qs_shading_basis *basis,
          const double power[QS_SHADING_TERMS], struct qs_error *err)
{
    int nx = 2 * shape->lags_x + 1, ny = 2 * shape->lags_y + 1;
    double *overlap_x = qs_alloc((size_t)nx * 3, sizeof *overlap_x);
    double *overlap_y = qs_alloc((size_t)ny * 3, sizeof *overlap_y);

    if (overlap_x == NULL || overlap_y == NULL) {
        qs_free(overlap_x);
        qs_free(overlap_y);
        return qs_fail_memory(err);
    }
    for (int k = 0; k < 3; k++) {
        for (int d = 0; d < nx; d++)
            overlap_x[k * nx + d] = polynomial_overlap(basis->x + k * basis->width,
                                                       basis->width, d - shape->lags_x);
        for (int d = 0; d < ny; d++)
            overlap_y[k * ny + d] = polynomial_overlap(
                basis->y + k * basis->height, basis->height, d - shape->lags_y);
    }
    for (int dy = 0; dy < ny; dy++)
        for (int dx = 0; dx < nx; dx++) {
            double pairs = (double)(shape->width - abs(dx - shape->lags_x)) *
                           (shape->height - abs(dy - shape->lags_y));
            double sum = 0.0;

            for (int t = 0; t < QS_SHADING_TERMS; t++)
                sum += power[t] * overlap_x[qs_shading_term[t][0] * nx + dx] *
                       overlap_y[qs_shading_term[t][1] * ny + dy];
            for (int p = 0; p < QS_MOSAIC; p++)
                shape->covariance[p][(ptrdiff_t)dy * nx + dx] += sum / pairs;
        }
    qs_free(overlap_x);
    qs_free(overlap_y);
    return QS_OK;
}

/* S7: power on the patch's own grid, where what whole rows share is one frequency. */
static enum qs_status
fill_power(struct qs_noise_shape *shape, const double *residual, struct qs_error *err)
{
    int half = shape->width / 2 + 1;
    ptrdiff_t pixels = (ptrdiff_t)shape->width * shape->height;
    ptrdiff_t bins = (ptrdiff_t)shape->height * half;
    double *real = fftw_alloc_real((size_t)pixels);
    fftw_complex *spectrum = fftw_alloc_complex((size_t)bins);
    struct qs_fft *rows = qs_fft_take(QS_FFT_ROWS, shape->width, shape->height);
    struct qs_fft *columns = qs_fft_take(QS_FFT_COLUMNS, shape->height, half);
    bool ready = real != NULL && spectrum != NULL && rows != NULL && columns != NULL;

    if (ready) {
        memcpy(real, residual, (size_t)pixels * sizeof *real);
        qs_fft_rows(rows, real, spectrum);
        qs_fft_columns(columns, spectrum);
        for (ptrdiff_t k = 0; k < bins; k++) {
            double re = creal(spectrum[k]), im = cimag(spectrum[k]);

            shape->power[k] = (re * re + im * im) / (double)pixels;
        }
    }
    qs_fft_give_back(rows);
    qs_fft_give_back(columns);
    fftw_free(real);
    fftw_free(spectrum);
    return ready ? QS_OK : qs_fail_memory(err);
}

static enum qs_status
allocate(struct qs_noise_shape *shape, struct qs_error *err)
{
    size_t lags = (size_t)(2 * shape->lags_x + 1) * (size_t)(2 * shape->lags_y + 1);
    bool short_of_memory = false;

    for (int p = 0; p < QS_MOSAIC; p++) {
        shape->covariance[p] = qs_alloc(lags, sizeof(double));
        short_of_memory |= shape->covariance[p] == NULL;
    }
    shape->power = qs_alloc((size_t)shape->height * (size_t)(shape->width / 2 + 1),
                            sizeof(double));
    return short_of_memory || shape->power == NULL ? qs_fail_memory(err) : QS_OK;
}

/* N5 */
enum qs_status
qs_noise_shape_give_back(const struct qs_shading_basis *basis,
                         const double power[QS_SHADING_TERMS],
                         struct qs_noise_shape *shape, struct qs_error *err)
{
    double pixels = (double)shape->width * shape->height;
    enum qs_status status = add_taken(shape, basis, power, err);

    for (int t = 0; t < QS_SHADING_TERMS; t++) {
        shape->removed += power[t];
        shape->removed_square += power[t] * power[t];
        shape->removed_term[t] = power[t];
    }
    shape->variance += shape->removed / pixels;
    return status;
}

/* S1 to S4: the covariances, by way of padded spectra. */
static enum qs_status
fill_covariance(struct qs_noise_shape *shape, const double *residual, int frame_x,
                int frame_y, struct qs_error *err)
{
    struct work work = {0};
    bool ready = work_init(&work, shape);

    if (ready) {
        const int frame =
            2 * (frame_y & 1) + (frame_x & 1); /* of the patch's place 0 */

        for (int p = 0; p < QS_MOSAIC; p++)
            transform(&work, residual, shape->width, shape->height, p);
        for (int a = 0; a < QS_MOSAIC; a++)
            for (int b = a; b < QS_MOSAIC; b++) {
                correlate(&work, a, b);
                take_means(&work, a, b, 1, shape, shape->covariance[a ^ frame]);
                if (b != a)
                    take_means(&work, b, a, -1, shape, shape->covariance[b ^ frame]);
            }
    }
    work_clear(&work);
    return ready ? QS_OK : qs_fail_memory(err);
}

enum qs_status
qs_noise_shape_measure(const struct qs_shading_basis *basis, const double *residual,
                       int frame_x, int frame_y, int lags_x, int lags_y,
                       struct qs_noise_shape *shape, struct qs_error *err)
{
    enum qs_status status;

    *shape = (struct qs_noise_shape){.width = basis->width, .height = basis->height};
    shape->lags_x = lags_x < basis->width ? lags_x : basis->width - 1;
    shape->lags_y = lags_y < basis->height ? lags_y : basis->height - 1;
    status = allocate(shape, err);
    if (status == QS_OK)
        status = fill_covariance(shape, residual, frame_x, frame_y, err);
    if (status == QS_OK)
        status = fill_power(shape, residual, err);
    if (status != QS_OK) {
        qs_noise_shape_clear(shape);
        return status;
    }
    shape->variance =
        qs_dot(residual, residual, (ptrdiff_t)shape->width * shape->height) /
        ((double)shape->width * shape->height);
    return QS_OK;
}

void
qs_noise_shape_clear(struct qs_noise_shape *shape)
{
    for (int p = 0; p < QS_MOSAIC; p++)
        qs_free(shape->covariance[p]);
    qs_free(shape->power);
    *shape = (struct qs_noise_shape){0};
}
