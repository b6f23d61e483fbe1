/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "resample/filter.h"

#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

static double
triangle(double u)
{
    return fmax(1.0 - fabs(u), 0.0);
}

/* The two-parameter cubics of Mitchell and Netravali. */
static double
cubic(double u, double b, double c)
{
    u = fabs(u);
    if (u < 1.0)
        return (((12.0 - 9.0 * b - 6.0 * c) * u + (-18.0 + 12.0 * b + 6.0 * c)) * u *
                    u +
                (6.0 - 2.0 * b)) /
               6.0;
    if (u < 2.0)
        return ((((-b - 6.0 * c) * u + (6.0 * b + 30.0 * c)) * u -
                 (12.0 * b + 48.0 * c)) *
                    u +
                (8.0 * b + 24.0 * c)) /
               6.0;
    return 0.0;
}

static double
mitchell(double u)
{
    return cubic(u, 1.0 / 3.0, 1.0 / 3.0);
}

static double
catmull_rom(double u)
{
    return cubic(u, 0.0, 0.5);
}

static double
bspline(double u)
{
    return cubic(u, 1.0, 0.0);
}

/* sd of half a delivered pixel, cut at six sd. */
static double
gaussian(double u)
{
    return fabs(u) <= 3.0 ? exp(-2.0 * u * u) : 0.0;
}

static double
sinc(double u)
{
    return fabs(u) < 1e-9 ? 1.0 : sin(PI * u) / (PI * u);
}

static double
lanczos2(double u)
{
    return fabs(u) < 2.0 ? sinc(u) * sinc(u / 2.0) : 0.0;
}

static double
lanczos3(double u)
{
    return fabs(u) < 3.0 ? sinc(u) * sinc(u / 3.0) : 0.0;
}

static const struct qs_filter_row rows[QS_FILTERS] = {
    [QS_FILTER_AREA] = {"area", 0.5, NULL, "definition: exact pixel coverage"},
    [QS_FILTER_TRIANGLE] = {"triangle", 1.0, triangle, "definition"},
    [QS_FILTER_MITCHELL] = {"mitchell", 2.0, mitchell, "Mitchell and Netravali 1988"},
    [QS_FILTER_CATMULL_ROM] = {"catmull-rom", 2.0, catmull_rom,
                               "Mitchell and Netravali 1988; Keys 1981"},
    [QS_FILTER_BSPLINE] = {"bspline", 2.0, bspline, "Mitchell and Netravali 1988"},
    [QS_FILTER_GAUSSIAN] = {"gaussian", 3.0, gaussian,
                            "definition: sd 0.5, cut at 6 sd"},
    [QS_FILTER_LANCZOS2] = {"lanczos2", 2.0, lanczos2, "Duchon 1979"},
    [QS_FILTER_LANCZOS3] = {"lanczos3", 3.0, lanczos3, "Duchon 1979"},
};

const struct qs_filter_row *
qs_filter_row(enum qs_filter filter)
{
    return &rows[filter];
}

int
qs_filter_find(const char *key)
{
    for (int i = 0; i < QS_FILTERS; i++)
        if (strcmp(rows[i].key, key) == 0)
            return i;
    return -1;
}
