/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fall/fall.h"

#include <math.h>
#include <stddef.h>

#include "base/lanes.h"
#include "base/memory.h"
#include "resample/axis_gain.h"
#include "resample/shrink.h"

static const double PI = 3.14159265358979323846;

static enum qs_status
parities(const struct qs_weights *weights, int origin, double *parity[2],
         struct qs_error *err)
{
    size_t lags = (size_t)(2 * weights->taps - 1);

    parity[0] = qs_alloc(lags, sizeof(double));
    parity[1] = qs_alloc(lags, sizeof(double));
    if (parity[0] == NULL || parity[1] == NULL)
        return qs_fail_memory(err);
    qs_weights_autocorrelation(weights, origin, parity[0], parity[1]);
    return QS_OK;
}

/* The filter's own figures, for contrast the geometric mean of the two axes. */
static enum qs_status
own_figures(struct qs_reduction *reduction, enum qs_filter filter, struct qs_error *err)
{
    struct qs_axis_response x = {1.0, 1.0, 1.0, 0.0};
    struct qs_axis_response y = {1.0, 1.0, 1.0, 0.0};
    enum qs_status status = QS_OK;

    if (reduction->across.in > reduction->across.out)
        status = qs_axis_response(filter, reduction->across.scale, &x, err);
    if (status == QS_OK && reduction->down.in > reduction->down.out)
        status = qs_axis_response(filter, reduction->down.scale, &y, err);
    reduction->kept_half_nyquist = sqrt(x.kept_half_nyquist * y.kept_half_nyquist);
    reduction->alias_share = qs_alias_share_2d(x.alias_share, y.alias_share);
    return status;
}

enum qs_status
qs_reduction_init(struct qs_reduction *reduction, enum qs_filter filter,
                  struct qs_box crop, int out_width, int out_height,
                  struct qs_error *err)
{
    enum qs_status status;

    *reduction = (struct qs_reduction){.origin_x = crop.x, .origin_y = crop.y};
    status = qs_weights_init(&reduction->across, filter, crop.width, out_width, err);
    if (status == QS_OK)
        status =
            qs_weights_init(&reduction->down, filter, crop.height, out_height, err);
    if (status == QS_OK)
        status = parities(&reduction->across, crop.x, reduction->across_parity, err);
    if (status == QS_OK)
        status = parities(&reduction->down, crop.y, reduction->down_parity, err);
    if (status == QS_OK)
        status = own_figures(reduction, filter, err);
    if (status != QS_OK)
        qs_reduction_clear(reduction);
    return status;
}

void
qs_reduction_clear(struct qs_reduction *reduction)
{
    qs_weights_clear(&reduction->across);
    qs_weights_clear(&reduction->down);
    for (int i = 0; i < 2; i++) {
        qs_free(reduction->across_parity[i]);
        qs_free(reduction->down_parity[i]);
    }
    *reduction = (struct qs_reduction){0};
}

struct qs_box
qs_fall_pixels(const struct qs_reduction *reduction, const struct qs_patch_view *view)
{
    struct qs_box out = {0, 0, 0, 0};

    out.width = qs_shrink_span(&reduction->across, view->box.x - reduction->origin_x,
                               view->box.width, view->reach.x - reduction->origin_x,
                               view->reach.width, &out.x);
    out.height = qs_shrink_span(&reduction->down, view->box.y - reduction->origin_y,
                                view->box.height, view->reach.y - reduction->origin_y,
                                view->reach.height, &out.y);
    return out;
}

/*
 * D2: sum over lags in x of one row of covariances with the weights'
 * autocorrelation of one parity.  `weight_lags` may be more or fewer than the
 * covariance has.
 */
static double
along_x(const double *covariance, int lags, const double *parity, int weight_lags)
{
    int reach = lags < weight_lags ? lags : weight_lags;
    double sum = 0.0;

    for (int d = -reach; d <= reach; d++)
        sum += covariance[d + lags] * parity[d + weight_lags];
    return sum;
}

/* D1: variance after the filter, place by place of the mosaic. */
static double
predicted_variance(const struct qs_reduction *reduction,
                   const struct qs_noise_shape *shape)
{
    int weight_x = reduction->across.taps - 1, weight_y = reduction->down.taps - 1;
    int reach_y = shape->lags_y < weight_y ? shape->lags_y : weight_y;
    double sum = 0.0;

    for (int p = 0; p < QS_MOSAIC; p++) {
        const double *across = reduction->across_parity[p & 1];
        const double *down = reduction->down_parity[p >> 1];

        for (int d = -reach_y; d <= reach_y; d++) {
            const double *row = shape->covariance[p] + (ptrdiff_t)(d + shape->lags_y) *
                                                           (2 * shape->lags_x + 1);

            sum += down[d + weight_y] * along_x(row, shape->lags_x, across, weight_x);
        }
    }
    return sum;
}

/* D3: power response at the first n / 2 + 1 of n frequencies; room for n cosines. */
static void
power_response(double *const parity[2], int lags, int n, double *cosine, double *gain)
{
    for (int k = 0; k < n; k++)
        cosine[k] = 2 * k <= n ? cos(2.0 * PI * k / n) : cosine[n - k];
    for (int i = 0; i <= n / 2; i++) {
        gain[i] = parity[0][lags] + parity[1][lags];
        for (int d = 1, at = i; d <= lags; d++) {
            gain[i] += (parity[0][lags + d] + parity[1][lags + d] +
                        parity[0][lags - d] + parity[1][lags - d]) *
                       cosine[at];
            at += i;
            at -= at >= n ? n : 0;
        }
    }
}

static enum qs_status
response_sums(const struct qs_reduction *reduction, const struct qs_noise_shape *shape,
              struct qs_power_sums *sums, struct qs_error *err)
{
    size_t width = (size_t)shape->width, height = (size_t)shape->height;
    size_t longest = width > height ? width : height;
    double *gain_x = qs_alloc(width + height + longest, sizeof *gain_x);
    double *gain_y, *cosine;
    enum qs_status status;

    if (gain_x == NULL)
        return qs_fail_memory(err);
    gain_y = gain_x + width;
    cosine = gain_y + height;
    power_response(reduction->across_parity, reduction->across.taps - 1, shape->width,
                   cosine, gain_x);
    power_response(reduction->down_parity, reduction->down.taps - 1, shape->height,
                   cosine, gain_y);
    status = qs_noise_shape_sums(shape, gain_x, gain_y, reduction->across.scale,
                                 reduction->down.scale, sums, err);
    qs_free(gain_x);
    return status;
}

/* D5: variance of the delivered pixels, with what their surface took given back. */
static enum qs_status
measured_variance(const struct qs_plane *delivered, double removed, double *variance,
                  struct qs_error *err)
{
    ptrdiff_t count = (ptrdiff_t)delivered->width * delivered->height;
    double *residual = qs_alloc((size_t)count, sizeof *residual);
    struct qs_shading_basis basis = {0};
    struct qs_surface surface;
    enum qs_status status;

    if (residual == NULL)
        return qs_fail_memory(err);
    status = qs_shading_basis_init(&basis, delivered->width, delivered->height, err);
    if (status == QS_OK) {
        double sum = removed;

        (void)qs_shading_remove(&basis, delivered, residual, &surface);
        sum += qs_dot(residual, residual, count);
        *variance = sum / (double)count;
    }
    qs_shading_basis_clear(&basis);
    qs_free(residual);
    return status;
}

/*
 * D6: relative variance of the delivered variance, by the power that the filter
 * lets through, over `pixels` source pixels.  A measured one has but one place of
 * the delivery grid to go by: there frequencies that fold together add to it.
 */
static double
relative_spread(const struct qs_power_sums *sums, double pixels, bool measured,
                double removed_square)
{
    double level = sums->mean;
    double square = sums->mean_square + (measured ? 2.0 * sums->mean_alias : 0.0);

    if (level <= 0.0)
        return 0.0;
    return (square + 2.0 * removed_square / pixels) / (level * level * pixels);
}

/* D7: variance of the logarithm of the ratio of native to delivered variance. */
static double
ratio_spread(const struct qs_power_sums *sums, double all_pixels, double pixels,
             bool measured)
{
    double a = sums->native, b = sums->mean;
    double same, own;

    if (a <= 0.0 || b <= 0.0)
        return 0.0;
    same = sums->square / (a * a) - 2.0 * sums->mean_product / (a * b) +
           sums->mean_square / (b * b);
    own = sums->mean_square / (b * b) * (1.0 / pixels - 1.0 / all_pixels);
    if (measured)
        own += 2.0 * sums->mean_alias / (b * b * pixels);
    return fmax(same, 0.0) / all_pixels + own;
}

static void
fill_worth(const struct qs_noise *noise, double sd, double spread,
           struct qs_fall_value *out)
{
    if (noise->sd <= 0.0 || sd <= 0.0)
        return;
    out->has_fall = true;
    out->fall_db = 20.0 * log10(noise->sd / sd);
    out->worth_stops = 2.0 * log2(noise->sd / sd);
    out->worth_se_stops = sqrt(spread) / log(2.0);
}

/* Whether the patch is wide enough to hold the filter's whole kernel. */
static bool
kernel_fits(const struct qs_reduction *reduction, const struct qs_noise_shape *shape)
{
    return reduction->across.taps <= shape->width &&
           reduction->down.taps <= shape->height;
}

enum qs_status
qs_fall(const struct qs_reduction *reduction, const struct qs_noise *noise,
        const struct qs_noise_shape *shape, const struct qs_plane *delivered,
        struct qs_fall_value *out, struct qs_error *err)
{
    double merged = reduction->across.scale * reduction->down.scale;
    double all_pixels = (double)shape->width * shape->height;
    double pixels = all_pixels;
    double variance = predicted_variance(reduction, shape);
    struct qs_power_sums sums;
    enum qs_status status = response_sums(reduction, shape, &sums, err);
    double spread, sd;

    if (status != QS_OK)
        return status;
    *out = (struct qs_fall_value){0};
    out->has_predicted = kernel_fits(reduction, shape) && variance >= 0.0;
    if (out->has_predicted)
        out->sd_predicted = sqrt(variance);
    if (delivered != NULL) {
        pixels = fmin(merged * delivered->width * delivered->height, all_pixels);
        status = measured_variance(delivered, shape->removed / merged, &variance, err);
        if (status != QS_OK)
            return status;
        out->has_measured = true;
        out->sd_measured = sqrt(variance);
    }
    if (!out->has_measured && !out->has_predicted)
        return QS_OK;
    sd = out->has_measured ? out->sd_measured : out->sd_predicted;
    out->sd_low = out->sd_high = sd;
    spread = relative_spread(&sums, pixels, out->has_measured, shape->removed_square);
    if (spread > 0.0)
        qs_noise_interval(sd, 2.0 / spread, &out->sd_low, &out->sd_high);
    spread = ratio_spread(&sums, all_pixels, pixels, out->has_measured);
    fill_worth(noise, sd, spread, out);
    return QS_OK;
}
