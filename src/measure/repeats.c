/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/repeats.h"

#include <math.h>
#include <stddef.h>

#include "base/chisquare.h"
#include "base/memory.h"
#include "flat/shading.h"
#include "measure/bands.h"

/*
 * R30: what stays is the surface's where pixels 2 and 3 px apart both ways share a
 * tenth of it: of a pattern that is each photosite's own, demosaicing leaves at most a
 * thirtieth there.  Fixed noise of less than a fifth of the random sd changes a figure
 * by under 2 %.
 */
static const double TEXTURED_SHARE = 0.1;
static const double TEXTURED_SD = 0.2;
static const double TEXTURED_SURE = 6.0;

double
qs_repeats_contrast(int frame)
{
    return sqrt(frame / (frame + 1.0));
}

/* Off the axes, so that stripes don't count. */
static const int far_lag[][2] = {{2, 2}, {-2, 2}, {3, 2}, {-3, 2},
                                 {2, 3}, {-2, 3}, {3, 3}, {-3, 3}};

enum {
    FAR_LAGS = sizeof far_lag / sizeof far_lag[0]
};

static double
far_variance(const double *residual, int width, int height)
{
    double sum = 0.0, pairs = 0.0;

    for (int l = 0; l < FAR_LAGS; l++) {
        int dx = far_lag[l][0], dy = far_lag[l][1];
        int from = dx < 0 ? -dx : 0, to = width - (dx > 0 ? dx : 0);

        for (int y = 0; y + dy < height; y++) {
            const double *row = residual + (ptrdiff_t)y * width;
            const double *other = row + (ptrdiff_t)dy * width + dx;

            for (int x = from; x < to; x++)
                sum += row[x] * other[x];
            pairs += to - from;
        }
    }
    return sum / pairs;
}

enum qs_status
qs_repeats_bands(const struct qs_plane *plane, struct qs_repeats_plane *out,
                 struct qs_error *err)
{
    struct qs_shading_basis basis = {0};
    struct qs_surface surface;
    double *residual =
        qs_alloc((size_t)plane->width * (size_t)plane->height, sizeof *residual);
    enum qs_status status;

    if (residual == NULL)
        return qs_fail_memory(err);
    status = qs_shading_basis_init(&basis, plane->width, plane->height, err);
    if (status == QS_OK) {
        (void)qs_shading_remove(&basis, plane, residual, &surface);
        out->far_variance = far_variance(residual, plane->width, plane->height);
        out->pixels = (double)plane->width * plane->height;
        status = qs_bands(residual, plane->width, plane->height, &out->row_variance,
                          &out->column_variance, err);
    }
    qs_shading_basis_clear(&basis);
    qs_free(residual);
    return status;
}

void
qs_repeats_add(struct qs_repeats_sums *sums, const struct qs_repeats_plane *contrast)
{
    const struct qs_noise *noise = &contrast->noise;
    double variance = noise->sd * noise->sd;

    sums->contrasts++;
    sums->variance += variance;
    if (noise->freedom > 0.0)
        sums->spread += 2.0 * variance * variance / noise->freedom;
    sums->row_variance += contrast->row_variance;
    sums->column_variance += contrast->column_variance;
    sums->far_variance += contrast->far_variance;
    if (noise->has_grain) {
        sums->grains++;
        sums->grain_px += noise->grain_px;
    }
}

/* A variance and how sure it is: 2 value^2 / (its own variance); 0 = without doubt. */
struct sure {
    double value;
    double freedom;
};

/* How far below and above, as a share of itself, the variance's true value may lie. */
static void
reaches(struct sure variance, double *below, double *above)
{
    double nu = fmax(variance.freedom, 1.0);

    *below = *above = 0.0;
    if (variance.value <= 0.0 || variance.freedom <= 0.0)
        return;
    *below = 1.0 - nu / qs_chisquare_quantile(0.975, nu);
    *above = nu / qs_chisquare_quantile(0.025, nu) - 1.0;
}

/*
 * R8: interval of a + sign b, for independent estimates: what each may be off by,
 * added in squares.  Exact where one of the two is without doubt.  What is off is laid
 * around 0 where the estimate is below it: an interval is never empty.
 */
static void
fill_interval(struct sure a, struct sure b, double sign, struct qs_repeats_part *part)
{
    double below_a, above_a, below_b, above_b, low, high;
    double value = fmax(a.value + sign * b.value, 0.0);

    reaches(a, &below_a, &above_a);
    reaches(b, &below_b, &above_b);
    low = value - hypot(below_a * a.value, (sign > 0.0 ? below_b : above_b) * b.value);
    high = value + hypot(above_a * a.value, (sign > 0.0 ? above_b : below_b) * b.value);
    part->sd = sqrt(value);
    part->sd_low = sqrt(fmax(low, 0.0));
    part->sd_high = sqrt(high);
}

/* R9: what rows, columns and pixels have in a variance. */
static void
fill_split(double row_variance, double column_variance, struct qs_repeats_part *part)
{
    double row = fmax(row_variance, 0.0), column = fmax(column_variance, 0.0);

    part->row_sd = sqrt(row);
    part->column_sd = sqrt(column);
    part->pixel_sd = sqrt(fmax(part->sd * part->sd - row - column, 0.0));
}

/* Variance of an estimated variance. */
static double
spread_of(struct sure variance)
{
    return variance.freedom > 0.0
               ? 2.0 * variance.value * variance.value / variance.freedom
               : 0.0;
}

/* R30. */
static bool
is_textured(const struct qs_repeats_plane *mean, const struct qs_repeats_sums *sums,
            const struct qs_repeats *repeats)
{
    double frames = sums->contrasts + 1.0, fixed = repeats->fixed.sd;
    double shared = mean->far_variance - sums->far_variance / sums->contrasts / frames;
    double all = mean->noise.sd * mean->noise.sd;

    return fixed > TEXTURED_SD * repeats->random.sd &&
           shared > TEXTURED_SHARE * fixed * fixed &&
           shared > TEXTURED_SURE * all / sqrt(FAR_LAGS * mean->pixels);
}

/* The total is the sum of its parts, also where the fixed one was cut at 0. */
static void
fill_total(struct sure mean, struct sure random, struct qs_repeats *out)
{
    struct qs_repeats_part *total = &out->total;

    fill_interval(mean, random, 1.0, total);
    total->sd = hypot(out->random.sd, out->fixed.sd);
    total->sd_low = fmin(total->sd_low, total->sd);
    total->sd_high = fmax(total->sd_high, total->sd);
    fill_split(out->random.row_sd * out->random.row_sd +
                   out->fixed.row_sd * out->fixed.row_sd,
               out->random.column_sd * out->random.column_sd +
                   out->fixed.column_sd * out->fixed.column_sd,
               total);
}

void
qs_repeats_solve(const struct qs_repeats_plane *mean,
                 const struct qs_repeats_sums *sums, struct qs_repeats *out)
{
    double contrasts = sums->contrasts, frames = contrasts + 1.0;
    double row = sums->row_variance / contrasts;
    double column = sums->column_variance / contrasts;
    struct sure random = {.value = sums->variance / contrasts};
    struct sure all = {mean->noise.sd * mean->noise.sd, mean->noise.freedom};
    struct sure in_mean, rest;

    if (sums->spread > 0.0)
        random.freedom = 2.0 * sums->variance * sums->variance / sums->spread;
    in_mean = (struct sure){random.value / frames, random.freedom};
    rest = (struct sure){random.value * contrasts / frames, random.freedom};
    *out = (struct qs_repeats){.frames = sums->contrasts + 1,
                               .mean = mean->noise.mean,
                               .fixed_lost = (all.value < in_mean.value),
                               .has_grain = (sums->grains > 0)};
    if (out->has_grain)
        out->grain_px = sums->grain_px / sums->grains;
    fill_interval(random, (struct sure){0.0, 0.0}, 1.0, &out->random);
    fill_split(row, column, &out->random);
    fill_interval(all, in_mean, -1.0, &out->fixed);
    fill_split(mean->row_variance - row / frames,
               mean->column_variance - column / frames, &out->fixed);
    fill_total(all, rest, out);
    out->random_freedom = random.freedom;
    out->fixed_variance = all.value - in_mean.value;
    out->fixed_se = sqrt(spread_of(all) + spread_of(in_mean));
    out->textured = is_textured(mean, sums, out);
}

double
qs_repeats_averaged(const struct qs_repeats *repeats, int count)
{
    double random = repeats->random.sd, fixed = repeats->fixed.sd;

    return sqrt(fixed * fixed + random * random / count);
}
