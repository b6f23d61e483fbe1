/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_fall_truth.c - the noise of patches at delivery sizes against the truth
 *
 * Truth follows from the weights of the field's own operation and of the filter in its
 * second writing (fall_scene.h).  Tolerances are standard errors over the patches,
 * taken from the patches themselves, unless said otherwise.  How often the truth
 * lies in the interval: test_noise_cover.c.
 */
#include <math.h>

#include "average.h"
#include "check_main.h"
#include "fall_scene.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static const struct field_kind white = {.name = "white"};
static const struct field_kind soft = {.name = "blurred 0.7", .blur_px = 0.7};
static const struct field_kind stripes = {.name = "stripes", .row_sd = 0.3};
static const struct field_kind red = {
    .name = "bilinear r", .mosaic = FIELD_BILINEAR, .channel = QS_R};
static const struct field_kind doubled = {.name = "doubled", .mosaic = FIELD_DOUBLED};

/*
 * sd after the filter / sd before it, for white sensor noise through linear
 * demosaicing or a Gaussian, as simulated with numpy on 3072 x 3072 pixels (three
 * decimals): area at 2, 3, 4, then Lanczos 3 at 1.5, 2, 3, 4.
 */
static const struct ratios {
    struct field_kind kind;
    double sd, area[3], lanczos3[4];
} ratios[] = {
    {{.name = "white"}, 1.0, {0.500, 0.333, 0.250}, {0.596, 0.447, 0.298, 0.224}},
    {{.name = "bilinear r", .mosaic = FIELD_BILINEAR, .channel = QS_R},
     0.750,
     {0.833, 0.667, 0.542},
     {0.961, 0.871, 0.684, 0.547}},
    {{.name = "bilinear g", .mosaic = FIELD_BILINEAR, .channel = QS_G},
     0.791,
     {0.689, 0.506, 0.397},
     {0.811, 0.679, 0.494, 0.383}},
    {{.name = "bilinear y", .mosaic = FIELD_BILINEAR, .channel = QS_Y},
     0.590,
     {0.702, 0.522, 0.411},
     {0.825, 0.696, 0.512, 0.399}},
    {{.name = "5 x 5 r", .mosaic = FIELD_MALVAR, .channel = QS_R},
     0.992,
     {0.697, 0.527, 0.420},
     {0.818, 0.696, 0.525, 0.415}},
    {{.name = "5 x 5 g", .mosaic = FIELD_MALVAR, .channel = QS_G},
     0.884,
     {0.656, 0.465, 0.361},
     {0.782, 0.633, 0.448, 0.344}},
    {{.name = "5 x 5 y", .mosaic = FIELD_MALVAR, .channel = QS_Y},
     0.833,
     {0.627, 0.428, 0.323},
     {0.756, 0.594, 0.400, 0.299}},
    {{.name = "blurred 0.5", .blur_px = 0.5},
     0.641,
     {0.631, 0.454, 0.352},
     {0.746, 0.609, 0.436, 0.336}},
    {{.name = "blurred 0.7", .blur_px = 0.7},
     0.410,
     {0.791, 0.621, 0.502},
     {0.916, 0.814, 0.631, 0.502}},
    {{.name = "blurred 1.0", .blur_px = 1.0},
     0.282,
     {0.889, 0.761, 0.647},
     {0.990, 0.944, 0.805, 0.673}},
};

enum {
    TABLE_FRAME_PX = 240,
    TABLE_STEPS = 7
};

static const struct step {
    enum qs_filter filter;
    int out, period; /* delivered size, and pixels after which mosaic places repeat */
} steps[TABLE_STEPS] = {
    {QS_FILTER_AREA, 120, 1},     {QS_FILTER_AREA, 80, 2},
    {QS_FILTER_AREA, 60, 1},      {QS_FILTER_LANCZOS3, 160, 4},
    {QS_FILTER_LANCZOS3, 120, 1}, {QS_FILTER_LANCZOS3, 80, 2},
    {QS_FILTER_LANCZOS3, 60, 1},
};

static double
table_ratio(const struct ratios *row, int step)
{
    return step < 3 ? row->area[step] : row->lanczos3[step - 3];
}

/* The truth these tests work with, against the simulated table: 0.0005 of rounding and
   0.3 % of the simulation's own error (one sd of 3072^2 / 16 delivered pixels of the
   most correlated field is 0.2 %). */
START_TEST(truth_agrees_with_simulation)
{
    for (size_t k = 0; k < COUNT(ratios); k++) {
        double native = sqrt(field_native_variance(&ratios[k].kind));

        ck_assert_double_eq_tol(native, ratios[k].sd, 0.0011);
        for (int s = 0; s < TABLE_STEPS; s++) {
            double ratio =
                scene_true_sd(&ratios[k].kind, steps[s].filter, TABLE_FRAME_PX,
                              steps[s].out, 0, 0, steps[s].period) /
                SCENE_SD / native;
            double expected = table_ratio(&ratios[k], s);

            ck_assert_msg(fabs(ratio - expected) <= 5e-4 + 3e-3 * expected,
                          "%s, step %d: %.4f, should be %.3f", ratios[k].kind.name, s,
                          ratio, expected);
        }
    }
}
END_TEST

/* And what the library predicts and measures, against that truth. */
START_TEST(predicted_and_measured_agree_with_truth)
{
    for (size_t k = 0; k < COUNT(ratios); k++)
        for (int s = 0; s < TABLE_STEPS; s++) {
            struct scene scene = {
                &ratios[k].kind, TABLE_FRAME_PX, {41, 38, 161, 158}, 36};
            struct qs_reduction reduction = scene_reduction(
                steps[s].filter, (struct qs_box){0, 0, TABLE_FRAME_PX, TABLE_FRAME_PX},
                steps[s].out, steps[s].out);
            double truth =
                scene_true_sd(&ratios[k].kind, steps[s].filter, TABLE_FRAME_PX,
                              steps[s].out, 0, 0, steps[s].period);
            struct average predicted = {0}, measured = {0};

            for (int seed = 0; seed < field_seeds(8); seed++) {
                struct scene_outcome got =
                    scene_run(&scene, &reduction, 3000 + (uint64_t)seed);

                ck_assert(got.fall.has_predicted && got.fall.has_measured);
                average_add(&predicted, got.fall.sd_predicted / truth);
                average_add(&measured, got.fall.sd_measured / truth);
            }
            qs_reduction_clear(&reduction);
            ck_assert_msg(fabs(average_mean(&predicted) - 1.0) <
                              field_sigmas(6.0) * average_error(&predicted),
                          "%s, step %d: predicted %.4f of the truth",
                          ratios[k].kind.name, s, average_mean(&predicted));
            ck_assert_msg(fabs(average_mean(&measured) - 1.0) <
                              field_sigmas(6.0) * average_error(&measured),
                          "%s, step %d: measured %.4f of the truth",
                          ratios[k].kind.name, s, average_mean(&measured));
        }
}
END_TEST

/*
 * Demosaiced noise halved, with the crop's corner on each of the four places: within
 * 0.5 % of the truth or 4 standard errors, some 0.2 to 1 %.
 */
static void
check_place(const struct field_kind *kind, enum qs_filter filter, int x, int y)
{
    struct qs_box crop = {x, y, 238, 238};
    struct scene scene = {kind, 240, {37, 36, 167, 166}, 34};
    struct qs_reduction reduction = scene_reduction(filter, crop, 119, 119);
    double truth = scene_true_sd(kind, filter, 238, 119, x, y, 1);
    struct average predicted = {0};

    for (int seed = 0; seed < field_seeds(20); seed++)
        average_add(
            &predicted,
            scene_run(&scene, &reduction, 8800 + (uint64_t)seed).fall.sd_predicted /
                truth);
    qs_reduction_clear(&reduction);
    ck_assert_msg(fabs(average_mean(&predicted) - 1.0) <
                      fmax(0.005 * sqrt(48.0 / field_seeds(20)),
                           field_sigmas(4.0) * average_error(&predicted)),
                  "%s, corner %d %d: %.4f of the truth", kind->name, x, y,
                  average_mean(&predicted));
}

START_TEST(places_of_the_mosaic)
{
    for (int p = 0; p < 4; p++) {
        check_place(&red, QS_FILTER_LANCZOS3, p & 1, p >> 1);
        check_place(&ratios[6].kind, QS_FILTER_AREA, p & 1, p >> 1);
    }
}
END_TEST

/*
 * Where blocks of 2 x 2 pixels share a value, it decides whether the delivered pixels
 * fall on the blocks (area at 2: nothing is gained) or between them (four blocks each:
 * half the sd; across one edge only: 1 / sqrt 2).  By hand.
 */
START_TEST(on_and_between_blocks)
{
    static const double expected[4] = {1.0, 0.707107, 0.707107, 0.5};

    for (int p = 0; p < 4; p++) {
        ck_assert_double_eq_tol(
            scene_true_sd(&doubled, QS_FILTER_AREA, 238, 119, p & 1, p >> 1, 1) /
                SCENE_SD,
            expected[p], 1e-6);
        check_place(&doubled, QS_FILTER_AREA, p & 1, p >> 1);
        check_place(&doubled, QS_FILTER_LANCZOS3, p & 1, p >> 1);
    }
}
END_TEST

/* A reduction that is no simple ratio: 324 to 246 is 1.3171, and repeats after 41. */
START_TEST(odd_reduction)
{
    static const struct field_kind *const kinds[] = {&white, &red, &stripes};
    static const enum qs_filter filters[] = {QS_FILTER_AREA, QS_FILTER_LANCZOS2};

    for (size_t k = 0; k < COUNT(kinds); k++)
        for (size_t f = 0; f < COUNT(filters); f++) {
            struct scene scene = {kinds[k], 324, {61, 60, 203, 205}, 20};
            struct qs_reduction reduction =
                scene_reduction(filters[f], (struct qs_box){0, 0, 324, 324}, 246, 246);
            double truth = scene_true_sd(kinds[k], filters[f], 324, 246, 0, 0, 41);
            struct average predicted = {0}, measured = {0};

            for (int seed = 0; seed < field_seeds(24); seed++) {
                struct scene_outcome got =
                    scene_run(&scene, &reduction, 4100 + (uint64_t)seed);

                average_add(&predicted, got.fall.sd_predicted / truth);
                average_add(&measured, got.fall.sd_measured / truth);
            }
            qs_reduction_clear(&reduction);
            ck_assert_double_eq_tol(average_mean(&predicted), 1.0,
                                    field_sigmas(4.0) * average_error(&predicted));
            ck_assert_double_eq_tol(average_mean(&measured), 1.0,
                                    field_sigmas(4.0) * average_error(&measured));
        }
}
END_TEST

/*
 * What halving is worth, in stops of light: white noise by Lanczos 3 gains
 * -2 log2 0.446917 = 2.324 (from its noise gain), by area exactly 2.  Its standard
 * error, as each patch tells it, against the scatter of the patches: the scatter of S
 * patches is itself uncertain by 1 / sqrt(2 S), 5 % of 200; 20 % is allowed.
 */
static void
check_worth(const struct field_kind *kind, enum qs_filter filter)
{
    struct scene scene = {kind, 176, {33, 34, 111, 109}, 30};
    struct qs_reduction reduction =
        scene_reduction(filter, (struct qs_box){0, 0, 176, 176}, 88, 88);
    double truth = 2.0 * log2(SCENE_SD * sqrt(field_native_variance(kind)) /
                              scene_true_sd(kind, filter, 176, 88, 0, 0, 1));
    int seeds = field_seeds(200);
    struct average worth = {0}, error = {0};

    for (int seed = 0; seed < seeds; seed++) {
        struct scene_outcome got = scene_run(&scene, &reduction, 5200 + (uint64_t)seed);

        average_add(&worth, got.fall.worth_stops);
        average_add(&error, got.fall.worth_se_stops);
    }
    qs_reduction_clear(&reduction);
    ck_assert_msg(
        fabs(average_mean(&worth) - truth) < field_sigmas(4.0) * average_error(&worth),
        "%s: worth %.4f, should be %.4f", kind->name, average_mean(&worth), truth);
    ck_assert_msg(fabs(average_sd(&worth) / average_mean(&error) - 1.0) <
                      0.2 * sqrt(200.0 / seeds),
                  "%s: told %.4f, scatters by %.4f", kind->name, average_mean(&error),
                  average_sd(&worth));
}

START_TEST(worth_and_its_error)
{
    ck_assert_double_eq_tol(
        -2.0 * log2(scene_true_sd(&white, QS_FILTER_LANCZOS3, 176, 88, 0, 0, 1) /
                    SCENE_SD),
        2.324, 5e-4);
    ck_assert_double_eq_tol(
        scene_true_sd(&white, QS_FILTER_AREA, 176, 88, 0, 0, 1) / SCENE_SD, 0.5, 1e-12);
    check_worth(&white, QS_FILTER_LANCZOS3);
    check_worth(&white, QS_FILTER_AREA);
    check_worth(&soft, QS_FILTER_LANCZOS3);
    check_worth(&stripes, QS_FILTER_MITCHELL);
    check_worth(&red, QS_FILTER_LANCZOS3);
}
END_TEST

QS_TEST_MAIN("fall_truth", truth_agrees_with_simulation,
             predicted_and_measured_agree_with_truth, places_of_the_mosaic,
             on_and_between_blocks, odd_reduction, worth_and_its_error)
