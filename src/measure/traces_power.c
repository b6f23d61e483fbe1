/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_power.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>

static const double PI = 3.14159265358979323846;

/* One false alarm in 20 000 patches, for each test that counts its frequencies. */
static const double CHANCE = 5e-5;

/* ---- stripes ---- */

enum {
    FIRST_WAVE = 4, /* lower ones went with the surface, or are shading */
    BESIDE = 6,     /* waves across that stand for the noise without stripes */
    REFERENCES = 3 * BESIDE,
    LEAST_WAVES = 8
};

/* A wave weaker than this share of the noise's sd changes no figure. */
static const double LEAST_WAVE = 0.04;

/* Power at waves i >= 0 across and j, of either sign, down. */
static double
power_at(const struct qs_noise_shape *shape, int i, int j)
{
    j = j < 0 ? j + shape->height : j;
    return shape->power[(ptrdiff_t)j * (shape->width / 2 + 1) + i];
}

/* Power of wave `along` of what rows (or columns) share, and `beside` waves off it. */
static double
line_power(const struct qs_noise_shape *shape, bool rows, int along, int beside)
{
    if (rows)
        return power_at(shape, beside, along);
    return 0.5 * (power_at(shape, along, beside) + power_at(shape, along, -beside));
}

/* T24: mean power of the waves next to the axis. */
static double
reference(const struct qs_noise_shape *shape, bool rows, int along)
{
    double sum = 0.0;

    for (int beside = 1; beside <= BESIDE; beside++)
        for (int k = along - 1; k <= along + 1; k++)
            sum += line_power(shape, rows, k, beside);
    return sum / REFERENCES;
}

/*
 * Probability that a ratio of exponential power to the mean of m others exceeds z:
 * F distribution with 2 and 2m degrees of freedom.
 */
static double
tail(double z, double m)
{
    return pow(1.0 + z / m, -m);
}

/* Place of a peak between three waves, by a parabola through their roots. */
static double
peak_place(double before, double at, double after)
{
    double a = sqrt(before), b = sqrt(at), c = sqrt(after);
    double bend = a - 2.0 * b + c;

    return bend < 0.0 ? fmin(fmax(0.5 * (a - c) / bend, -0.5), 0.5) : 0.0;
}

/*
 * T26: whether a wave stands out from the others on the axis, which random stripes lift
 * all together, by more than the strongest of so many does by chance.
 */
static void
find_period(const struct qs_noise_shape *shape, bool rows, int wave, double ratio,
            struct qs_stripes *out)
{
    int length = rows ? shape->height : shape->width;
    double pixels = (double)shape->width * shape->height, power = 0.0;
    double others = (out->bins * (1.0 + out->excess) - ratio) / (out->bins - 1.0);

    if (out->bins * tail(ratio / fmax(others, 1.0), REFERENCES) > CHANCE)
        return;
    for (int k = wave - 1; k <= wave + 1; k++)
        power += line_power(shape, rows, k, 0) - reference(shape, rows, k);
    out->wave_share = sqrt(fmax(2.0 * power / pixels / shape->variance, 0.0));
    if (out->wave_share < LEAST_WAVE)
        return;
    out->period_px = length / (wave + peak_place(line_power(shape, rows, wave - 1, 0),
                                                 line_power(shape, rows, wave, 0),
                                                 line_power(shape, rows, wave + 1, 0)));
}

void
qs_stripes_look(const struct qs_noise_shape *shape, bool rows, struct qs_stripes *out)
{
    int length = rows ? shape->height : shape->width;
    int across = rows ? shape->width : shape->height;
    int last = length / 2 - 2, best = 0;
    double sum = 0.0, most = 0.0;

    *out = (struct qs_stripes){.bins = 0.0};
    if (last - FIRST_WAVE + 1 < LEAST_WAVES || across / 2 < 2 * BESIDE ||
        !(shape->variance > 0.0))
        return;
    for (int wave = FIRST_WAVE; wave <= last; wave++) {
        double beside = reference(shape, rows, wave);
        double ratio = beside > 0.0 ? line_power(shape, rows, wave, 0) / beside : 0.0;

        sum += ratio;
        if (ratio > most) {
            most = ratio;
            best = wave;
        }
    }
    out->bins = last - FIRST_WAVE + 1;
    out->excess = sum / out->bins - 1.0;
    find_period(shape, rows, best, most, out);
}

/*
 * T25: the mean ratio of chance is m / (m - 1) for m references, with variance near
 * 1 + 3 / m in each bin, as neighbours share their references.
 */
static double
beyond_chance(const struct qs_stripes *stripes)
{
    return stripes->bins * (stripes->excess - 1.0 / (REFERENCES - 1.0));
}

static int
by_sureness(const void *a, const void *b)
{
    const struct qs_stripes *x = a, *y = b;
    double left = x->bins > 0.0 ? beyond_chance(x) / sqrt(x->bins) : 0.0;
    double right = y->bins > 0.0 ? beyond_chance(y) / sqrt(y->bins) : 0.0;

    return (left > right) - (left < right);
}

double
qs_stripes_sure(struct qs_stripes *stripes, int count)
{
    double bins = 0.0, excess = 0.0;
    int used = count < 4 ? count : count - 1 - count / 8;

    qsort(stripes, (size_t)count, sizeof *stripes, by_sureness);
    for (int i = 0; i < used; i++) {
        bins += stripes[i].bins;
        excess += beyond_chance(&stripes[i]);
    }
    return bins > 0.0 ? excess / sqrt(bins * (1.0 + 3.0 / REFERENCES)) : 0.0;
}

/* ---- texture ---- */

/* T29: power at 0.01 to 0.03 cycles per pixel over that at 0.08 to 0.15 is at most 1.67
   after bilinear demosaicing, for red or blue alone. */
static const double MOST_SOFT = 2.5;

/* A real sensor may be read so that rows and columns differ a little. */
static const double MOST_LEAN = 1.3;

static const double SURE = 6.0;

/* A wave of less than this share of the noise's sd changes no figure. */
static const double LEAST_PATTERN = 0.05;

struct band {
    double sum;
    double bins;
};

static double
mean_of(struct band band)
{
    return band.bins > 0.0 ? band.sum / band.bins : 0.0;
}

/* Sums over the half plane of frequencies. */
struct bands {
    struct band low, middle;
    struct band flat, steep, rising, falling; /* directions */
};

/* What the removed surface, stripes and their leakage reach. */
static bool
is_axis(int i, int j)
{
    return i <= 1 || abs(j) <= 1;
}

static void
add_to(struct band *band, double power)
{
    band->sum += power;
    band->bins += 1.0;
}

static void
add_bin(struct bands *bands, double u, double v, double power)
{
    double rho = hypot(u, v), angle = atan2(v, u) * 180.0 / PI; /* -90 to 90 */

    if (rho < 0.03)
        add_to(&bands->low, power);
    if (rho >= 0.08 && rho < 0.15)
        add_to(&bands->middle, power);
    if (rho < 0.04 || rho > 0.35)
        return;
    if (fabs(angle) < 25.0)
        add_to(&bands->flat, power);
    else if (fabs(angle) > 65.0)
        add_to(&bands->steep, power);
    else if (angle > 0.0)
        add_to(&bands->rising, power);
    else
        add_to(&bands->falling, power);
}

static void
fill_bands(const struct qs_noise_shape *shape, struct bands *bands)
{
    for (int i = 2; i <= shape->width / 2; i++)
        for (int j = -(shape->height - 1) / 2; j <= shape->height / 2; j++)
            if (!is_axis(i, j))
                add_bin(bands, (double)i / shape->width, (double)j / shape->height,
                        power_at(shape, i, j));
}

/* T28: how far two bands' mean power differ, as a ratio > 1; 1 where chance may do it.
 */
static double
lean(struct band a, struct band b)
{
    double ratio = mean_of(b) > 0.0 ? mean_of(a) / mean_of(b) : 1.0;
    double sd = sqrt(1.0 / fmax(a.bins, 1.0) + 1.0 / fmax(b.bins, 1.0));

    if (!(ratio > 0.0) || fabs(log(ratio)) < SURE * sd)
        return 1.0;
    return ratio > 1.0 ? ratio : 1.0 / ratio;
}

/* T30: mean power of the frequencies around one, itself left out. */
static double
around(const struct qs_noise_shape *shape, int i, int j, double *count)
{
    double sum = 0.0;

    *count = 0.0;
    for (int di = -3; di <= 3; di++)
        for (int dj = -3; dj <= 3; dj++) {
            int ii = i + di, jj = j + dj;

            if ((abs(di) <= 1 && abs(dj) <= 1) || ii < 0 || ii > shape->width / 2 ||
                is_axis(ii, jj) || abs(jj) > (shape->height - 1) / 2)
                continue;
            sum += power_at(shape, ii, jj);
            *count += 1.0;
        }
    return *count > 0.0 ? sum / *count : 0.0;
}

/* Frequencies where a mosaic whose photosites differ has its own lines. */
static bool
is_mosaic(const struct qs_noise_shape *shape, int i, int j)
{
    bool half_x = 2 * i >= shape->width - 2;
    bool half_y = 2 * abs(j) >= shape->height - 2;

    return half_x || half_y;
}

static double
find_pattern(const struct qs_noise_shape *shape, int patches)
{
    double bins = 0.5 * shape->width * shape->height;
    double pixels = (double)shape->width * shape->height, strongest = 1.0;

    for (int i = 2; i <= shape->width / 2; i++)
        for (int j = -(shape->height - 1) / 2; j <= (shape->height - 1) / 2; j++) {
            double count, level, power = power_at(shape, i, j);

            if (is_axis(i, j) || is_mosaic(shape, i, j) ||
                2.0 * power / pixels < LEAST_PATTERN * LEAST_PATTERN * shape->variance)
                continue;
            level = around(shape, i, j, &count);
            if (level > 0.0 && bins * patches * tail(power / level, count) < CHANCE)
                strongest = fmax(strongest, power / level);
        }
    return strongest;
}

void
qs_texture_look(const struct qs_noise_shape *shape, int patches, struct qs_texture *out)
{
    struct bands bands = {.low = {0.0, 0.0}};
    double leaning, soft;

    *out = (struct qs_texture){.kind = QS_TEXTURE_NONE, .strength = 1.0};
    if (!(shape->variance > 0.0))
        return;
    fill_bands(shape, &bands);
    leaning = fmax(lean(bands.flat, bands.steep), lean(bands.rising, bands.falling));
    soft = mean_of(bands.low) > mean_of(bands.middle) ? lean(bands.low, bands.middle)
                                                      : 1.0;
    out->strength = find_pattern(shape, patches);
    if (out->strength > 1.0) {
        out->kind = QS_TEXTURE_PATTERN;
    } else if (leaning > MOST_LEAN) {
        *out = (struct qs_texture){QS_TEXTURE_DIRECTION, leaning};
    } else if (soft > MOST_SOFT) {
        *out = (struct qs_texture){QS_TEXTURE_SOFT, soft};
    }
}
