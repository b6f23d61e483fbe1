/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_visible.c - noise as the eye sees it: against closed forms, against delivered
 * pixels worked out tap by tap, and against CIELAB as published
 *
 * Responses here are made by hand from weights of the test's own, so that nothing of
 * the project's filters decides.
 */
#include "fall/visible.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

enum {
    NODES = QS_SPECTRUM_NODES,
    TAPS = 64,
    PHASES = 2, /* places that a pixel centre has at a reduction of 2, 3.5 */
    FAR = 160,  /* delivered pixels apart at which covariance is forgotten */
    FINE = 300  /* frequencies a side of the plain sums */
};

static const double PI = 3.14159265358979323846;
static const double TONE = 0.18;
static const double SLOPE = 121.289; /* dL* / dY at 0.18: CIE 15, worked out */

/* What the header says the sums are right to. */
static const double CLOSE = 0.005;

static const struct qs_axis_gain unfiltered = {1.0, 0, (double[]){1.0}};

static double
relative(double got, double expected)
{
    return fabs(got / expected - 1.0);
}

static struct qs_spectrum
white(double variance)
{
    struct qs_spectrum out = {{{0}}, {0}, {0}};

    for (int j = 0; j < NODES; j++)
        for (int i = 0; i < NODES; i++)
            out.pixel[j][i] = variance;
    return out;
}

/* Nothing but the coarsest: straight down to nothing at the second node. */
static struct qs_spectrum
blotches(double density)
{
    struct qs_spectrum out = {{{0}}, {0}, {0}};

    out.pixel[0][0] = density;
    return out;
}

/* The same noise in all three. */
static struct qs_visible
seen(const struct qs_spectrum *noise, const struct qs_axis_gain *gain, double ppd,
     enum qs_eye eye, double tone)
{
    struct qs_visible_input input = {noise, noise, noise, tone, gain,
                                     gain,  ppd,   eye,   NULL, NULL};
    struct qs_visible out;

    ck_assert_int_eq(qs_visible(&input, &out, NULL), QS_OK);
    ck_assert(out.has_lightness && out.has_colour && out.has_total);
    return out;
}

/* CIELAB whole, CIE 15, from X / Xn, Y / Yn, Z / Zn. */
static double
lab_root(double t)
{
    return t > 216.0 / 24389.0 ? cbrt(t) : 841.0 / 108.0 * t + 4.0 / 29.0;
}

static void
lab(double x, double y, double z, double out[3])
{
    out[0] = 116.0 * lab_root(y) - 16.0;
    out[1] = 500.0 * (lab_root(x) - lab_root(y));
    out[2] = 200.0 * (lab_root(y) - lab_root(z));
}

/*
 * The test's own CIELAB is the published one: a colour that colour-science tests
 * its Lab with (D50 white 0.964296, 1, 0.825105), read there, and greys worked out.
 * White is printed to 6 digits, which is 1e-4 in a* and b*.
 */
START_TEST(cielab_is_the_published_one)
{
    double out[3];

    lab(0.07049534 / 0.964296, 0.1008, 0.09558313 / 0.825105, out);
    ck_assert_double_eq_tol(out[0], 37.98562910, 1e-6);
    ck_assert_double_eq_tol(out[1], -23.62907688, 2e-4);
    ck_assert_double_eq_tol(out[2], -4.41746615, 2e-4);
    lab(0.18, 0.18, 0.18, out);
    ck_assert_double_eq_tol(out[0], 49.4961, 5.1e-5);
    lab(0.13, 0.13, 0.13, out);
    ck_assert_double_eq_tol(out[0], 42.7632, 5.1e-5);
}
END_TEST

/* White noise of 1 % of 0.18 through nothing: 0.218 L*, worked out from CIE 15; a* and
   b* by small steps of the published formula. */
START_TEST(plain_figures_are_cielabs)
{
    static const double tones[] = {0.0031, 0.0087, 0.0091, 0.047, 0.18, 0.61, 0.97};
    struct qs_spectrum noise = white(0.0018 * 0.0018);
    struct qs_visible out =
        seen(&noise, &unfiltered, 60.0, QS_EYE_JOHNSON_FAIRCHILD, TONE);
    const double step = 1e-6;

    ck_assert_double_eq_tol(out.plain_lightness_sd, 0.218, 5.1e-4);
    ck_assert_double_lt(relative(out.plain_lightness_sd, SLOPE * 0.0018), 1e-5);
    ck_assert_double_eq_tol(qs_lightness_slope(TONE), SLOPE, 5.1e-4);
    for (size_t i = 0; i < COUNT(tones); i++) {
        double y = tones[i], low[3], high[3], red[3], blue[3];

        out = seen(&noise, &unfiltered, 60.0, QS_EYE_BARTEN, y);
        lab(y, y - step, y, low);
        lab(y, y + step, y, high);
        lab(y + step, y, y, red);
        lab(y, y, y - step, blue);
        ck_assert_double_lt(
            relative(out.plain_lightness_sd, 0.0018 * (high[0] - low[0]) / step / 2.0),
            1e-3);
        ck_assert_double_lt(relative(out.plain_red_green_sd, 0.0018 * red[1] / step),
                            1e-3);
        ck_assert_double_lt(relative(out.plain_yellow_blue_sd, 0.0018 * blue[2] / step),
                            1e-3);
    }
}
END_TEST

/* The darker, the more lightness the same noise is, down to CIELAB's straight part. */
START_TEST(darker_shows_more)
{
    struct qs_spectrum noise = white(1e-6);
    double before = INFINITY;

    for (double tone = 0.00887; tone < 1.0; tone *= 1.317) {
        double now = seen(&noise, &unfiltered, 60.0, QS_EYE_BARTEN, tone).total;

        ck_assert_double_lt(now, before);
        before = now;
    }
    ck_assert_double_eq(seen(&noise, &unfiltered, 60.0, QS_EYE_BARTEN, 0.0085).total,
                        seen(&noise, &unfiltered, 60.0, QS_EYE_BARTEN, 0.0001).total);
}
END_TEST

/*
 * Where pixels are finer than anything the eye sees, all of its curve counts and the
 * integral is closed (gamma function, any handbook): with 75 f^0.8 exp(-0.2 f) /
 * 102.158, in the plane 2 pi gamma(3.6) / 0.4^3.6 and along a line 2 gamma(2.6) /
 * 0.4^2.6.
 */
START_TEST(closed_form_of_fine_pixels)
{
    const double scale = 75.0 / 102.158 * 75.0 / 102.158;
    const double plane = scale * 2.0 * PI * tgamma(3.6) / pow(0.4, 3.6);
    const double line = scale * 2.0 * tgamma(2.6) / pow(0.4, 2.6);

    for (double ppd = 120.0; ppd < 250.0; ppd += 31.7) {
        struct qs_spectrum noise = white(1e-6), rows = {{{0}}, {0}, {0}}, columns;
        double expected;

        for (int j = 0; j < NODES; j++)
            rows.row[j] = 1e-6;
        columns = (struct qs_spectrum){{{0}}, {0}, {0}};
        memcpy(columns.column, rows.row, sizeof rows.row);
        expected = SLOPE * 1e-3 * sqrt(plane) / ppd;
        ck_assert_double_lt(
            relative(seen(&noise, &unfiltered, ppd, QS_EYE_JOHNSON_FAIRCHILD, TONE)
                         .lightness_sd,
                     expected),
            CLOSE);
        expected = SLOPE * 1e-3 * sqrt(line / ppd);
        ck_assert_double_lt(
            relative(seen(&rows, &unfiltered, ppd, QS_EYE_JOHNSON_FAIRCHILD, TONE)
                         .lightness_sd,
                     expected),
            CLOSE);
        ck_assert_double_lt(
            relative(seen(&columns, &unfiltered, ppd, QS_EYE_JOHNSON_FAIRCHILD, TONE)
                         .lightness_sd,
                     expected),
            CLOSE);
    }
}
END_TEST

/*
 * A picture held to the nose: all its frequencies come near 0 cycles per degree. Colour
 * sensitivity there is 1 (at 0.005 cpd within 2e-5), so what is seen is what is
 * there; that of light and dark is 0.
 */
START_TEST(limit_of_very_large_pixels)
{
    struct qs_spectrum noise = white(1e-6);

    for (int eye = 0; eye < (int)QS_EYES; eye++) {
        struct qs_visible out = seen(&noise, &unfiltered, 0.01, (enum qs_eye)eye, TONE);

        ck_assert_double_lt(relative(out.red_green_sd, out.plain_red_green_sd), 1e-4);
        ck_assert_double_lt(relative(out.yellow_blue_sd, out.plain_yellow_blue_sd),
                            1e-4);
        ck_assert_double_lt(out.lightness_sd, 0.01 * out.plain_lightness_sd);
    }
}
END_TEST

/* Weights of the test's own, of a kernel that reaches two delivered pixels. */
struct hand_weights {
    double scale;
    int phases;
    int first[PHASES]; /* source pixel of the first tap, delivered pixel 0, 1 */
    double weight[PHASES][TAPS];
    int taps;
};

/* sinc(u) sinc(u / 2): little is folded. */
static double
smooth_kernel(double u)
{
    double a = PI * u;

    if (fabs(u) >= 2.0)
        return 0.0;
    return fabs(u) < 1e-9 ? 1.0 : sin(a) / a * sin(a / 2.0) / (a / 2.0);
}

/* The nearest source pixels alike: much is folded. */
static double
box_kernel(double u)
{
    return fabs(u) < 0.5 ? 1.0 : 0.0;
}

static struct hand_weights
hand_weights(double (*kernel)(double), double scale, int phases)
{
    struct hand_weights out = {.scale = scale, .phases = phases};

    out.taps = (int)(4.0 * scale) + 2;
    ck_assert_int_le(out.taps, TAPS);
    for (int p = 0; p < phases; p++) {
        double centre = (p + 0.5) * scale - 0.5, sum = 0.0;

        out.first[p] = (int)ceil(centre - 2.0 * scale);
        for (int n = 0; n < out.taps; n++)
            sum += out.weight[p][n] = kernel((out.first[p] + n - centre) / scale);
        for (int n = 0; n < out.taps; n++)
            out.weight[p][n] /= sum;
    }
    return out;
}

static struct qs_axis_gain
hand_gain(const struct hand_weights *weights, double *room)
{
    for (int d = 0; d < weights->taps; d++) {
        room[d] = 0.0;
        for (int p = 0; p < weights->phases; p++)
            for (int n = 0; n + d < weights->taps; n++)
                room[d] +=
                    weights->weight[p][n] * weights->weight[p][n + d] / weights->phases;
    }
    return (struct qs_axis_gain){weights->scale, weights->taps - 1, room};
}

/* Noise of the source along one axis: density at the nodes, straight between them. */
static const double axis_noise[][NODES] = {
    {1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1},
    {1, 0.99, 0.97, 0.94, 0.9, 0.79, 0.65, 0.35, 0.13, 0.02, 0.01}, /* soft */
    {9, 7, 4, 2.2, 1.3, 0.6, 0.4, 0.3, 0.25, 0.2, 0.2},             /* coarse */
};

static double
between_nodes(const double *nodes, double f_cpp)
{
    int k = 0;

    while (k < NODES - 2 && f_cpp > qs_spectrum_cpp[k + 1])
        k++;
    return nodes[k] + (nodes[k + 1] - nodes[k]) * (f_cpp - qs_spectrum_cpp[k]) /
                          (qs_spectrum_cpp[k + 1] - qs_spectrum_cpp[k]);
}

/* Covariance of the source over distance: plain sums of cosines. */
static void
source_covariance(const double *nodes, double *out, int count)
{
    const int sums = 2000;

    for (int d = 0; d < count; d++) {
        out[d] = 0.0;
        for (int i = 0; i < sums; i++) {
            double f = 0.5 * (i + 0.5) / sums;

            out[d] += between_nodes(nodes, f) * cos(2.0 * PI * f * d) / sums;
        }
    }
}

/* Mean covariance of delivered pixels k apart: every tap with every tap. */
static double
delivered_covariance(const struct hand_weights *weights, const double *source, int k)
{
    double sum = 0.0;

    for (int p = 0; p < weights->phases; p++) {
        int other = (p + k) % weights->phases;
        int shift = weights->first[other] - weights->first[p] +
                    (int)lround((p + k - other) * weights->scale);

        for (int n = 0; n < weights->taps; n++)
            for (int m = 0; m < weights->taps; m++)
                sum += weights->weight[p][n] * weights->weight[other][m] *
                       source[abs(shift + m - n)] / weights->phases;
    }
    return sum;
}

/* The delivered picture's density along one axis, straight from its covariance. */
static void
delivered_density(const struct hand_weights *weights, const double *nodes, double *out)
{
    int count = (int)(FAR * weights->scale) + 2 * TAPS;
    double *source = malloc((size_t)count * sizeof *source);
    double apart[FAR];

    ck_assert_ptr_nonnull(source);
    source_covariance(nodes, source, count);
    for (int k = 0; k < FAR; k++)
        apart[k] = delivered_covariance(weights, source, k);
    free(source);
    for (int i = 0; i < FINE; i++) {
        out[i] = apart[0];
        for (int k = 1; k < FAR; k++)
            out[i] += 2.0 * apart[k] * cos(2.0 * PI * k * 0.5 * (i + 0.5) / FINE);
    }
}

/* Variance seen of a delivered picture whose density is a product of two. */
static double
plain_sum(const double *density, double ppd, const struct qs_contrast *contrast,
          enum qs_opponent opponent)
{
    double sum = 0.0;

    for (int j = 0; j < FINE; j++)
        for (int i = 0; i < FINE; i++) {
            double cpd = ppd * 0.5 / FINE * hypot(i + 0.5, j + 0.5);
            double eye = qs_contrast_at(contrast, opponent, cpd);

            sum += density[i] * density[j] * eye * eye / FINE / FINE;
        }
    return sum;
}

static void
check_against_taps(const struct hand_weights *weights, const double *nodes, double ppd,
                   enum qs_eye eye)
{
    static double density[FINE];
    double room[TAPS];
    struct qs_axis_gain gain = hand_gain(weights, room);
    struct qs_spectrum noise = {{{0}}, {0}, {0}};
    struct qs_contrast contrast;
    struct qs_visible out;
    const double slope = qs_lightness_slope(TONE) / 116.0;

    for (int j = 0; j < NODES; j++)
        for (int i = 0; i < NODES; i++)
            noise.pixel[j][i] = nodes[j] * nodes[i];
    out = seen(&noise, &gain, ppd, eye, TONE);
    qs_contrast_fill(eye, NULL, &contrast);
    delivered_density(weights, nodes, density);
    for (int k = 0; k < (int)QS_OPPONENTS; k++) {
        const double got[] = {out.lightness_sd / 116.0, out.red_green_sd / 500.0,
                              out.yellow_blue_sd / 200.0};
        double expected =
            slope * sqrt(plain_sum(density, ppd, &contrast, (enum qs_opponent)k));

        ck_assert_msg(relative(got[k], expected) < CLOSE,
                      "reduction %g, %g ppd, eye %d, %d: %g, tap by tap %g",
                      weights->scale, ppd, (int)eye, k, got[k], expected);
    }
}

/*
 * The delivered picture, pixel by pixel: its covariance from the taps, its density from
 * the covariance, the eye upon it.  Nothing is folded here; at 3.5 also what the two
 * places of a pixel do differently is in it.
 */
START_TEST(same_as_tap_by_tap)
{
    const struct hand_weights weights[] = {
        hand_weights(smooth_kernel, 2.0, 1), hand_weights(smooth_kernel, 3.5, 2),
        hand_weights(box_kernel, 2.0, 1), hand_weights(box_kernel, 5.0, 1)};

    for (size_t w = 0; w < COUNT(weights); w++)
        for (size_t n = 0; n < COUNT(axis_noise); n++)
            for (int eye = 0; eye < (int)QS_EYES; eye++) {
                check_against_taps(&weights[w], axis_noise[n], 17.3, (enum qs_eye)eye);
                check_against_taps(&weights[w], axis_noise[n], 73.1, (enum qs_eye)eye);
            }
}
END_TEST

/* |sum of taps|^2 at a source frequency, mean over the places. */
static double
response_of_taps(const struct hand_weights *weights, double f_cpp)
{
    double sum = 0.0;

    for (int p = 0; p < weights->phases; p++) {
        double re = 0.0, im = 0.0;

        for (int n = 0; n < weights->taps; n++) {
            re += weights->weight[p][n] * cos(2.0 * PI * f_cpp * n);
            im += weights->weight[p][n] * sin(2.0 * PI * f_cpp * n);
        }
        sum += (re * re + im * im) / weights->phases;
    }
    return sum;
}

/* Where a frequency lands: whole cycles per delivered pixel are not seen. */
static double
folded_cpp(double delivered_cpp)
{
    while (delivered_cpp > 0.5)
        delivered_cpp -= 1.0;
    return fabs(delivered_cpp);
}

/*
 * Noise that is no product of two axes, shrunk more across than down, with rows and
 * columns in it: plain sums over source frequencies.
 */
START_TEST(same_as_plain_sums)
{
    enum {
        SUMS = 896 /* shared by nodes and folds, so that midpoints see no kink */
    };
    static double across[SUMS], down[SUMS];
    const struct hand_weights wide = hand_weights(box_kernel, 3.5, 2),
                              high = hand_weights(box_kernel, 2.0, 1);
    double room_across[TAPS], room_down[TAPS];
    struct qs_axis_gain gain_across = hand_gain(&wide, room_across);
    struct qs_axis_gain gain_down = hand_gain(&high, room_down);
    const double ppd = 41.9;
    struct qs_spectrum noise = white(0.2);
    struct qs_visible_input input = {&noise,       &noise,     &noise, TONE,
                                     &gain_across, &gain_down, ppd,    QS_EYE_BARTEN,
                                     NULL,         NULL};
    struct qs_visible out;
    struct qs_contrast contrast;
    double sum = 0.0;

    for (int j = 0; j < NODES; j++) {
        for (int i = 0; i < NODES; i++)
            noise.pixel[j][i] += 3.0 / (1.0 + i * i + 2.0 * j + i * j);
        noise.row[j] = 0.01 * (12 - j);
        noise.column[j] = 0.002 * (1 + j);
    }
    ck_assert_int_eq(qs_visible(&input, &out, NULL), QS_OK);
    qs_contrast_fill(QS_EYE_BARTEN, NULL, &contrast);
    for (int i = 0; i < SUMS; i++) {
        across[i] = response_of_taps(&wide, 0.5 * (i + 0.5) / SUMS);
        down[i] = response_of_taps(&high, 0.5 * (i + 0.5) / SUMS);
    }
    for (int j = 0; j < SUMS; j++) {
        double v = 0.5 * (j + 0.5) / SUMS;
        double down_cpd = ppd * folded_cpp(2.0 * v);
        double across_cpd = ppd * folded_cpp(3.5 * v);
        double eye = qs_contrast_at(&contrast, QS_OPPONENT_LIGHTNESS, down_cpd);

        sum += between_nodes(noise.row, v) * down[j] * eye * eye / SUMS;
        eye = qs_contrast_at(&contrast, QS_OPPONENT_LIGHTNESS, across_cpd);
        sum += between_nodes(noise.column, v) * across[j] * eye * eye / SUMS;
        for (int i = 0; i < SUMS; i++) {
            double u = 0.5 * (i + 0.5) / SUMS;
            double cpd = hypot(ppd * folded_cpp(3.5 * u), down_cpd);

            eye = qs_contrast_at(&contrast, QS_OPPONENT_LIGHTNESS, cpd);
            sum += qs_spectrum_at(&noise, u, v) * across[i] * down[j] * eye * eye /
                   SUMS / SUMS;
        }
    }
    ck_assert_double_lt(relative(out.lightness_sd, SLOPE * sqrt(sum)), CLOSE);
}
END_TEST

/* Plain figures are the filter's alone: the sum of squares of weights for white noise.
 */
START_TEST(plain_figure_is_the_filters)
{
    const struct hand_weights weights = hand_weights(smooth_kernel, 3.5, 2);
    double room[TAPS];
    struct qs_axis_gain gain = hand_gain(&weights, room);
    struct qs_spectrum noise = white(1e-6);
    struct qs_visible out = seen(&noise, &gain, 60.0, QS_EYE_BARTEN, TONE);

    ck_assert_double_lt(relative(out.plain_lightness_sd, SLOPE * 1e-3 * room[0]), 1e-5);
}
END_TEST

/* Coming closer shows more of fine noise; delivering finer pixels shows less. */
START_TEST(distance_and_pixels)
{
    struct qs_spectrum noise = white(1e-6);

    for (int eye = 0; eye < (int)QS_EYES; eye++) {
        double before = INFINITY;

        for (double ppd = 20.0; ppd < 210.0; ppd *= 1.17) {
            double now = seen(&noise, &unfiltered, ppd, (enum qs_eye)eye, TONE).total;

            ck_assert_double_lt(now, before);
            before = now;
        }
    }
}
END_TEST

/*
 * One picture at one size on the wall, whole or at half the pixels: where both
 * are finer than the eye, it sees the same noise though the plain figure has halved.
 * The weights pass what the eye sees: at 10 of 60 cpd of Nyquist within 1 % of 1.
 */
START_TEST(shrinking_what_is_too_fine_changes_nothing)
{
    const struct hand_weights weights = hand_weights(smooth_kernel, 2.0, 1);
    double room[TAPS];
    struct qs_axis_gain gain = hand_gain(&weights, room);
    struct qs_spectrum noise = white(1e-6);
    struct qs_visible whole =
        seen(&noise, &unfiltered, 240.0, QS_EYE_JOHNSON_FAIRCHILD, TONE);
    struct qs_visible half = seen(&noise, &gain, 120.0, QS_EYE_JOHNSON_FAIRCHILD, TONE);

    ck_assert_double_lt(relative(half.total, whole.total), 0.02);
    ck_assert_double_lt(half.plain_lightness_sd, 0.6 * whole.plain_lightness_sd);
}
END_TEST

/* Blotches wider than a degree: their colour is seen nearly whole, their lightness is
   mostly not (below 0.32 cpd the curve of light and dark stays below 0.30). */
START_TEST(coarse_blotches_are_seen_by_colour)
{
    struct qs_spectrum noise = blotches(1e-3);

    for (int eye = 0; eye < (int)QS_EYES; eye++) {
        struct qs_visible out = seen(&noise, &unfiltered, 20.0, (enum qs_eye)eye, TONE);

        ck_assert_double_gt(out.red_green_sd, 0.99 * out.plain_red_green_sd);
        ck_assert_double_gt(out.yellow_blue_sd, 0.97 * out.plain_yellow_blue_sd);
        ck_assert_double_lt(out.lightness_sd, 0.30 * out.plain_lightness_sd);
    }
}
END_TEST

/* Of white noise on fine pixels the eye loses more colour than lightness: the curves of
   colour end sooner (Johnson and Fairchild 2003). */
START_TEST(fine_colour_is_lost_first)
{
    struct qs_spectrum noise = white(1e-6);
    struct qs_visible out =
        seen(&noise, &unfiltered, 60.0, QS_EYE_JOHNSON_FAIRCHILD, TONE);
    double lightness = out.lightness_sd / out.plain_lightness_sd;

    ck_assert_double_lt(out.red_green_sd / out.plain_red_green_sd, lightness);
    ck_assert_double_lt(out.yellow_blue_sd / out.plain_yellow_blue_sd, lightness);
}
END_TEST

/* Variances add, and sd go with the noise. */
START_TEST(adds_up)
{
    struct qs_spectrum one = white(1e-6), other = blotches(1e-3), both;
    struct qs_visible a, b, sum, twice;

    both = one;
    both.pixel[0][0] += 1e-3;
    a = seen(&one, &unfiltered, 47.0, QS_EYE_BARTEN, TONE);
    b = seen(&other, &unfiltered, 47.0, QS_EYE_BARTEN, TONE);
    sum = seen(&both, &unfiltered, 47.0, QS_EYE_BARTEN, TONE);
    ck_assert_double_lt(relative(sum.total, hypot(a.total, b.total)), 1e-12);
    one = white(4e-6);
    twice = seen(&one, &unfiltered, 47.0, QS_EYE_BARTEN, TONE);
    ck_assert_double_lt(relative(twice.lightness_sd, 2.0 * a.lightness_sd), 1e-12);
    ck_assert_double_lt(relative(a.total, hypot(hypot(a.lightness_sd, a.red_green_sd),
                                                a.yellow_blue_sd)),
                        1e-12);
}
END_TEST

/* Axes given apart or as one; no doubt about the same bits. */
START_TEST(axes_given_once_or_twice)
{
    const struct hand_weights weights = hand_weights(smooth_kernel, 2.0, 1);
    double room[TAPS];
    struct qs_axis_gain gain = hand_gain(&weights, room), same = gain;
    struct qs_spectrum noise = blotches(1e-3);
    struct qs_visible_input input = {&noise, &noise, &noise,        TONE, &gain,
                                     &same,  60.0,   QS_EYE_BARTEN, NULL, NULL};
    struct qs_visible once, twice;

    ck_assert_int_eq(qs_visible(&input, &twice, NULL), QS_OK);
    input.down = &gain;
    ck_assert_int_eq(qs_visible(&input, &once, NULL), QS_OK);
    ck_assert_double_eq(once.total, twice.total);
}
END_TEST

START_TEST(grey_files_have_no_colour)
{
    struct qs_spectrum noise = white(1e-6);
    struct qs_visible_input input = {&noise,      NULL,        NULL, TONE,
                                     &unfiltered, &unfiltered, 60.0, QS_EYE_BARTEN,
                                     NULL,        NULL};
    struct qs_visible out;

    ck_assert_int_eq(qs_visible(&input, &out, NULL), QS_OK);
    ck_assert(out.has_lightness && !out.has_colour && out.has_total);
    ck_assert_double_eq(out.total, out.lightness_sd);
}
END_TEST

/* Nodes may lie below 0 by chance; where the sum does, the figure is unknown. */
START_TEST(power_below_zero_is_unknown)
{
    struct qs_spectrum noise = white(1e-6), odd = white(-1e-9);
    struct qs_visible_input input = {&noise,      &noise,      &odd, TONE,
                                     &unfiltered, &unfiltered, 60.0, QS_EYE_BARTEN,
                                     NULL,        NULL};
    struct qs_visible out;

    ck_assert_int_eq(qs_visible(&input, &out, NULL), QS_OK);
    ck_assert(out.has_lightness && !out.has_colour && !out.has_total);
    ck_assert_double_eq(out.red_green_sd, 0.0);
    input.lightness = &odd;
    ck_assert_int_eq(qs_visible(&input, &out, NULL), QS_OK);
    ck_assert(!out.has_lightness && !out.has_total);
}
END_TEST

/* What cannot be looked at is refused, in a sentence, and *out stays. */
START_TEST(refuses_in_words)
{
    static const double bad[] = {0.0, -0.003, INFINITY, NAN};
    struct qs_spectrum noise = white(1e-6);

    for (size_t i = 0; i < 2 * COUNT(bad); i++) {
        struct qs_visible_input input = {&noise,      NULL,        NULL, TONE,
                                         &unfiltered, &unfiltered, 60.0, QS_EYE_BARTEN,
                                         NULL,        NULL};
        struct qs_visible out = {.total = 3.17};
        struct qs_error err;

        if (i < COUNT(bad))
            input.tone = bad[i];
        else
            input.pixels_per_degree = bad[i - COUNT(bad)];
        qs_error_clear(&err);
        ck_assert_int_eq(qs_visible(&input, &out, &err), QS_ERR_RANGE);
        ck_assert_ptr_nonnull(strstr(err.text, "; "));
        ck_assert_double_eq(out.total, 3.17);
    }
}
END_TEST

QS_TEST_MAIN("visible", cielab_is_the_published_one, plain_figures_are_cielabs,
             darker_shows_more, closed_form_of_fine_pixels, limit_of_very_large_pixels,
             same_as_tap_by_tap, same_as_plain_sums, plain_figure_is_the_filters,
             distance_and_pixels, shrinking_what_is_too_fine_changes_nothing,
             coarse_blotches_are_seen_by_colour, fine_colour_is_lost_first, adds_up,
             axes_given_once_or_twice, grey_files_have_no_colour,
             power_below_zero_is_unknown, refuses_in_words)
