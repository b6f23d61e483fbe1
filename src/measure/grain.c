/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Power near zero frequency can't be read off one bin: each is as uncertain as it
 * is large, and the lowest ones went with the surface.  A smooth curve through
 * the bins around zero is fitted by maximum likelihood for exponentially
 * distributed power (Whittle's likelihood), and read at zero.
 */
#include "measure/grain.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/memory.h"

static const double PI = 3.14159265358979323846;

enum {
    LEAST_BINS = 12,
    FIT_ROUNDS = 25
};

/* One frequency: its squared distance from zero and the power found there. */
struct bin {
    double rho2;
    double power;
};

/*
 * S10: the bins within reach, axes and the surface's own mixed term left out.  Power is
 * even about zero: half of the waves across tell all.
 */
static int
fill_bins(const double *power, int width, int height, double reach_cpp,
          struct bin *bins)
{
    int waves_x = (int)(reach_cpp * width), waves_y = (int)(reach_cpp * height);
    int count = 0;

    for (int i = 1; i <= waves_x; i++)
        for (int j = -waves_y; j <= waves_y; j++) {
            double u = (double)i / width, v = (double)j / height;
            double rho2 = u * u + v * v;

            if (j == 0 || (i == 1 && (j == 1 || j == -1)) ||
                rho2 > reach_cpp * reach_cpp)
                continue;
            bins[count].rho2 = rho2;
            bins[count++].power =
                power[(ptrdiff_t)(j < 0 ? j + height : j) * (width / 2 + 1) + i];
        }
    return count;
}

/* One round of S12; false where the bins don't settle a line. */
static bool
improve(const struct bin *bins, int count, double reach2, double *a, double *b)
{
    double n = 0.0, sx = 0.0, sxx = 0.0, sz = 0.0, sxz = 0.0;
    double det;

    for (int i = 0; i < count; i++) {
        double x = bins[i].rho2, line = *a + *b * x;
        double z = line + bins[i].power * exp(-line) - 1.0;

        if (x > reach2)
            continue;
        n += 1.0;
        sx += x;
        sxx += x * x;
        sz += z;
        sxz += x * z;
    }
    det = n * sxx - sx * sx;
    if (n < LEAST_BINS || det <= 0.0)
        return false;
    *b = (n * sxz - sx * sz) / det;
    *a = (sz - *b * sx) / n;
    return isfinite(*a) && isfinite(*b);
}

static double
mean_power(const struct bin *bins, int count, double reach2)
{
    double sum = 0.0;
    int n = 0;

    for (int i = 0; i < count; i++)
        if (bins[i].rho2 <= reach2) {
            sum += bins[i].power;
            n++;
        }
    return n > 0 ? sum / n : 0.0;
}

static bool
fit(const struct bin *bins, int count, double reach_cpp, double *a, double *b)
{
    double start = mean_power(bins, count, reach_cpp * reach_cpp);
    bool settled = start > 0.0;

    *a = settled ? log(start) : 0.0;
    *b = 0.0;
    for (int round = 0; settled && round < FIT_ROUNDS; round++)
        settled = improve(bins, count, reach_cpp * reach_cpp, a, b);
    return settled;
}

/* Fits, and looks closer where the curve bends: it holds near zero only. */
static struct qs_low_power
fit_near_zero(const struct bin *bins, int count, double reach, double least)
{
    struct qs_low_power low = {.known = false};

    low.known = fit(bins, count, reach, &low.level, &low.bend);
    for (int round = 0; low.known && round < 3; round++) {
        double closer = fmax(sqrt(1.5 / fmax(fabs(low.bend), 1e-9)), least);
        double level = 0.0, bend = 0.0;

        if (closer >= reach || !fit(bins, count, closer, &level, &bend))
            break;
        reach = closer;
        low.level = level;
        low.bend = bend;
    }
    return low;
}

enum qs_status
qs_low_power_fit(const double *power, int width, int height, struct qs_low_power *out,
                 struct qs_error *err)
{
    double least = sqrt(200.0 / (PI * width * height)); /* about 100 free bins */
    double reach = fmin(fmax(0.08, least), 0.25);
    size_t room = (size_t)(reach * width + 1.0) * (size_t)(2.0 * reach * height + 1.0);
    struct bin *bins = qs_alloc(room, sizeof *bins);
    int count;

    if (bins == NULL)
        return qs_fail_memory(err);
    count = fill_bins(power, width, height, reach, bins);
    *out = fit_near_zero(bins, count, reach, least);
    qs_free(bins);
    return QS_OK;
}
