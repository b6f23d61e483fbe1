/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/shape.h"

#include <complex.h>
#include <fftw3.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "measure/fft_lock.h"

/* What one measurement works with. */
struct work {
    int nx, ny;                   /* frequency grid */
    int half;                     /* nx / 2 + 1 */
    double *real;                 /* [ny][nx] */
    fftw_complex *spectrum;       /* [ny][half]: of the residual */
    fftw_complex *product;        /* [ny][half]: of a covariance */
    fftw_plan forward;            /* real -> spectrum */
    fftw_plan backward;           /* product -> real */
    double *modulated[QS_MOSAIC]; /* covariance of the residual with (-1)^(q p) times
                                     itself */
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
    qs_fft_lock();
    if (work->forward != NULL)
        fftw_destroy_plan(work->forward);
    if (work->backward != NULL)
        fftw_destroy_plan(work->backward);
    qs_fft_unlock();
    fftw_free(work->real);
    fftw_free(work->spectrum);
    fftw_free(work->product);
    for (int q = 0; q < QS_MOSAIC; q++)
        qs_free(work->modulated[q]);
}

static bool
work_init(struct work *work, const struct qs_noise_shape *shape)
{
    size_t lags = (size_t)(2 * shape->lags_x + 1) * (size_t)(2 * shape->lags_y + 1);
    size_t bins;

    *work = (struct work){.nx = grid_size(shape->width + shape->lags_x),
                          .ny = grid_size(shape->height + shape->lags_y)};
    work->half = work->nx / 2 + 1;
    bins = (size_t)work->ny * (size_t)work->half;
    work->real = fftw_alloc_real((size_t)work->nx * (size_t)work->ny);
    work->spectrum = fftw_alloc_complex(bins);
    work->product = fftw_alloc_complex(bins);
    for (int q = 0; q < QS_MOSAIC; q++) {
        work->modulated[q] = qs_alloc(lags, sizeof(double));
        if (work->modulated[q] == NULL)
            return false;
    }
    if (work->real == NULL || work->spectrum == NULL || work->product == NULL)
        return false;
    qs_fft_lock();
    work->forward = fftw_plan_dft_r2c_2d(work->ny, work->nx, work->real, work->spectrum,
                                         FFTW_ESTIMATE);
    work->backward = fftw_plan_dft_c2r_2d(work->ny, work->nx, work->product, work->real,
                                          FFTW_ESTIMATE);
    qs_fft_unlock();
    return work->forward != NULL && work->backward != NULL;
}

static void
transform(struct work *work, const double *residual, int width, int height)
{
    memset(work->real, 0, (size_t)work->nx * (size_t)work->ny * sizeof(double));
    for (int y = 0; y < height; y++)
        memcpy(work->real + (ptrdiff_t)y * work->nx, residual + (ptrdiff_t)y * width,
               (size_t)width * sizeof(double));
    fftw_execute(work->forward);
}

/* The residual's spectrum at any frequency, from the half that is stored. */
static double complex
spectrum_at(const struct work *work, int i, int j)
{
    i = (i + work->nx) % work->nx;
    j = (j + work->ny) % work->ny;
    if (i < work->half)
        return work->spectrum[(ptrdiff_t)j * work->half + i];
    return conj(work->spectrum[(ptrdiff_t)((work->ny - j) % work->ny) * work->half +
                               (work->nx - i)]);
}

/*
 * S3: sum over p of (-1)^(q p) e(p) e(p + lag), for every lag: multiplying by
 * (-1)^(q p) shifts the spectrum by half the grid along the axes that q names.
 */
static void
modulated_covariance(struct work *work, const struct qs_noise_shape *shape, int q)
{
    int shift_x = (q & 1) ? work->nx / 2 : 0;
    int shift_y = (q & 2) ? work->ny / 2 : 0;
    double scale = 1.0 / ((double)work->nx * work->ny);
    double *into = work->modulated[q];

    for (int j = 0; j < work->ny; j++)
        for (int i = 0; i < work->half; i++) {
            ptrdiff_t at = (ptrdiff_t)j * work->half + i;

            work->product[at] =
                conj(spectrum_at(work, i - shift_x, j - shift_y)) * work->spectrum[at];
        }
    fftw_execute(work->backward);
    for (int dy = -shape->lags_y; dy <= shape->lags_y; dy++)
        for (int dx = -shape->lags_x; dx <= shape->lags_x; dx++) {
            int row = (dy + work->ny) % work->ny;
            int column = (dx + work->nx) % work->nx;

            *into++ = scale * work->real[(ptrdiff_t)row * work->nx + column];
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
give_back(struct qs_noise_shape *shape, const struct qs_shading_basis *basis,
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

/* Places n of one parity with both n and n + lag in [0, length). */
static int
pairs_along(int length, int lag, int parity)
{
    int from = lag < 0 ? -lag : 0;
    int to = lag > 0 ? length - lag : length; /* from <= n < to */

    return (to + 1 - parity) / 2 - (from + 1 - parity) / 2;
}

/* S4: the four modulated covariances taken apart into the four mosaic places. */
static void
split_places(const struct work *work, struct qs_noise_shape *shape, int frame_x,
             int frame_y)
{
    int nx = 2 * shape->lags_x + 1, ny = 2 * shape->lags_y + 1;

    for (int p = 0; p < QS_MOSAIC; p++) {
        int px = (p ^ frame_x) & 1, py = ((p >> 1) ^ frame_y) & 1; /* in the patch */

        for (int dy = 0; dy < ny; dy++)
            for (int dx = 0; dx < nx; dx++) {
                ptrdiff_t at = (ptrdiff_t)dy * nx + dx;
                int pairs = pairs_along(shape->width, dx - shape->lags_x, px) *
                            pairs_along(shape->height, dy - shape->lags_y, py);
                double sum = work->modulated[0][at];

                sum += px ? -work->modulated[1][at] : work->modulated[1][at];
                sum += py ? -work->modulated[2][at] : work->modulated[2][at];
                sum += (px ^ py) ? -work->modulated[3][at] : work->modulated[3][at];
                shape->covariance[p][at] = pairs > 0 ? sum / 4.0 / pairs : 0.0;
            }
    }
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
    fftw_plan plan = NULL;

    if (real != NULL && spectrum != NULL) {
        qs_fft_lock();
        plan = fftw_plan_dft_r2c_2d(shape->height, shape->width, real, spectrum,
                                    FFTW_ESTIMATE);
        qs_fft_unlock();
    }
    if (plan != NULL) {
        memcpy(real, residual, (size_t)pixels * sizeof *real);
        fftw_execute(plan);
        for (ptrdiff_t k = 0; k < bins; k++) {
            double re = creal(spectrum[k]), im = cimag(spectrum[k]);

            shape->power[k] = (re * re + im * im) / (double)pixels;
        }
        qs_fft_lock();
        fftw_destroy_plan(plan);
        qs_fft_unlock();
    }
    fftw_free(real);
    fftw_free(spectrum);
    return plan != NULL ? QS_OK : qs_fail_memory(err);
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

static double
sum_of_squares(const double *residual, ptrdiff_t count)
{
    double sum = 0.0;

    for (ptrdiff_t i = 0; i < count; i++)
        sum += residual[i] * residual[i];
    return sum;
}

/* Variance of the patch, with the removed terms' power given back (N5). */
static void
fill_variance(struct qs_noise_shape *shape, const double *residual,
              const double power[QS_SHADING_TERMS])
{
    ptrdiff_t count = (ptrdiff_t)shape->width * shape->height;

    for (int t = 0; t < QS_SHADING_TERMS; t++) {
        shape->removed += power[t];
        shape->removed_square += power[t] * power[t];
        shape->removed_term[t] = power[t];
    }
    shape->variance =
        (sum_of_squares(residual, count) + shape->removed) / (double)count;
}

/* S1 to S4: the covariances, by way of a padded spectrum. */
static enum qs_status
fill_covariance(struct qs_noise_shape *shape, const double *residual, int frame_x,
                int frame_y, struct qs_error *err)
{
    struct work work = {0};
    bool ready = work_init(&work, shape);

    if (ready) {
        transform(&work, residual, shape->width, shape->height);
        for (int q = 0; q < QS_MOSAIC; q++)
            modulated_covariance(&work, shape, q);
        split_places(&work, shape, frame_x, frame_y);
    }
    work_clear(&work);
    return ready ? QS_OK : qs_fail_memory(err);
}

enum qs_status
qs_noise_shape_measure(const struct qs_shading_basis *basis, const double *residual,
                       const double removed[QS_SHADING_TERMS], int frame_x, int frame_y,
                       int lags_x, int lags_y, struct qs_noise_shape *shape,
                       struct qs_error *err)
{
    enum qs_status status;

    *shape = (struct qs_noise_shape){.width = basis->width, .height = basis->height};
    shape->lags_x = lags_x < basis->width ? lags_x : basis->width - 1;
    shape->lags_y = lags_y < basis->height ? lags_y : basis->height - 1;
    status = allocate(shape, err);
    if (status == QS_OK)
        status = fill_covariance(shape, residual, frame_x, frame_y, err);
    if (status == QS_OK)
        status = give_back(shape, basis, removed, err);
    if (status == QS_OK)
        status = fill_power(shape, residual, err);
    if (status != QS_OK) {
        qs_noise_shape_clear(shape);
        return status;
    }
    fill_variance(shape, residual, removed);
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
