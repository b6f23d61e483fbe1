/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The noise after a filter, told from the spectrum's few nodes, against what follows
 * from the weights of the noise's own operation and of the filter as written a second
 * time (kernel_reference.h).  The bound of 0.05 stop is what a camera sheet promises.
 */
#include "measure/noise_spectrum.h"

#include <math.h>

#include "check_main.h"
#include "fall_scene.h"
#include "resample/axis_gain.h"

enum {
    PATCH = 240,
    SEEDS = 40
};

static const struct field_kind kinds[] = {
    {.name = "white"},
    {.name = "blurred 0.5", .blur_px = 0.5},
    {.name = "blurred 0.7", .blur_px = 0.7},
    {.name = "blurred 1.5", .blur_px = 1.5},
    {.name = "blotches", .blur_px = 4.0},
    {.name = "stripes", .row_sd = 0.5},
    {.name = "bilinear red", .mosaic = FIELD_BILINEAR, .channel = QS_R},
    {.name = "bilinear green", .mosaic = FIELD_BILINEAR, .channel = QS_G},
    {.name = "bilinear luminance", .mosaic = FIELD_BILINEAR, .channel = QS_Y},
    {.name = "5 x 5 red", .mosaic = FIELD_MALVAR, .channel = QS_R},
    {.name = "5 x 5 green", .mosaic = FIELD_MALVAR, .channel = QS_G},
};

/* Delivered sides: reductions by 1.2, 1.5, 2, 3, 4, 6, 8 and 10; after how many
   delivered pixels places in the mosaic repeat. */
static const struct {
    int out, period;
} sizes[] = {{200, 5}, {160, 4}, {120, 1}, {80, 2}, {60, 1}, {40, 1}, {30, 1}, {24, 1}};

enum {
    KINDS = sizeof kinds / sizeof kinds[0],
    SIZES = sizeof sizes / sizeof sizes[0]
};

static struct qs_spectrum
spectrum_of(const struct field_kind *kind, uint64_t seed)
{
    float *px = field_new(kind, PATCH + 64, SCENE_MEAN, SCENE_SD, seed);
    struct qs_plane all = {px, PATCH + 64, PATCH + 64, PATCH + 64};
    struct qs_plane patch = qs_plane_part(&all, (struct qs_box){32, 32, PATCH, PATCH});
    struct qs_noise_shape shape;
    struct qs_spectrum spectrum;
    struct qs_noise noise;

    ck_assert_int_eq(qs_noise_measure(&patch, 32, 32, 0, 0, &noise, &shape, NULL),
                     QS_OK);
    ck_assert_int_eq(qs_spectrum_measure(&shape, &spectrum, NULL), QS_OK);
    qs_noise_shape_clear(&shape);
    free(px);
    return spectrum;
}

static struct qs_node_weights
weights_of(enum qs_filter filter, double scale)
{
    struct qs_node_weights weights;
    struct qs_axis_gain gain;

    ck_assert_int_eq(qs_axis_gain_init(&gain, filter, scale, NULL), QS_OK);
    qs_node_weights_fill(gain.autocorrelation, gain.lags, &weights);
    qs_axis_gain_clear(&gain);
    return weights;
}

static void
check_fall(const struct field_kind *kind, const struct qs_spectrum *spectra, int count,
           enum qs_filter filter, int size)
{
    struct qs_node_weights weights =
        weights_of(filter, (double)PATCH / sizes[size].out);
    double sd =
        scene_true_sd(kind, filter, PATCH, sizes[size].out, 0, 0, sizes[size].period);
    double sum = 0.0, square = 0.0, se, stops;

    for (int s = 0; s < count; s++) {
        double variance = qs_spectrum_variance(&spectra[s], &weights, &weights);

        sum += variance / count;
        square += variance * variance / count;
    }
    se = sqrt(fmax(square / sum / sum - 1.0, 0.0) / (count - 1)) / log(2.0);
    stops = log2(sum / (sd * sd));
    ck_assert_msg(fabs(stops) < 0.025 + 3.5 * se,
                  "%s through %s to %d: %+.3f stops, se %.3f", kind->name,
                  qs_filter_row(filter)->key, sizes[size].out, stops, se);
}

START_TEST(test_every_filter_and_reduction)
{
    struct qs_spectrum *spectra = malloc(SEEDS * sizeof *spectra);
    int count = field_seeds(SEEDS);

    ck_assert_ptr_nonnull(spectra);
    for (int k = 0; k < (int)KINDS; k++) {
        for (int s = 0; s < count; s++)
            spectra[s] = spectrum_of(&kinds[k], (uint64_t)(1000 * k + s + 1));
        for (int f = 0; f < (int)QS_FILTERS; f++)
            for (int size = 0; size < (int)SIZES; size++)
                check_fall(&kinds[k], spectra, count, (enum qs_filter)f, size);
    }
    free(spectra);
}
END_TEST

/* Unfiltered, the nodes hold the patch's own variance. */
START_TEST(test_native_variance)
{
    static const double one[1] = {1.0};
    struct qs_node_weights none;

    qs_node_weights_fill(one, 0, &none);
    ck_assert_double_eq_tol(none.zero, 1.0, 1e-15);
    for (int k = 0; k < (int)KINDS; k++) {
        double sum = 0.0, variance = field_native_variance(&kinds[k]);
        int count = field_seeds(SEEDS);

        for (int s = 0; s < count; s++) {
            struct qs_spectrum spectrum = spectrum_of(&kinds[k], (uint64_t)(s + 1));

            sum += qs_spectrum_variance(&spectrum, &none, &none) / count;
        }
        /* 40 patches of 57600 pixels: 0.1 % for white noise, 1.3 % for blotches
           and 1.4 % for stripes */
        ck_assert_double_eq_tol(sum / (SCENE_SD * SCENE_SD) / variance, 1.0, 0.04);
    }
}
END_TEST

/* The nodes' weights against a sum over many frequencies. */
START_TEST(test_node_weights)
{
    struct qs_axis_gain gain;
    struct qs_node_weights weights;
    const int steps = 20000;

    ck_assert_int_eq(qs_axis_gain_init(&gain, QS_FILTER_LANCZOS3, 3.7, NULL), QS_OK);
    qs_node_weights_fill(gain.autocorrelation, gain.lags, &weights);
    for (int k = 0; k < (int)QS_SPECTRUM_NODES; k++) {
        double nodes[QS_SPECTRUM_NODES] = {0.0}, sum = 0.0;

        nodes[k] = 1.0;
        for (int i = 0; i < steps; i++) {
            double f = 0.5 * (i + 0.5) / steps;

            sum += qs_axis_gain_at(&gain, f) * qs_spectrum_line_at(nodes, f) / steps;
        }
        ck_assert_double_eq_tol(weights.at[k], sum, 1e-7);
    }
    ck_assert_double_eq_tol(weights.zero, 1.0, 1e-12);
    qs_axis_gain_clear(&gain);
}
END_TEST

/* Small patches have no frequency near some nodes; white noise stays white there. */
START_TEST(test_small_patches)
{
    struct field_kind white = {.name = "white"};
    struct qs_spectrum mean = {0};
    const int count = 400;

    for (int s = 0; s < count; s++) {
        float *px = field_new(&white, 24, 0.2, 1.0, (uint64_t)(s + 7));
        struct qs_plane plane = {px, 24, 20, 24};
        struct qs_noise_shape shape;
        struct qs_spectrum spectrum;
        struct qs_noise noise;

        ck_assert_int_eq(qs_noise_measure(&plane, 0, 0, 0, 0, &noise, &shape, NULL),
                         QS_OK);
        ck_assert_int_eq(qs_spectrum_measure(&shape, &spectrum, NULL), QS_OK);
        for (int j = 0; j < (int)QS_SPECTRUM_NODES; j++)
            for (int i = 0; i < (int)QS_SPECTRUM_NODES; i++)
                mean.pixel[j][i] += spectrum.pixel[j][i] / count;
        qs_noise_shape_clear(&shape);
        free(px);
    }
    /* a node's density rests on 2 bins or so of each patch: 1/sqrt(800) = 4 % */
    for (int j = 0; j < (int)QS_SPECTRUM_NODES; j++)
        for (int i = 0; i < (int)QS_SPECTRUM_NODES; i++)
            ck_assert_msg(fabs(mean.pixel[j][i] - 1.0) < 0.2, "node %d, %d: %.3f", j, i,
                          mean.pixel[j][i]);
}
END_TEST

QS_TEST_MAIN("noise spectrum", test_node_weights, test_native_variance,
             test_every_filter_and_reduction, test_small_patches)
