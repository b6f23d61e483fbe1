/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/bands.h"

#include <math.h>
#include <stddef.h>

#include "base/memory.h"
#include "flat/shading.h"

static const double PI = 3.14159265358979323846;

enum {
    WAVES = 4 /* frequencies next to zero that show the pixel noise's own part */
};

/* One line of `length` values, `step` apart: what is in it at one wave. */
static void
line_wave(const double *line, ptrdiff_t step, const double *cosine, const double *sine,
          int length, double *re, double *im)
{
    *re = *im = 0.0;
    for (int n = 0; n < length; n++) {
        *re += line[n * step] * cosine[n];
        *im += line[n * step] * sine[n];
    }
}

/*
 * Takes the first orders across the lines off, as the surface took them off the
 * lines' means: the waves lose the same share then, however far the noise hangs
 * together, and what every line shares at a wave (stripes the other way) is gone.
 */
static void
take_off_orders(const double *polynomials, double *values, int lines)
{
    for (int order = 0; order < QS_SHADING_ORDERS; order++) {
        const double *p = polynomials + (ptrdiff_t)order * lines;
        double share = 0.0;

        for (int k = 0; k < lines; k++)
            share += p[k] * values[k];
        for (int k = 0; k < lines; k++)
            values[k] -= share * p[k];
    }
}

/* B2: mean power of all lines at one wave, the orders' part given back. */
static double
wave_power(const double *residual, int length, ptrdiff_t step, int lines,
           ptrdiff_t line_step, const double *polynomials, int wave, double *room)
{
    double *cosine = room, *sine = room + length;
    double *re = sine + length, *im = re + lines;
    double sum = 0.0;

    for (int n = 0; n < length; n++) {
        cosine[n] = cos(2.0 * PI * wave * n / length);
        sine[n] = sin(2.0 * PI * wave * n / length);
    }
    for (int k = 0; k < lines; k++)
        line_wave(residual + k * line_step, step, cosine, sine, length, &re[k], &im[k]);
    take_off_orders(polynomials, re, lines);
    take_off_orders(polynomials, im, lines);
    for (int k = 0; k < lines; k++)
        sum += re[k] * re[k] + im[k] * im[k];
    return sum / length / (lines - QS_SHADING_ORDERS);
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

/* B4: excess of the lines' means over what their pixels explain. */
static enum qs_status
shared_variance(const double *residual, int length, ptrdiff_t step, int lines,
                ptrdiff_t line_step, const double *polynomials, double *variance,
                struct qs_error *err)
{
    double *room = qs_alloc(2 * ((size_t)length + (size_t)lines), sizeof *room);
    double power[WAVES + 1];

    if (room == NULL)
        return qs_fail_memory(err);
    for (int wave = 0; wave <= WAVES; wave++)
        power[wave] = wave_power(residual, length, step, lines, line_step, polynomials,
                                 wave, room);
    qs_free(room);
    /* power at wave 0 is length x (mean of the line)^2 */
    *variance = (power[0] - own_power(power)) / length;
    return QS_OK;
}

enum qs_status
qs_bands(const double *residual, int width, int height, double *row_variance,
         double *column_variance, struct qs_error *err)
{
    struct qs_shading_basis basis;
    enum qs_status status = qs_shading_basis_init(&basis, width, height, err);

    if (status == QS_OK)
        status = shared_variance(residual, width, 1, height, width, basis.y,
                                 row_variance, err);
    if (status == QS_OK)
        status = shared_variance(residual, height, width, width, 1, basis.x,
                                 column_variance, err);
    qs_shading_basis_clear(&basis);
    return status;
}
