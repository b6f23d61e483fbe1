/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/bands.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "base/lanes.h"
#include "base/memory.h"
#include "flat/shading.h"

static const double PI = 3.14159265358979323846;

enum {
    WAVES = 4 /* frequencies next to zero that show the pixel noise's own part */
};

/* A patch's rows, or its columns: lines that may share something. */
struct lines {
    const double *residual;
    int count;
    int length;
    bool are_rows; /* length values lie side by side; else count do */
    const double *polynomials;
};

/* What is in every line at one wave: of cosines, or of sines. */
QS_CLONES static void
add_scaled(const double *row, double factor, int count, double *restrict sums)
{
    for (int k = 0; k < count; k++)
        sums[k] += factor * row[k];
}

static void
line_waves(const struct lines *lines, const double *wave, double *out)
{
    memset(out, 0, (size_t)lines->count * sizeof *out);
    for (int k = 0; lines->are_rows && k < lines->count; k++)
        out[k] =
            qs_dot(lines->residual + (ptrdiff_t)k * lines->length, wave, lines->length);
    for (int n = 0; !lines->are_rows && n < lines->length; n++)
        add_scaled(lines->residual + (ptrdiff_t)n * lines->count, wave[n], lines->count,
                   out);
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

/* One of the two halves, cosine or sine, of the power of all lines at a wave. */
static double
half_power(const struct lines *lines, const double *wave, double *values)
{
    line_waves(lines, wave, values);
    take_off_orders(lines->polynomials, values, lines->count);
    return qs_dot(values, values, lines->count);
}

/*
 * B2: mean power of all lines at one wave, the orders' part given back.  `cosine` is
 * that of one turn in `length` steps.
 */
static double
wave_power(const struct lines *lines, int wave, const double *cosine,
           const double *sine, double *room)
{
    const int length = lines->length;
    double *values = room + length, sum;

    for (int n = 0, at = 0; n < length; n++, at = (at + wave) % length)
        room[n] = cosine[at];
    sum = half_power(lines, room, values);
    for (int n = 0, at = 0; n < length && wave > 0; n++, at = (at + wave) % length)
        room[n] = sine[at];
    if (wave > 0)
        sum += half_power(lines, room, values);
    return sum / length / (lines->count - QS_SHADING_ORDERS);
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
shared_variance(const struct lines *lines, double *variance, struct qs_error *err)
{
    const size_t length = (size_t)lines->length;
    double *cosine = qs_alloc(3 * length + (size_t)lines->count, sizeof *cosine);
    double *sine, *room, power[WAVES + 1];

    if (cosine == NULL)
        return qs_fail_memory(err);
    sine = cosine + length;
    room = sine + length;
    for (int n = 0; n < lines->length; n++) {
        cosine[n] = cos(2.0 * PI * n / lines->length);
        sine[n] = sin(2.0 * PI * n / lines->length);
    }
    for (int wave = 0; wave <= WAVES; wave++)
        power[wave] = wave_power(lines, wave, cosine, sine, room);
    qs_free(cosine);
    /* power at wave 0 is length x (mean of the line)^2 */
    *variance = (power[0] - own_power(power)) / lines->length;
    return QS_OK;
}

enum qs_status
qs_bands(const double *residual, int width, int height, double *row_variance,
         double *column_variance, struct qs_error *err)
{
    struct qs_shading_basis basis;
    enum qs_status status = qs_shading_basis_init(&basis, width, height, err);
    const struct lines rows = {residual, height, width, true, basis.y};
    const struct lines columns = {residual, width, height, false, basis.x};

    if (status == QS_OK)
        status = shared_variance(&rows, row_variance, err);
    if (status == QS_OK)
        status = shared_variance(&columns, column_variance, err);
    qs_shading_basis_clear(&basis);
    return status;
}
