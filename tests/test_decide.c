/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Plans from sheets whose noise is written down, against what follows from it by hand.
 *
 * Sources: the light rule E = C N^2 / (t S) with C = 250 (ISO 2720, read at second
 * hand); filters' white-noise gains as in tests/kernel_reference.h; the worked example
 * of the least light is our own derivation (docs/method/light.md), its figures computed
 * apart; facts of the trade are marked where they stand.
 */
#include "plan/decide.h"

#include <math.h>

#include "check_main.h"
#include "plan/exposure.h"
#include "plan_sheet.h"

/* Photon noise alone: gain in proportion to ISO. */
static void
photons(double iso, double value[QS_MODEL_PARTS])
{
    value[QS_MODEL_GAIN] = iso / 100.0 / 50000.0;
}

/* Read noise alone, the same electrons at every ISO. */
static void
read_noise(double iso, double value[QS_MODEL_PARTS])
{
    double sd = 3.0 * iso / 100.0 / 50000.0;

    value[QS_MODEL_READ2] = sd * sd;
}

/* A real mixture: electrons of two stages, photons, pattern. */
static void
mixture(double iso, double value[QS_MODEL_PARTS])
{
    double gain = iso / 100.0 / 50000.0, second = 6.0 * 100.0 / iso;

    value[QS_MODEL_READ2] = gain * gain * (1.5 * 1.5 + second * second);
    value[QS_MODEL_GAIN] = gain;
    value[QS_MODEL_PATTERN2] = 0.005 * 0.005;
}

static struct qs_use
use_of(const char *size)
{
    struct qs_use use = {.is_motion = false};

    ck_assert_int_eq(qs_size_parse(size, &use.size, NULL), QS_OK);
    return use;
}

/* One size through one filter, at f/2.8 and 1/125 s. */
static struct qs_plan
plan_one(const struct qs_sheet *sheet, const struct qs_use *use, enum qs_filter filter,
         struct qs_criterion criterion, double light_lx)
{
    static enum qs_filter filters[1];
    static struct qs_plan_request request;
    struct qs_error err = {QS_OK, ""};
    struct qs_plan plan;

    filters[0] = filter;
    request = (struct qs_plan_request){
        .uses = use,
        .use_count = 1,
        .filters = filters,
        .filter_count = 1,
        .criterion = criterion,
        .set_up = {.f_number = 2.8, .exposure_s = 1.0 / 125.0, .light_lx = light_lx}};
    ck_assert_msg(qs_plan_make(sheet, &request, &plan, &err) == QS_OK, "%s", err.text);
    ck_assert_int_eq(plan.row_count, 1);
    return plan;
}

static struct qs_criterion
snr_at(double snr, double tone_stops)
{
    struct qs_criterion criterion = qs_criterion_default();

    criterion.snr = snr;
    criterion.tone_stops = tone_stops;
    return criterion;
}

/*
 * Facts of the trade, common practice, no source: 40 MP to 20 MP of independent noise
 * is worth one stop when photon-limited, and half a stop when read-limited; 150 to 50
 * MP about 1.6.  Area averaging by whole numbers takes just the reduction off; a ratio
 * of sqrt 2 takes a little more by interpolation, so a factor of 2 (2 stops) is looked
 * at.
 */
START_TEST(test_saves_stops)
{
    struct qs_sheet light = plan_sheet_full(photons),
                    dark = plan_sheet_full(read_noise);
    struct qs_use half = use_of("50%");
    struct qs_plan plan =
        plan_one(&light, &half, QS_FILTER_AREA, snr_at(20.0, -2.0), 0);

    ck_assert(plan.rows[0].has_saves);
    ck_assert_double_eq_tol(plan.rows[0].saves_stops, 2.0, 1e-6);
    qs_plan_clear(&plan);
    plan = plan_one(&dark, &half, QS_FILTER_AREA, snr_at(20.0, -2.0), 0);
    ck_assert(plan.rows[0].has_saves);
    ck_assert_double_eq_tol(plan.rows[0].saves_stops, 1.0, 1e-6);
    qs_plan_clear(&plan);
    qs_sheet_clear(&light);
    qs_sheet_clear(&dark);
}
END_TEST

/* The highest ISO where SNR at the tone falls through the goal, solved by bisection of
   the written-down noise; the sheet knows it at doubled ISO values alone. */
static double
true_iso(plan_sheet_model *model, double tone, double snr, double ratio)
{
    double low = 100.0, high = 12800.0;

    for (int i = 0; i < 100; i++) {
        double middle = sqrt(low * high), v[QS_MODEL_PARTS] = {0.0, 0.0, 0.0};

        model(middle, v);
        if (tone / (ratio * sqrt(v[0] + v[1] * tone + v[2] * tone * tone)) >= snr)
            low = middle;
        else
            high = middle;
    }
    return low;
}

START_TEST(test_highest_iso)
{
    static const struct {
        double snr, tone_stops;
    } goals[] = {{10, -2}, {20, -2}, {20, 0}, {40, 0}, {10, -4}, {60, 1}};
    struct qs_sheet sheet = plan_sheet_full(mixture);
    struct qs_use quarter = use_of("25%");

    for (size_t i = 0; i < sizeof goals / sizeof goals[0]; i++) {
        struct qs_plan plan = plan_one(&sheet, &quarter, QS_FILTER_AREA,
                                       snr_at(goals[i].snr, goals[i].tone_stops), 0);
        const struct qs_plan_row *row = &plan.rows[0];
        double truth =
            true_iso(mixture, 0.18 * exp2(goals[i].tone_stops), goals[i].snr, 0.25);

        ck_assert(row->has_max_iso);
        if (truth < 12799.0) {
            ck_assert(!row->beyond_test);
            /* interpolation between doubled ISO values alone: no noise in this sheet */
            ck_assert_double_lt(fabs(log2(row->max_iso / truth)), 0.01);
        } else {
            ck_assert(row->beyond_test);
            ck_assert_double_eq(row->max_iso, 12800.0);
        }
        qs_plan_clear(&plan);
    }
    qs_sheet_clear(&sheet);
}
END_TEST

/* E = 250 N^2 / (t S); EV at ISO 100 and luminance as in the handbook's table (EV 5: 80
   lux, 4 cd/m2). */
START_TEST(test_light)
{
    struct qs_sheet sheet = plan_sheet_full(mixture);
    struct qs_use native = use_of("100%");
    struct qs_plan plan =
        plan_one(&sheet, &native, QS_FILTER_LANCZOS3, snr_at(20.0, 0.0), 40.0);
    const struct qs_plan_row *row = &plan.rows[0];
    double expected = 250.0 * 2.8 * 2.8 * 125.0 / row->max_iso;

    ck_assert(row->has_light && row->has_short && row->has_needed);
    ck_assert_double_eq_tol(row->light_lx, expected, 1e-9 * expected);
    ck_assert_double_eq_tol(row->ev100, 5.0 + log2(expected / 80.0), 1e-9);
    ck_assert_double_eq_tol(row->luminance_cd_m2, 4.0 * expected / 80.0, 1e-9);
    ck_assert_double_eq_tol(row->short_stops, log2(expected / 40.0), 1e-9);
    ck_assert_double_eq_tol(row->needed_iso, 250.0 * 2.8 * 2.8 * 125.0 / 40.0, 1e-6);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

/* A camera one stop brighter than the formula needs half the light. */
START_TEST(test_calibration)
{
    struct qs_sheet sheet = plan_sheet_full(mixture);
    struct qs_use native = use_of("100%");
    struct qs_plan plan =
        plan_one(&sheet, &native, QS_FILTER_LANCZOS3, snr_at(20.0, 0.0), 0);
    double plain = plan.rows[0].light_lx;

    qs_plan_clear(&plan);
    sheet.calibration = (struct qs_sheet_calibration){.known = true, .stops = 1.0};
    plan = plan_one(&sheet, &native, QS_FILTER_LANCZOS3, snr_at(20.0, 0.0), 0);
    ck_assert_double_eq_tol(plan.rows[0].light_lx, 0.5 * plain, 1e-9 * plain);
    ck_assert_double_eq_tol(plan.light_factor, 0.5, 1e-12);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

/* "As quiet as ISO 400 at full size": at full size that is ISO 400; of photon noise at
   half the width, ISO 1600. */
START_TEST(test_like)
{
    struct qs_sheet sheet = plan_sheet_full(photons);
    struct qs_use native = use_of("100%"), half = use_of("50%");
    struct qs_criterion criterion = qs_criterion_default();
    struct qs_plan plan;

    criterion.kind = QS_BY_LIKE;
    criterion.like_iso = 400.0;
    plan = plan_one(&sheet, &native, QS_FILTER_AREA, criterion, 0);
    ck_assert_double_eq_tol(plan.rows[0].max_iso, 400.0, 1e-3);
    qs_plan_clear(&plan);
    plan = plan_one(&sheet, &half, QS_FILTER_AREA, criterion, 0);
    ck_assert_double_eq_tol(plan.rows[0].max_iso, 1600.0, 1e-2);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

/* Each way closes the gap by what photography's arithmetic says. */
START_TEST(test_ways)
{
    struct qs_sheet sheet = plan_sheet_full(photons);
    struct qs_use native = use_of("100%");
    struct qs_plan plan =
        plan_one(&sheet, &native, QS_FILTER_LANCZOS3, snr_at(40.0, 0.0), 50.0);
    const struct qs_plan_row *row = &plan.rows[0];
    const struct qs_way *way = row->ways.way;
    double gap = row->short_stops, width;

    ck_assert(row->ways.known);
    ck_assert_double_gt(gap, 0.1);
    ck_assert_double_eq_tol(way[QS_WAY_OPEN_UP].value, 2.8 * exp2(-0.5 * gap), 1e-9);
    ck_assert_double_eq_tol(way[QS_WAY_SLOWER].value, exp2(gap) / 125.0, 1e-9);
    ck_assert_double_eq_tol(way[QS_WAY_MORE_LIGHT].value, row->light_lx, 1e-6);
    ck_assert_double_eq_tol(way[QS_WAY_MORE_LIGHT].other, exp2(-0.5 * gap), 1e-9);
    ck_assert_double_eq_tol(way[QS_WAY_RAISE_ISO].value, row->needed_iso, 1e-6);
    ck_assert_double_eq_tol(way[QS_WAY_RAISE_ISO].other, 40.0 * exp2(-0.5 * gap), 0.02);
    ck_assert(!way[QS_WAY_RAISE_ISO].is_enough);
    /* photon noise: SNR has to grow by 2^(gap / 2); lanczos3 takes 1 / (0.893678 s) of
       it away, its constant in the table of kernels (computed) */
    width = 8000.0 / (0.893678 * exp2(0.5 * gap));
    ck_assert(way[QS_WAY_SMALLER].known);
    ck_assert_double_eq_tol(way[QS_WAY_SMALLER].value / width, 1.0, 0.01);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

/* What is not met at the lowest ISO tested is not met; a use larger than the frame is
   left out. */
START_TEST(test_none)
{
    struct qs_sheet sheet = plan_sheet_full(mixture);
    struct qs_use native = use_of("100%"), large = use_of("9000px");
    enum qs_filter filter = QS_FILTER_AREA;
    struct qs_plan_request request = {.uses = &large,
                                      .use_count = 1,
                                      .filters = &filter,
                                      .filter_count = 1,
                                      .criterion = snr_at(10.0, 0.0)};
    struct qs_plan plan =
        plan_one(&sheet, &native, QS_FILTER_AREA, snr_at(5000.0, 0.0), 50.0);

    ck_assert(!plan.rows[0].has_max_iso && !plan.any_met);
    ck_assert(!plan.rows[0].has_light && !plan.rows[0].has_short);
    qs_plan_clear(&plan);
    ck_assert_int_eq(qs_plan_make(&sheet, &request, &plan, NULL), QS_OK);
    ck_assert_int_eq(plan.row_count, 0);
    ck_assert_int_eq(plan.skipped, 1);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

START_TEST(test_refusals)
{
    struct qs_sheet sheet = plan_sheet_full(mixture), empty = {.channels = 1};
    struct qs_use native = use_of("100%");
    enum qs_filter filter = QS_FILTER_AREA;
    struct qs_plan_request request = {.uses = &native,
                                      .use_count = 1,
                                      .filters = &filter,
                                      .filter_count = 1,
                                      .criterion = snr_at(10.0, 0.0)};
    struct qs_plan plan;

    ck_assert_int_eq(qs_plan_make(&empty, &request, &plan, NULL), QS_ERR_TOO_FEW);
    request.criterion.kind = QS_BY_LIKE;
    request.criterion.like_iso = 50.0;
    ck_assert_int_eq(qs_plan_make(&sheet, &request, &plan, NULL), QS_ERR_USAGE);
    request.criterion = snr_at(10.0, 0.0);
    request.criterion.channel = QS_R;
    ck_assert_int_eq(qs_plan_make(&sheet, &request, &plan, NULL), QS_ERR_USAGE);
    qs_sheet_clear(&sheet);
}
END_TEST

/* A sheet printed to its edges takes its shape out of the frame first: A4 with 3 mm of
   bleed at 300 ppi is 3579 x 2551 pixels (arithmetic of ISO 216). */
START_TEST(test_bleed)
{
    struct qs_sheet sheet = plan_sheet_full(mixture);
    struct qs_use print = use_of("a4+3mm@300");
    struct qs_plan plan =
        plan_one(&sheet, &print, QS_FILTER_AREA, snr_at(10.0, 0.0), 0);

    ck_assert_int_eq(plan.rows[0].width, 3579);
    ck_assert_int_eq(plan.rows[0].height, 2551);
    ck_assert_double_eq_tol(plan.rows[0].reduction, 5000.0 / 2551.0, 1e-3);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

/*
 * One tone alone, an 18 % grey: noise 3 stops below may be as much as there (all read
 * noise), so the low end lies where SNR = m / sqrt(gain 0.18) falls through the goal
 * (P1; arithmetic).
 */
START_TEST(test_one_tone)
{
    struct qs_sheet sheet = plan_sheet_full(photons);
    struct qs_use native = use_of("100%");
    struct qs_plan plan;
    double m = 0.18 / 8.0, low = m * m / (5.0 * 5.0 * 0.18) * 100.0 * 50000.0;

    for (int i = 0; i < sheet.iso_count; i++) {
        struct qs_model *model = &sheet.isos[i].signals[QS_Y].model;

        model->fitted[QS_MODEL_READ2] = model->fitted[QS_MODEL_PATTERN2] = false;
        model->mean_low = model->mean_high = 0.18;
        sheet.isos[i].tone_low = sheet.isos[i].tone_high = 0.18;
    }
    plan = plan_one(&sheet, &native, QS_FILTER_AREA, snr_at(5.0, -3.0), 0);
    ck_assert(!plan.tone_tested);
    ck_assert(plan.rows[0].has_max_low);
    ck_assert_double_eq_tol(plan.rows[0].max_low / low, 1.0, 1e-3);
    ck_assert(plan.rows[0].high_beyond_test);
    qs_plan_clear(&plan);
    plan = plan_one(&sheet, &native, QS_FILTER_AREA, snr_at(20.0, 0.0), 0);
    ck_assert_double_eq_tol(plan.rows[0].max_low, plan.rows[0].max_high, 1.0);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

/* A second gain stage from ISO 800 on. */
static void
two_stages(double iso, double value[QS_MODEL_PARTS])
{
    double gain = iso / 100.0 / 50000.0, electrons = iso < 799.9 ? 5.0 : 1.5;

    value[QS_MODEL_READ2] = gain * gain * electrons * electrons;
    value[QS_MODEL_GAIN] = gain;
}

START_TEST(test_hidden_stage)
{
    struct qs_sheet sheet = plan_sheet_full(two_stages);
    struct qs_use native = use_of("100%");
    struct qs_plan plan =
        plan_one(&sheet, &native, QS_FILTER_AREA, snr_at(20.0, -2.0), 0);
    double truth = true_iso(two_stages, 0.18 / 4.0, 20.0, 1.0);

    ck_assert_double_gt(truth, 400.0);
    ck_assert_double_lt(truth, 800.0);
    ck_assert(plan.rows[0].has_max_low);
    ck_assert_double_le(plan.rows[0].max_low, 1.002 * truth);
    ck_assert_double_gt(plan.rows[0].max_low, 0.9 * truth);
    ck_assert_double_ge(plan.rows[0].max_high, truth);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

/* ISO values that were tested and have no figure: nothing is told across them. */
START_TEST(test_holes)
{
    struct qs_sheet sheet = plan_sheet_full(photons);
    struct qs_use native = use_of("100%");
    struct qs_plan plan;

    for (int i = 3; i < 6; i++) /* 800, 1600, 3200 */
        sheet.isos[i].signals[QS_Y].fitted = false;
    plan = plan_one(&sheet, &native, QS_FILTER_AREA, snr_at(15.0, -2.0), 0);
    ck_assert(plan.rows[0].has_max_iso && !plan.rows[0].beyond_test);
    ck_assert_double_eq_tol(plan.rows[0].max_iso, 400.0, 1e-6);
    qs_plan_clear(&plan);
    sheet.isos[7].signals[QS_Y].fitted = false; /* 12800 */
    plan = plan_one(&sheet, &native, QS_FILTER_AREA, snr_at(1.0, 0.0), 0);
    ck_assert(plan.rows[0].has_max_iso && !plan.rows[0].beyond_test);
    ck_assert_double_eq_tol(plan.rows[0].max_iso, 6400.0, 1e-6);
    qs_plan_clear(&plan);
    qs_sheet_clear(&sheet);
}
END_TEST

QS_TEST_MAIN("decide", test_saves_stops, test_highest_iso, test_light, test_calibration,
             test_like, test_ways, test_none, test_refusals, test_bleed, test_one_tone,
             test_hidden_stage, test_holes)
