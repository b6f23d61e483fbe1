/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/bands.h"

#include <math.h>
#include <stddef.h>

#include "base/memory.h"

static const double PI = 3.14159265358979323846;

enum {
    WAVES = 4, /* frequencies next to zero that show the pixel noise's own part */
    SURFACE_ORDERS = 3 /* orders along the axis that the surface took */
};

/* One line of `length` values, `step` apart: power at `wave` cycles along it. */
static double
line_power(const double *line, ptrdiff_t step, const double *cosine, const double *sine,
           int length)
{
    double re = 0.0, im = 0.0;

    for (int n = 0; n < length; n++) {
        re += line[n * step] * cosine[n];
        im += line[n * step] * sine[n];
    }
    return (re * re + im * im) / length;
}

/* Mean power of all lines at each of the waves 1 to WAVES, and of the lines' means. */
static enum qs_status
wave_powers(const double *residual, int length, ptrdiff_t step, int lines,
            ptrdiff_t line_step, double power[WAVES + 1], struct qs_error *err)
{
    double *cosine = qs_alloc((size_t)length, sizeof *cosine);
    double *sine = qs_alloc((size_t)length, sizeof *sine);

    if (cosine == NULL || sine == NULL) {
        qs_free(cosine);
        qs_free(sine);
        return qs_fail_memory(err);
    }
    for (int wave = 0; wave <= WAVES; wave++) {
        for (int n = 0; n < length; n++) {
            cosine[n] = cos(2.0 * PI * wave * n / length);
            sine[n] = sin(2.0 * PI * wave * n / length);
        }
        power[wave] = 0.0;
        for (int k = 0; k < lines; k++)
            power[wave] +=
                line_power(residual + k * line_step, step, cosine, sine, length) /
                lines;
    }
    qs_free(cosine);
    qs_free(sine);
    return QS_OK;
}

/*
 * B3: the pixel noise's own power at wave 0, by a straight line of ln power over
 * wave^2 through waves 1 to WAVES (exact for noise blurred by a Gaussian).
 */
static double
own_power(const double power[WAVES + 1])
{
    double sx = 0.0, sxx = 0.0, sy = 0.0, sxy = 0.0;

    for (int wave = 1; wave <= WAVES; wave++) {
        double x = (double)wave * wave;
        double y;

        if (power[wave] <= 0.0)
            return 0.0;
        y = log(power[wave]);
        sx += x;
        sxx += x * x;
        sy += y;
        sxy += x * y;
    }
    return exp((sy * sxx - sxy * sx) / (WAVES * sxx - sx * sx));
}

/* B2, B4: excess of the lines' means over what their pixels explain. */
static enum qs_status
shared_variance(const double *residual, int length, ptrdiff_t step, int lines,
                ptrdiff_t line_step, double *variance, struct qs_error *err)
{
    double power[WAVES + 1];
    enum qs_status status =
        wave_powers(residual, length, step, lines, line_step, power, err);
    double excess;

    if (status != QS_OK)
        return status;
    /* power at wave 0 is length x (mean of the line)^2; the surface took three of them
     */
    excess = power[0] * lines / (lines - SURFACE_ORDERS) - own_power(power);
    *variance = excess / length;
    return QS_OK;
}

enum qs_status
qs_bands(const double *residual, int width, int height, double *row_variance,
         double *column_variance, struct qs_error *err)
{
    enum qs_status status =
        shared_variance(residual, width, 1, height, width, row_variance, err);

    if (status == QS_OK)
        status =
            shared_variance(residual, height, width, width, 1, column_variance, err);
    return status;
}
