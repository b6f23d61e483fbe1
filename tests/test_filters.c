/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_filters.c - the filters' weights and what they do to white noise
 *
 * Expected values: closed forms where there are any; else worked out with numpy
 * and scipy from the published kernel definitions (Mitchell and Netravali 1988,
 * Keys 1981, Duchon 1979; area, triangle and Gaussian by definition) and checked there
 * against simulated noise.  Nothing here came from this library.
 */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "check_main.h"
#include "kernel_reference.h"
#include "resample/axis_gain.h"
#include "resample/weights.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))
#define ROOT_TWO 1.41421356237309504880

/* Float weights: each errs by half a unit in its last place, 6e-8 of its size. */
#define FLOAT_SUM 1e-6

/* Ugly pairs of source and delivered lengths: whole, simple and odd ratios. */
static const int lengths[][2] = {
    {317, 123}, {211, 97}, {6, 2},  {97, 96}, {1000, 707}, {64, 32},
    {63, 21},   {100, 7},  {13, 4}, {5, 1},   {40, 39},    {2, 1},
};

static struct qs_weights
weights_of(enum qs_filter filter, int in, int out)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_weights weights;

    ck_assert_int_eq(qs_weights_init(&weights, filter, in, out, &err), QS_OK);
    return weights;
}

static const float *
taps_of(const struct qs_weights *weights, int i)
{
    return weights->weight + (ptrdiff_t)i * weights->taps;
}

/* Delivered pixel i of a signal. */
static double
deliver(const struct qs_weights *weights, int i, double (*signal)(int))
{
    double sum = 0.0;

    for (int n = 0; n < weights->count[i]; n++)
        sum += taps_of(weights, i)[n] * signal(weights->first[i] + n);
    return sum;
}

/*
 * Noise gain in two dimensions, response at the new Nyquist frequency along one
 * axis and aliased share of white noise in two dimensions, by filter and reduction.
 */
static const struct response {
    enum qs_filter filter;
    double scale, gain_2d, kept_nyquist, alias_2d;
} responses[] = {
    {QS_FILTER_AREA, 1.25, 0.600000, 0.525731, 0.144871},
    {QS_FILTER_AREA, ROOT_TWO, 0.540440, 0.515854, 0.165397},
    {QS_FILTER_AREA, 1.5, 0.555556, 0.577350, 0.212879},
    {QS_FILTER_AREA, 2.0, 0.500000, 0.707107, 0.330369},
    {QS_FILTER_AREA, 3.0, 0.333333, 0.666667, 0.371509},
    {QS_FILTER_AREA, 4.0, 0.250000, 0.653281, 0.384894},
    {QS_FILTER_TRIANGLE, 1.25, 0.526175, 0.403348, 0.084028},
    {QS_FILTER_TRIANGLE, ROOT_TWO, 0.471303, 0.407362, 0.090989},
    {QS_FILTER_TRIANGLE, 1.5, 0.432099, 0.384900, 0.082076},
    {QS_FILTER_TRIANGLE, 2.0, 0.312500, 0.353553, 0.065192},
    {QS_FILTER_TRIANGLE, 3.0, 0.234568, 0.444444, 0.124947},
    {QS_FILTER_TRIANGLE, 4.0, 0.164062, 0.394290, 0.088986},
    {QS_FILTER_MITCHELL, 1.25, 0.545265, 0.386081, 0.063122},
    {QS_FILTER_MITCHELL, ROOT_TWO, 0.481873, 0.383265, 0.063247},
    {QS_FILTER_MITCHELL, 1.5, 0.453949, 0.382524, 0.063206},
    {QS_FILTER_MITCHELL, 2.0, 0.339025, 0.378106, 0.062367},
    {QS_FILTER_MITCHELL, 3.0, 0.227370, 0.384088, 0.063388},
    {QS_FILTER_MITCHELL, 4.0, 0.170330, 0.383056, 0.063314},
    {QS_FILTER_CATMULL_ROM, 1.25, 0.651745, 0.497403, 0.091560},
    {QS_FILTER_CATMULL_ROM, ROOT_TWO, 0.575775, 0.492771, 0.091598},
    {QS_FILTER_CATMULL_ROM, 1.5, 0.542272, 0.491817, 0.091624},
    {QS_FILTER_CATMULL_ROM, 2.0, 0.404419, 0.486136, 0.090907},
    {QS_FILTER_CATMULL_ROM, 3.0, 0.271757, 0.493827, 0.091688},
    {QS_FILTER_CATMULL_ROM, 4.0, 0.203507, 0.492500, 0.091733},
    {QS_FILTER_BSPLINE, 1.25, 0.383479, 0.164404, 0.012043},
    {QS_FILTER_BSPLINE, ROOT_TWO, 0.338963, 0.164258, 0.012071},
    {QS_FILTER_BSPLINE, 1.5, 0.319512, 0.163939, 0.012000},
    {QS_FILTER_BSPLINE, 2.0, 0.239380, 0.162045, 0.011526},
    {QS_FILTER_BSPLINE, 3.0, 0.159825, 0.164609, 0.012175},
    {QS_FILTER_BSPLINE, 4.0, 0.119834, 0.164167, 0.012062},
    {QS_FILTER_GAUSSIAN, 1.25, 0.451335, 0.297748, 0.050241},
    {QS_FILTER_GAUSSIAN, ROOT_TWO, 0.398942, 0.291660, 0.051853},
    {QS_FILTER_GAUSSIAN, 1.5, 0.376126, 0.291302, 0.051932},
    {QS_FILTER_GAUSSIAN, 2.0, 0.282066, 0.291198, 0.051758},
    {QS_FILTER_GAUSSIAN, 3.0, 0.188063, 0.291213, 0.051949},
    {QS_FILTER_GAUSSIAN, 4.0, 0.141047, 0.291213, 0.051949},
    {QS_FILTER_LANCZOS2, 1.25, 0.653185, 0.497952, 0.089195},
    {QS_FILTER_LANCZOS2, ROOT_TWO, 0.577393, 0.495855, 0.089571},
    {QS_FILTER_LANCZOS2, 1.5, 0.544306, 0.495837, 0.089673},
    {QS_FILTER_LANCZOS2, 2.0, 0.408058, 0.496219, 0.090202},
    {QS_FILTER_LANCZOS2, 3.0, 0.272208, 0.495729, 0.089498},
    {QS_FILTER_LANCZOS2, 4.0, 0.204128, 0.495785, 0.089626},
    {QS_FILTER_LANCZOS3, 1.25, 0.714948, 0.501785, 0.056541},
    {QS_FILTER_LANCZOS3, ROOT_TWO, 0.631928, 0.501690, 0.056590},
    {QS_FILTER_LANCZOS3, 1.5, 0.595803, 0.501695, 0.056618},
    {QS_FILTER_LANCZOS3, 2.0, 0.446917, 0.501884, 0.056762},
    {QS_FILTER_LANCZOS3, 3.0, 0.297883, 0.501635, 0.056572},
    {QS_FILTER_LANCZOS3, 4.0, 0.223421, 0.501673, 0.056605},
};

/* Within 0.1 %, plus half a unit of the sixth decimal that the table has. */
static void
check_share(const struct response *row, const char *what, double got, double expected)
{
    ck_assert_msg(fabs(got - expected) <= 1e-3 * expected + 5e-7,
                  "%s at %.4f, %s: %.6f, should be %.6f",
                  qs_filter_row(row->filter)->key, row->scale, what, got, expected);
}

START_TEST(responses_agree)
{
    for (size_t i = 0; i < COUNT(responses); i++) {
        const struct response *row = &responses[i];
        struct qs_axis_response axis;

        ck_assert_int_eq(qs_axis_response(row->filter, row->scale, &axis, NULL), QS_OK);
        check_share(row, "noise gain", axis.white_gain * axis.white_gain, row->gain_2d);
        check_share(row, "kept at Nyquist", axis.kept_nyquist, row->kept_nyquist);
        check_share(row, "alias share",
                    qs_alias_share_2d(axis.alias_share, axis.alias_share),
                    row->alias_2d);
    }
}
END_TEST

/* Of the noise that comes out, the part folded in from beyond the new Nyquist
   frequency, in dB, at each whole reduction; floors are the table's values rounded up.
 */
START_TEST(alias_floors)
{
    static const double floor_db[QS_FILTERS] = {
        [QS_FILTER_AREA] = -4.1,      [QS_FILTER_TRIANGLE] = -9.0,
        [QS_FILTER_MITCHELL] = -11.9, [QS_FILTER_CATMULL_ROM] = -10.3,
        [QS_FILTER_BSPLINE] = -19.1,  [QS_FILTER_GAUSSIAN] = -12.8,
        [QS_FILTER_LANCZOS2] = -10.4, [QS_FILTER_LANCZOS3] = -12.4,
    };

    for (int f = 0; f < QS_FILTERS; f++)
        for (int scale = 2; scale <= 4; scale++) {
            struct qs_axis_response axis;

            ck_assert_int_eq(qs_axis_response((enum qs_filter)f, scale, &axis, NULL),
                             QS_OK);
            ck_assert_double_le(
                10.0 * log10(qs_alias_share_2d(axis.alias_share, axis.alias_share)),
                floor_db[f]);
        }
}
END_TEST

/* Every row of the table against the definitions written a second time. */
START_TEST(kernels_by_definition)
{
    for (int f = 0; f < QS_FILTERS; f++) {
        const struct qs_filter_row *row = qs_filter_row((enum qs_filter)f);

        ck_assert_int_eq(qs_filter_find(row->key), f);
        ck_assert_double_eq(row->radius, reference_radius((enum qs_filter)f));
        ck_assert_uint_gt(strlen(row->source), 0);
        for (double u = -3.4; row->value != NULL && u < 3.4; u += 0.00317)
            ck_assert_double_eq_tol(row->value(u),
                                    reference_kernel((enum qs_filter)f, u), 1e-14);
    }
    ck_assert_int_eq(qs_filter_find("bicubic"), -1);
    ck_assert_int_eq(qs_filter_find(""), -1);
    ck_assert_int_eq(qs_filter_find("Area"), -1);
}
END_TEST

/* Textbook values: the interpolating kernels are 1 at 0 and 0 at whole places; the
   others B-spline 2/3, 1/6 and Mitchell 8/9, 1/18. */
START_TEST(kernels_at_whole_places)
{
    static const struct {
        enum qs_filter filter;
        double at[4];
    } rows[] = {
        {QS_FILTER_TRIANGLE, {1, 0, 0, 0}},
        {QS_FILTER_CATMULL_ROM, {1, 0, 0, 0}},
        {QS_FILTER_LANCZOS2, {1, 0, 0, 0}},
        {QS_FILTER_LANCZOS3, {1, 0, 0, 0}},
        {QS_FILTER_BSPLINE, {2.0 / 3.0, 1.0 / 6.0, 0, 0}},
        {QS_FILTER_MITCHELL, {8.0 / 9.0, 1.0 / 18.0, 0, 0}},
    };

    for (size_t i = 0; i < COUNT(rows); i++)
        for (int u = -3; u <= 3; u++)
            ck_assert_double_eq_tol(qs_filter_row(rows[i].filter)->value(u),
                                    rows[i].at[u < 0 ? -u : u], 1e-15);
}
END_TEST

/* Library weights against the second writing, pixel by pixel, frame edges too. */
START_TEST(weights_by_definition)
{
    double expected[1000];

    for (int f = 0; f < QS_FILTERS; f++)
        for (size_t k = 0; k < COUNT(lengths); k++) {
            int in = lengths[k][0], out = lengths[k][1];
            struct qs_weights weights = weights_of((enum qs_filter)f, in, out);

            for (int i = 0; i < out; i++) {
                int first = weights.first[i], end = first + weights.count[i];
                double worst = 0.0;

                reference_weights((enum qs_filter)f, in, out, i, expected);
                ck_assert(first >= 0 && end <= in && weights.count[i] <= weights.taps);
                for (int n = 0; n < in; n++) {
                    bool seen = n >= first && n < end;
                    double got = seen ? taps_of(&weights, i)[n - first] : 0.0;

                    worst = fmax(worst, fabs(got - expected[n]));
                }
                ck_assert_double_lt(worst, 1e-7);
            }
            qs_weights_clear(&weights);
        }
}
END_TEST

static double
constant(int n)
{
    (void)n;
    return 0.317;
}

START_TEST(constant_in_constant_out)
{
    for (int f = 0; f < QS_FILTERS; f++)
        for (size_t k = 0; k < COUNT(lengths); k++) {
            struct qs_weights weights =
                weights_of((enum qs_filter)f, lengths[k][0], lengths[k][1]);

            for (int i = 0; i < weights.out; i++)
                ck_assert_double_eq_tol(deliver(&weights, i, constant), 0.317,
                                        0.317 * FLOAT_SUM);
            qs_weights_clear(&weights);
        }
}
END_TEST

/* Delivered pixel i from the left has the weights of pixel i from the right. */
START_TEST(mirror_symmetric)
{
    for (int f = 0; f < QS_FILTERS; f++)
        for (size_t k = 0; k < COUNT(lengths); k++) {
            struct qs_weights weights =
                weights_of((enum qs_filter)f, lengths[k][0], lengths[k][1]);

            for (int i = 0; i < weights.out; i++) {
                int twin = weights.out - 1 - i, count = weights.count[i];

                ck_assert_int_eq(weights.count[twin], count);
                ck_assert_int_eq(weights.first[twin],
                                 weights.in - weights.first[i] - count);
                for (int n = 0; n < count; n++)
                    ck_assert_double_eq_tol(taps_of(&weights, i)[n],
                                            taps_of(&weights, twin)[count - 1 - n],
                                            1e-7);
            }
            ck_assert_int_eq(weights.whole_first, weights.out - weights.whole_end);
            qs_weights_clear(&weights);
        }
}
END_TEST

/* At a whole reduction each inner pixel has its neighbour's weights, `scale` source
   pixels further on: a picture shifted by that gives the same, shifted by one. */
START_TEST(shift_proof_at_whole_reductions)
{
    for (int f = 0; f < QS_FILTERS; f++)
        for (int scale = 2; scale <= 5; scale++) {
            struct qs_weights weights = weights_of((enum qs_filter)f, scale * 41, 41);

            ck_assert_int_gt(weights.whole_end - weights.whole_first, 30);
            for (int i = weights.whole_first; i + 1 < weights.whole_end; i++) {
                ck_assert_int_eq(weights.first[i + 1], weights.first[i] + scale);
                ck_assert_int_eq(weights.count[i + 1], weights.count[i]);
                for (int n = 0; n < weights.count[i]; n++)
                    ck_assert_double_eq_tol(taps_of(&weights, i)[n],
                                            taps_of(&weights, i + 1)[n], 1e-7);
            }
            qs_weights_clear(&weights);
        }
}
END_TEST

/* Each delivered pixel's place: a straight ramp comes out as that place, wherever the
   kernel is symmetric about it and lies within the source. */
static double
ramp(int n)
{
    return n;
}

START_TEST(ramp_at_whole_reductions)
{
    for (int f = 0; f < QS_FILTERS; f++)
        for (int scale = 2; scale <= 5; scale++) {
            struct qs_weights weights = weights_of((enum qs_filter)f, scale * 41, 41);

            for (int i = weights.whole_first; i < weights.whole_end; i++)
                ck_assert_double_eq_tol(deliver(&weights, i, ramp),
                                        (i + 0.5) * scale - 0.5, 205 * FLOAT_SUM);
            qs_weights_clear(&weights);
        }
}
END_TEST

/*
 * Area at any reduction: the ramp, constant over each source pixel, has over
 * [low, high] the mean (F(high) - F(low)) / (high - low), F its integral; and the
 * mean of all delivered pixels is the mean of all source pixels, for any signal.
 */
static double
stairs_integral(double edge)
{
    double whole = floor(edge + 0.5); /* pixels n < whole lie wholly before `edge` */

    return whole * (whole - 1.0) / 2.0 + whole * (edge + 0.5 - whole);
}

static double
ragged(int n)
{
    return (n * 7919 + n * n * 31) % 1013 / 317.0;
}

START_TEST(area_is_exact)
{
    for (size_t k = 0; k < COUNT(lengths); k++) {
        struct qs_weights weights =
            weights_of(QS_FILTER_AREA, lengths[k][0], lengths[k][1]);
        double before = 0.0, after = 0.0;

        for (int i = 0; i < weights.out; i++) {
            double low = i * weights.scale - 0.5, high = (i + 1) * weights.scale - 0.5;

            ck_assert_double_eq_tol(deliver(&weights, i, ramp),
                                    (stairs_integral(high) - stairs_integral(low)) /
                                        weights.scale,
                                    weights.in * FLOAT_SUM);
            after += deliver(&weights, i, ragged) / weights.out;
        }
        for (int n = 0; n < weights.in; n++)
            before += ragged(n) / weights.in;
        ck_assert_double_eq_tol(after, before, 3.2 * FLOAT_SUM);
        ck_assert_int_eq(weights.whole_first, 0);
        ck_assert_int_eq(weights.whole_end, weights.out);
        qs_weights_clear(&weights);
    }
}
END_TEST

/* Mean over places of area's noise gain: (s - 1/3) / s^2 in power (closed form). */
START_TEST(area_gain_closed_form)
{
    static const double scales[] = {1.3171, ROOT_TWO, 1.7320508, 2.6457513, 3.3166248};

    for (size_t i = 0; i < COUNT(scales); i++) {
        struct qs_axis_response axis;
        double s = scales[i];

        ck_assert_int_eq(qs_axis_response(QS_FILTER_AREA, s, &axis, NULL), QS_OK);
        ck_assert_double_eq_tol(axis.white_gain * axis.white_gain,
                                (s - 1.0 / 3.0) / s / s, 1e-3);
    }
}
END_TEST

/*
 * For large s the gain in power times s tends to the kernel's own integral of k^2
 * over (integral of k)^2: triangle 2/3, Mitchell 92/135, Catmull-Rom 57/70, B-spline
 * 151/315, Gaussian 1 / (2 sigma sqrt(pi)), area 1 (closed forms); Lanczos 2 and 3
 * by scipy.integrate.quad.  Sums over a kernel differ from its integral by s^-2
 * where it has a corner (triangle), by far less where it is smooth.
 */
START_TEST(wide_kernels_reach_their_integrals)
{
    static const double integral[QS_FILTERS] = {
        [QS_FILTER_AREA] = 1.0,
        [QS_FILTER_TRIANGLE] = 2.0 / 3.0,
        [QS_FILTER_MITCHELL] = 92.0 / 135.0,
        [QS_FILTER_CATMULL_ROM] = 57.0 / 70.0,
        [QS_FILTER_BSPLINE] = 151.0 / 315.0,
        [QS_FILTER_GAUSSIAN] = 0.564189583547756,
        [QS_FILTER_LANCZOS2] = 0.816537,
        [QS_FILTER_LANCZOS3] = 0.893678,
    };

    for (int f = 0; f < QS_FILTERS; f++) {
        struct qs_axis_response axis;

        ck_assert_int_eq(qs_axis_response((enum qs_filter)f, 24.0, &axis, NULL), QS_OK);
        ck_assert_double_eq_tol(axis.white_gain * axis.white_gain * 24.0, integral[f],
                                2.0 / (24.0 * 24.0));
    }
}
END_TEST

/* Nothing is filtered where nothing is left out. */
START_TEST(identity)
{
    for (int f = 0; f < QS_FILTERS; f++) {
        struct qs_weights weights = weights_of((enum qs_filter)f, 97, 97);

        ck_assert_int_eq(weights.whole_first, 0);
        ck_assert_int_eq(weights.whole_end, 97);
        for (int i = 0; i < 97; i++) {
            ck_assert_int_eq(weights.first[i], i);
            ck_assert_int_eq(weights.count[i], 1);
            ck_assert(taps_of(&weights, i)[0] == 1.0f);
        }
        qs_weights_clear(&weights);
    }
}
END_TEST

/* "Whole" pixels are those whose full kernel lies within the source. */
START_TEST(whole_pixels_see_no_edge)
{
    for (int f = 0; f < QS_FILTERS; f++)
        for (size_t k = 0; k < COUNT(lengths); k++) {
            int in = lengths[k][0], out = lengths[k][1];
            struct qs_weights weights = weights_of((enum qs_filter)f, in, out);
            double reach = reference_radius((enum qs_filter)f) * weights.scale;

            for (int i = 0; i < out; i++) {
                double centre = (i + 0.5) * weights.scale - 0.5;
                bool whole = i >= weights.whole_first && i < weights.whole_end;
                bool inside =
                    centre - reach > -1.0 + 1e-6 && centre + reach < in - 1e-6;
                bool outside =
                    centre - reach < -1.0 - 1e-6 || centre + reach > in + 1e-6;

                if (f == QS_FILTER_AREA)
                    ck_assert(whole);
                else if (inside || outside)
                    ck_assert_msg(whole == inside, "%s %d to %d, pixel %d",
                                  qs_filter_row((enum qs_filter)f)->key, in, out, i);
            }
            qs_weights_clear(&weights);
        }
}
END_TEST

/*
 * The autocorrelation by parity: both parities add up to the plain one, and their
 * elements to the squared sums of the weights: sum over lags of both = 1; a frame
 * place moved by one swaps the parities.
 */
START_TEST(autocorrelation_by_parity)
{
    struct qs_weights weights = weights_of(QS_FILTER_LANCZOS3, 317, 123);
    int lags = weights.taps - 1, count = 2 * lags + 1;
    double *table = qs_alloc((size_t)count * 4, sizeof *table);
    double *even = table, *odd = table + count;
    double *swapped_even = table + 2 * count, *swapped_odd = table + 3 * count;
    double sum = 0.0, direct = 0.0;
    int whole = weights.whole_end - weights.whole_first;

    qs_weights_autocorrelation(&weights, 0, even, odd);
    qs_weights_autocorrelation(&weights, 91, swapped_even, swapped_odd);
    for (int d = 0; d < count; d++) {
        ck_assert_double_eq_tol(even[d], swapped_odd[d], 1e-12);
        ck_assert_double_eq_tol(odd[d], swapped_even[d], 1e-12);
        ck_assert_double_eq_tol(even[d] + odd[d],
                                even[count - 1 - d] + odd[count - 1 - d], 1e-9);
        sum += even[d] + odd[d];
    }
    for (int i = weights.whole_first; i < weights.whole_end; i++)
        for (int n = 0; n < weights.count[i]; n++)
            direct += pow(taps_of(&weights, i)[n], 2.0) / whole;
    ck_assert_double_eq_tol(sum, 1.0, FLOAT_SUM);
    ck_assert_double_eq_tol(even[lags] + odd[lags], direct, 1e-7);
    qs_free(table);
    qs_weights_clear(&weights);
}
END_TEST

/* Shares of two axes: what stays clean stays clean along both. */
START_TEST(alias_share_of_two_axes)
{
    ck_assert_double_eq_tol(qs_alias_share_2d(0.0, 0.0), 0.0, 1e-15);
    ck_assert_double_eq_tol(qs_alias_share_2d(0.317, 0.0), 0.317, 1e-15);
    ck_assert_double_eq_tol(qs_alias_share_2d(0.25, 0.5), 1.0 - 0.75 * 0.5, 1e-15);
}
END_TEST

START_TEST(memory_runs_out)
{
    struct qs_axis_response axis;
    struct qs_weights weights;

    for (long n = 0; n < 4; n++) {
        struct qs_error err = {QS_OK, ""};

        qs_alloc_fail_at(n);
        ck_assert_int_eq(qs_weights_init(&weights, QS_FILTER_MITCHELL, 91, 37, &err),
                         QS_ERR_MEMORY);
        ck_assert_ptr_null(weights.weight);
        ck_assert_int_eq(err.status, QS_ERR_MEMORY);
    }
    qs_alloc_fail_at(0);
    ck_assert_int_eq(qs_axis_response(QS_FILTER_AREA, 1.7, &axis, NULL), QS_ERR_MEMORY);
    qs_alloc_fail_at(-1);
    qs_weights_clear(&weights);
}
END_TEST

QS_TEST_MAIN("filters", responses_agree, alias_floors, kernels_by_definition,
             kernels_at_whole_places, weights_by_definition, constant_in_constant_out,
             mirror_symmetric, shift_proof_at_whole_reductions,
             ramp_at_whole_reductions, area_is_exact, area_gain_closed_form,
             wide_kernels_reach_their_integrals, identity, whole_pixels_see_no_edge,
             autocorrelation_by_parity, alias_share_of_two_axes, memory_runs_out)
