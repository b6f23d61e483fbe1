/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/noise.h"

#include <math.h>

#include "base/chisquare.h"
#include "base/lanes.h"
#include "base/memory.h"
#include "flat/shading.h"
#include "measure/bands.h"
#include "measure/grain.h"

/* Below this, chi-square quantiles say nothing but "unknown". */
static const double LEAST_FREEDOM = 1.0;

void
qs_noise_interval(double sd, double freedom, double *low, double *high)
{
    double nu = fmax(freedom, LEAST_FREEDOM);

    *low = sd * sqrt(nu / qs_chisquare_quantile(0.975, nu));
    *high = sd * sqrt(nu / qs_chisquare_quantile(0.025, nu));
}

static bool
all_finite(const struct qs_plane *plane)
{
    for (int y = 0; y < plane->height; y++) {
        const float *row = qs_plane_row(plane, y);

        for (int x = 0; x < plane->width; x++)
            if (!isfinite(row[x]))
                return false;
    }
    return true;
}

/*
 * N4: noise power in the terms of the removed surface.  What they took can't be
 * seen any more; it is read off the fit to the frequencies around them (a term of
 * orders i, j waves like i / 2 and j / 2 cycles across the patch), with what whole
 * rows or columns share added to the terms that vary along one axis alone.
 */
static void
removed_power(const struct qs_low_power *low, double plain_variance, int width,
              int height, double row_variance, double column_variance,
              double power[QS_SHADING_TERMS])
{
    for (int t = 0; t < QS_SHADING_TERMS; t++) {
        int i = qs_shading_term[t][0], j = qs_shading_term[t][1];
        double u = 0.5 * i / width, v = 0.5 * j / height;
        double sum =
            low->known ? exp(low->level + low->bend * (u * u + v * v)) : plain_variance;

        if (i == 0)
            sum += row_variance * width;
        if (j == 0)
            sum += column_variance * height;
        power[t] = fmax(sum, 0.0);
    }
}

/*
 * N7: effective degrees of freedom of the variance.  Its own variance is
 * <P^2> / pixels (power being exponentially distributed, <P^2> is twice the mean
 * square of the true power), and the removed terms' share counts like the rest.
 */
static double
variance_freedom(const struct qs_noise_shape *shape)
{
    double pixels = (double)shape->width * shape->height;
    int half = shape->width / 2;
    double square = 0.0, spread;

    for (int j = 0; j < shape->height; j++)
        for (int i = 0; i <= half; i++) {
            double p = shape->power[(ptrdiff_t)j * (half + 1) + i];

            square += (i == 0 || 2 * i == shape->width ? 1.0 : 2.0) * p * p;
        }
    spread = (square + 2.0 * shape->removed_square) / (pixels * pixels);
    return spread > 0.0 ? 2.0 * shape->variance * shape->variance / spread : 0.0;
}

static void
fill(const struct qs_noise_shape *shape, const struct qs_low_power *low,
     struct qs_noise *out)
{
    out->sd = sqrt(shape->variance);
    out->freedom = variance_freedom(shape);
    out->sd_low = out->sd_high = out->sd;
    if (out->freedom > 0.0)
        qs_noise_interval(out->sd, out->freedom, &out->sd_low, &out->sd_high);
    out->has_grain = low->known && shape->variance > 0.0;
    out->grain_px = out->has_grain ? sqrt(exp(low->level) / shape->variance) : 0.0;
}

/* Measures with the polynomials and room already there. */
static enum qs_status
measure(const struct qs_shading_basis *basis, const struct qs_plane *plane, int frame_x,
        int frame_y, int lags_x, int lags_y, double *residual, struct qs_noise *out,
        struct qs_noise_shape *shape, struct qs_error *err)
{
    int width = plane->width, height = plane->height;
    double removed[QS_SHADING_TERMS];
    double row_variance = 0.0, column_variance = 0.0;
    struct qs_low_power low = {.known = false};
    struct qs_surface surface;
    double mean = qs_shading_remove(basis, plane, residual, &surface);
    double plain = qs_dot(residual, residual, (ptrdiff_t)width * height) /
                   ((double)width * height);
    enum qs_status status =
        qs_bands(residual, width, height, &row_variance, &column_variance, err);

    if (status == QS_OK)
        status = qs_noise_shape_measure(basis, residual, frame_x, frame_y, lags_x,
                                        lags_y, shape, err);
    if (status == QS_OK)
        status = qs_low_power_fit(shape->power, width, height, &low, err);
    if (status == QS_OK)
        removed_power(&low, plain, width, height, row_variance, column_variance,
                      removed);
    if (status == QS_OK)
        status = qs_noise_shape_give_back(basis, removed, shape, err);
    if (status != QS_OK) {
        qs_noise_shape_clear(shape);
        return status;
    }
    out->mean = mean;
    out->row_sd = sqrt(fmax(row_variance, 0.0));
    out->column_sd = sqrt(fmax(column_variance, 0.0));
    fill(shape, &low, out);
    return QS_OK;
}

enum qs_status
qs_noise_measure(const struct qs_plane *plane, int frame_x, int frame_y, int lags_x,
                 int lags_y, struct qs_noise *out, struct qs_noise_shape *shape,
                 struct qs_error *err)
{
    struct qs_shading_basis basis = {0};
    double *residual;
    enum qs_status status;

    *shape = (struct qs_noise_shape){0};
    if (plane->width < QS_SHADING_MIN_PX || plane->height < QS_SHADING_MIN_PX)
        return qs_fail(
            err, QS_ERR_TOO_FEW,
            "The patch is %d x %d pixels, too small to measure noise in; give "
            "one of at least %d x %d, better 64 x 64 or more.",
            plane->width, plane->height, QS_SHADING_MIN_PX, QS_SHADING_MIN_PX);
    if (!all_finite(plane))
        return qs_fail(err, QS_ERR_RANGE,
                       "The patch holds values that are not numbers; export the frame "
                       "again as 16-bit TIFF.");
    residual = qs_alloc((size_t)plane->width * (size_t)plane->height, sizeof *residual);
    if (residual == NULL)
        return qs_fail_memory(err);
    status = qs_shading_basis_init(&basis, plane->width, plane->height, err);
    if (status == QS_OK)
        status = measure(&basis, plane, frame_x, frame_y, lags_x, lags_y, residual, out,
                         shape, err);
    qs_shading_basis_clear(&basis);
    qs_free(residual);
    return status;
}
