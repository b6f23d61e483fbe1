/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_exposure.c - exposure, exposure values, least light, calibration
 *
 * Figures marked "computed" were worked out outside this program (numpy 1.24), from
 * the published formula named beside them.
 */
#include "plan/exposure.h"

#include <math.h>
#include <string.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

/* The sensor of the worked example: variance 2e-3 m + 1e-4, no pattern. */
static const double GAIN = 2e-3, READ2 = 1e-4;

static struct qs_exposure
setting(double f_number, double exposure_s, double iso, double light_lx)
{
    struct qs_exposure exposure = {f_number, exposure_s, iso, light_lx};

    return exposure;
}

/*
 * Exposure values at ISO 100 with the luminance (K = 12.5) and the light (C = 250) they
 * stand for, from the encyclopaedia's table of exposure values (ISO 2720's
 * constants); at EV -4 the table has 0.008 for 1/128, so half its last digit.
 */
START_TEST(exposure_values)
{
    static const double table[][4] = {
        {-4, 0.008, 0.156, 5e-4},
        {0, 0.125, 2.5, 0},
        {3, 1, 20, 0},
        {5, 4, 80, 0},
        {7, 16, 320, 0},
        {8, 32, 640, 0},
        {10, 128, 2560, 0},
        {12, 512, 10240, 0},
        {14, 2048, 40960, 0},
        {15, 4096, 81920, 0},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        double ev = table[i][0], luminance = qs_luminance_of_ev100(ev);
        double lux = qs_lux_of_ev100(ev, QS_METER_C);

        ck_assert_double_eq_tol(luminance, table[i][1], table[i][3] + 1e-9);
        ck_assert_double_eq_tol(lux, table[i][2], table[i][3] + 1e-9);
        ck_assert_double_eq_tol(qs_ev100_of_luminance(luminance), ev, 1e-12);
        ck_assert_double_eq_tol(qs_ev100_of_lux(lux, QS_METER_C), ev, 1e-12);
    }
}
END_TEST

/* E = 3.4 x 2^EV with C = 340 (computed); C lies between 240 and 400 (ISO 2720, from
   memory). */
START_TEST(another_meter_constant)
{
    ck_assert_double_eq_tol(qs_lux_of_ev100(7.0, 340.0), 3.4 * 128.0, 1e-9);
}
END_TEST

/* EV 0 is f/1 and 1 s (ISO 2720); sunny 15 is f/16 and 1/128 s: "sunny 16",
   common practice, no source. */
START_TEST(setting_values)
{
    ck_assert_double_eq_tol(qs_ev_of_setting(1.0, 1.0), 0.0, 1e-12);
    ck_assert_double_eq_tol(qs_ev_of_setting(16.0, 1.0 / 128.0), 15.0, 1e-12);
    ck_assert_double_eq_tol(qs_ev_of_setting(1.4, 1.0 / 50.0), 6.615, 5e-4);
}
END_TEST

/* 500 lx on an 18 % card: 28.648 cd/m^2, EV 7.840 by K and 7.644 by C (computed from
   L = R E / pi; digits as printed). */
START_TEST(grey_card)
{
    double luminance = qs_luminance_of_lux(500.0, QS_GREY_REFLECTANCE);

    ck_assert_double_eq_tol(luminance, 28.648, 5e-4);
    ck_assert_double_eq_tol(qs_ev100_of_luminance(luminance), 7.840, 5e-4);
    ck_assert_double_eq_tol(qs_ev100_of_lux(500.0, QS_METER_C), 7.644, 5e-4);
    ck_assert_double_eq_tol(qs_lux_of_luminance(luminance, 0.18), 500.0, 1e-9);
}
END_TEST

/*
 * Light for a mid-tone exposure, lux, as a table of the trade prints it
 * (250 N^2 / (ISO t), computed): half of the last digit printed.
 */
static const struct light_row {
    double f_number, over_s;
    double lux[5], half_digit[5];
} light_table[] = {
    {1.4, 50, {15, 7.7, 3.8, 1.9, 1.0}, {0.5, 0.05, 0.05, 0.05, 0.05}},
    {2.8, 50, {61, 31, 15, 7.7, 3.8}, {0.5, 0.5, 0.5, 0.05, 0.05}},
    {2.8, 125, {153, 77, 38, 19, 10}, {0.5, 0.5, 0.5, 0.5, 0.5}},
    {4.0, 125, {313, 156, 78, 39, 20}, {0.5, 0.5, 0.5, 0.5, 0.5}},
    {5.6, 125, {613, 306, 153, 77, 38}, {0.5, 0.5, 0.5, 0.5, 0.5}},
};

START_TEST(light_for_each_iso)
{
    for (size_t i = 0; i < COUNT(light_table); i++)
        for (int k = 0; k < 5; k++) {
            const struct light_row *row = &light_table[i];
            struct qs_exposure e =
                setting(row->f_number, 1.0 / row->over_s, 1600.0 * exp2(k), 0.0);

            ck_assert(qs_exposure_solve(&e, QS_METER_C, NULL) == QS_OK);
            ck_assert_double_eq_tol(e.light_lx, row->lux[k], row->half_digit[k] + 1e-9);
        }
}
END_TEST

static void
set(struct qs_exposure *exposure, int part, double value)
{
    double *const places[] = {&exposure->f_number, &exposure->exposure_s,
                              &exposure->iso, &exposure->light_lx};

    *places[part] = value;
}

/* E = C N^2 / (t S) turned round by hand for each part in turn. */
START_TEST(any_three_give_the_fourth)
{
    double n = 3.17, t = 1.0 / 47.0, s = 5120.0;
    struct qs_exposure whole = setting(n, t, s, 317.0 * n * n / (t * s));

    for (int part = 0; part < QS_EXPOSURE_PARTS; part++) {
        struct qs_exposure e = whole;
        double expected = qs_exposure_part_of(&whole, (enum qs_exposure_part)part);

        set(&e, part, 0.0);
        ck_assert(qs_exposure_solve(&e, 317.0, NULL) == QS_OK);
        ck_assert_double_eq_tol(qs_exposure_part_of(&e, (enum qs_exposure_part)part),
                                expected, 1e-12 * expected);
        ck_assert_double_eq_tol(qs_exposure_error_stops(&e, 317.0), 0.0, 1e-12);
    }
}
END_TEST

/* Stops: ISO, light and time doubled or the f-number over sqrt2 are one each; 24 to
   60 frames at 180 degrees cost 1.3, 25 to 50 one (common practice, no source). */
START_TEST(stops_add_up)
{
    struct qs_exposure e = setting(2.8, 1.0 / 50.0, 1600.0, 61.25);
    double before;

    ck_assert_double_eq_tol(qs_exposure_error_stops(&e, QS_METER_C), 0.0, 1e-12);
    e.iso *= 2.0;
    ck_assert_double_eq_tol(qs_exposure_error_stops(&e, QS_METER_C), 1.0, 1e-12);
    e.light_lx /= 8.0;
    ck_assert_double_eq_tol(qs_exposure_error_stops(&e, QS_METER_C), -2.0, 1e-12);
    before = e.f_number;
    e.f_number /= sqrt(2.0);
    ck_assert_double_eq_tol(qs_exposure_error_stops(&e, QS_METER_C), -1.0, 1e-12);
    ck_assert_double_eq_tol(qs_stops_of_apertures(before, e.f_number), 1.0, 1e-12);
    ck_assert_double_eq_tol(qs_stops_of_ratio(24.0 / 60.0), -1.3, 0.05);
    ck_assert_double_eq_tol(qs_stops_of_ratio(25.0 / 50.0), -1.0, 1e-12);
    ck_assert_double_eq_tol(qs_ratio_of_stops(qs_stops_of_ratio(3.17)), 3.17, 1e-12);
}
END_TEST

START_TEST(two_unknown_are_named)
{
    struct qs_exposure e = setting(2.8, 0.0, 0.0, 80.0), before = e;
    struct qs_error err = {0};

    ck_assert(qs_exposure_solve(&e, QS_METER_C, &err) == QS_ERR_USAGE);
    ck_assert_ptr_nonnull(strstr(err.text, "missing here is shutter, ISO:"));
    ck_assert_mem_eq(&e, &before, sizeof e);

    e = setting(0.0, 0.0, 0.0, 0.0);
    qs_error_clear(&err);
    ck_assert(qs_exposure_solve(&e, QS_METER_C, &err) == QS_ERR_USAGE);
    ck_assert_ptr_nonnull(strstr(err.text, "aperture, shutter, ISO, light:"));
}
END_TEST

START_TEST(numbers_that_are_none)
{
    static const double bad[] = {-1.0, (double)INFINITY, -(double)INFINITY,
                                 (double)NAN};

    for (int part = 0; part < QS_EXPOSURE_PARTS; part++)
        for (size_t i = 0; i < COUNT(bad); i++) {
            struct qs_exposure e = setting(2.8, 0.02, 1600.0, 61.25);
            struct qs_error err = {0};

            set(&e, part, bad[i]);
            ck_assert(qs_exposure_solve(&e, QS_METER_C, &err) == QS_ERR_RANGE);
            ck_assert_ptr_nonnull(
                strstr(err.text, qs_exposure_part_name((enum qs_exposure_part)part)));
        }
}
END_TEST

START_TEST(a_fourth_beyond_all_numbers)
{
    struct qs_exposure e = setting(1e150, 1e-150, 1e-10, 0.0), before = e;
    struct qs_error err = {0};

    ck_assert(qs_exposure_solve(&e, QS_METER_C, &err) == QS_ERR_RANGE);
    ck_assert_mem_eq(&e, &before, sizeof e);
}
END_TEST

START_TEST(none_unknown_changes_nothing)
{
    struct qs_exposure e = setting(2.8, 0.02, 1600.0, 500.0), before = e;

    ck_assert(qs_exposure_solve(&e, QS_METER_C, NULL) == QS_OK);
    ck_assert_mem_eq(&e, &before, sizeof e);
}
END_TEST

/* 25 frames at 180 degrees are 1/50 s, 24 at 172.8 as well; 24 at 180 are 1/48
   (common practice, no source). */
START_TEST(shutters_of_motion)
{
    ck_assert_double_eq_tol(qs_shutter_of_motion(25.0, 180.0), 1.0 / 50.0, 1e-15);
    ck_assert_double_eq_tol(qs_shutter_of_motion(24.0, 172.8), 1.0 / 50.0, 1e-15);
    ck_assert_double_eq_tol(qs_shutter_of_motion(24.0, 180.0), 1.0 / 48.0, 1e-15);
    ck_assert_double_eq_tol(qs_shutter_of_motion(60.0, 360.0), 1.0 / 60.0, 1e-15);
    ck_assert_double_eq_tol(qs_angle_of_shutter(24.0, 1.0 / 50.0), 172.8, 1e-12);
    ck_assert_double_gt(qs_angle_of_shutter(50.0, 1.0 / 25.0), 360.0);
}
END_TEST

/* e = (q^2 + q sqrt(q^2 + 4 s^2)) / 2, s = 3: a public text on ISO 12232's noise speeds
   gives the formula, whose 1646 for q = 40 is wrong; the values are computed. */
START_TEST(electrons_for_a_ratio)
{
    static const double table[][2] = {{1, 3.541},    {3, 14.562},   {5, 32.026},
                                      {10, 108.310}, {20, 408.806}, {40, 1608.95}};

    for (size_t i = 0; i < COUNT(table); i++)
        ck_assert_double_eq_tol(qs_electrons_for_snr(table[i][0], 3.0), table[i][1],
                                table[i][0] == 40.0 ? 5e-3 : 5e-4);
    ck_assert_double_eq_tol(qs_electrons_for_snr(10.0, 0.0), 100.0, 1e-12);
}
END_TEST

/*
 * EMVA 1288 Release 4.0, equations 26 and 27 (read at second hand): least electrons,
 * where the signal to noise is 1, sqrt(s^2 + 1/4) + 1/2, s^2 with the rounding of
 * codes in it.  Worked sensor of a public text: dark variance 0.593129 DN^2, 0.21 DN
 * per electron, 4.201303 electrons (computed, to half a digit of the input).
 */
START_TEST(absolute_threshold)
{
    double read_e = sqrt(0.593129) / 0.21;

    ck_assert_double_eq_tol(qs_electrons_for_snr(1.0, read_e), 4.201303, 5e-6);
}
END_TEST

/*
 * Signal to noise at 18 % grey of a sensor with 36 um^2 pixels, 11260 photons per
 * lx s um^2, a quantum efficiency of 0.20, 3 electrons read noise, 0.5 % pattern
 * (a public image codec's film-grain tool), exposed with 10/ISO lx s (ISO 12232):
 * computed, digits as printed.
 */
START_TEST(sensor_of_a_24_mp_frame)
{
    static const double table[][4] = {
        {100, 8107.2, 82.07, 0.005},
        {1600, 506.7, 22.18, 0.005},
        {6400, 126.7, 10.86, 0.005},
        {25600, 31.67, 4.96, 0.005},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        double electrons = 11260.0 * 0.20 * 36.0 * 10.0 / table[i][0], snr = 0.0;

        ck_assert_double_eq_tol(electrons, table[i][1], i == 3 ? 0.005 : 0.05);
        ck_assert(qs_snr_of_tone(9.0, 1.0, 0.005 * 0.005, 1.0, electrons, &snr));
        ck_assert_double_eq_tol(snr, table[i][2], table[i][3]);
    }
}
END_TEST

/*
 * The whole way from a criterion to the light: variance 2e-3 m + 1e-4, signal to noise
 * 10, ISO 3200, f/2.8, 1/60 s, 18 % grey, through ISO 12232's saturation speed; own
 * derivation, computed with numpy, digits as printed.
 */
START_TEST(least_light_worked_example)
{
    static const double table[][5] = {
        {1.0, 0.241421, 4.2587, 74.33, 5.090},
        {0.446917, 0.068925, 1.21584, 21.22, 3.282},
        {0.2234, 0.0, 0.0, 8.584, 1.976},
    };
    static const double digit[][4] = {{5e-7, 5e-5, 5e-3, 5e-4},
                                      {5e-7, 5e-6, 5e-3, 5e-4}};
    struct qs_exposure e = setting(2.8, 1.0 / 60.0, 3200.0, 0.0);

    for (size_t i = 0; i < COUNT(table); i++) {
        double tone = 0.0, luminance, lux;

        ck_assert(qs_least_tone(READ2, GAIN, 0.0, table[i][0], 10.0, &tone));
        luminance = qs_luminance_of_tone_saturation(&e, tone);
        lux = qs_lux_of_luminance(luminance, 0.18);
        ck_assert_double_eq_tol(qs_ev100_of_luminance(luminance), table[i][4], 5e-4);
        ck_assert_double_eq_tol(lux, table[i][3], i < 2 ? digit[i][2] : 5e-4);
        if (table[i][1] > 0.0) {
            ck_assert_double_eq_tol(tone, table[i][1], digit[i][0]);
            ck_assert_double_eq_tol(luminance, table[i][2], digit[i][1]);
        }
    }
}
END_TEST

/* L 8, f/2.8, 1/60, ISO 3200 is 45.35 % of saturation; L 1, f/1.4, 1/30, ISO 6400 is
   90.70 % (H = 0.65 L t / N^2 against 78 / S, ISO 12232; computed). */
START_TEST(share_of_saturation)
{
    struct qs_exposure e = setting(2.8, 1.0 / 60.0, 3200.0, 0.0);

    ck_assert_double_eq_tol(qs_luminance_of_tone_saturation(&e, 0.4535), 8.0, 1e-3);
    e = setting(1.4, 1.0 / 30.0, 6400.0, 0.0);
    ck_assert_double_eq_tol(qs_luminance_of_tone_saturation(&e, 0.9070), 1.0, 1e-4);
}
END_TEST

/* What the criterion promises is there: the tone found has that signal to noise, for
   any sensor, pattern included. */
START_TEST(least_tone_meets_its_criterion)
{
    static const double sensors[][3] = {
        {1e-4, 2e-3, 0.0}, {0.0, 3.17e-4, 0.0}, {2.7e-6, 0.0, 0.0}, {1e-5, 1e-3, 1e-5}};

    for (size_t i = 0; i < COUNT(sensors); i++)
        for (double ratio = 0.1; ratio <= 1.0; ratio += 0.1)
            for (double snr = 1.3; snr < 100.0; snr *= 1.7) {
                const double *s = sensors[i];
                double tone = 0.0, got = 0.0;

                ck_assert(qs_least_tone(s[0], s[1], s[2], ratio, snr, &tone));
                ck_assert(qs_snr_of_tone(s[0], s[1], s[2], ratio, tone, &got));
                ck_assert_double_eq_tol(got, snr, 1e-9 * snr);
            }
}
END_TEST

/* A pattern of 1 % bounds the signal to noise at 100, however bright: algebra. */
START_TEST(a_criterion_no_light_meets)
{
    double tone = 3.17;

    ck_assert(!qs_least_tone(READ2, GAIN, 1e-4, 1.0, 100.0, &tone));
    ck_assert(!qs_least_tone(READ2, GAIN, 1e-4, 1.0, 140.0, &tone));
    ck_assert(tone == 3.17);
    ck_assert(qs_least_tone(READ2, GAIN, 1e-4, 0.5, 140.0, &tone));
    ck_assert(!qs_snr_of_tone(0.0, 0.0, 0.0, 1.0, 0.18, &tone));
}
END_TEST

/*
 * What a fall is worth.  1.808 stops in the worked example, between read-limited 1.162
 * and photon-limited 2.324 (computed).  40 to 20 million pixels of independent noise
 * are one stop where photons rule, 150 to 50 about 1.6 (common practice, no source).
 */
START_TEST(worth_of_a_smaller_delivery)
{
    double stops = 0.0;

    ck_assert(qs_size_worth_stops(READ2, GAIN, 0.0, 0.446917, 10.0, &stops));
    ck_assert_double_eq_tol(stops, 1.808, 5e-4);
    ck_assert(qs_size_worth_stops(READ2, 0.0, 0.0, 0.446917, 10.0, &stops));
    ck_assert_double_eq_tol(stops, 1.162, 5e-4);
    ck_assert(qs_size_worth_stops(0.0, GAIN, 0.0, 0.446917, 10.0, &stops));
    ck_assert_double_eq_tol(stops, 2.324, 5e-4);
    ck_assert(qs_size_worth_stops(0.0, GAIN, 0.0, sqrt(20.0 / 40.0), 10.0, &stops));
    ck_assert_double_eq_tol(stops, 1.0, 1e-12);
    ck_assert(qs_size_worth_stops(0.0, GAIN, 0.0, sqrt(50.0 / 150.0), 10.0, &stops));
    ck_assert_double_eq_tol(stops, 1.6, 0.05);
    ck_assert(!qs_size_worth_stops(READ2, GAIN, 1e-4, 0.5, 140.0, &stops));
    ck_assert(!qs_size_worth_stops(0.0, 0.0, 0.0, 0.5, 140.0, &stops));
}
END_TEST

/* By the rule, a grey at the tone of its reflectance takes just the metered light; the
   way by saturation asks 78 pi / (0.65 x 250) times that. */
START_TEST(light_by_rule_and_by_saturation)
{
    struct qs_exposure e = setting(2.8, 1.0 / 50.0, 1600.0, 0.0), solved = e;
    double rule = qs_light_of_tone(&e, QS_METER_C, 0.18, 0.18);
    double saturation =
        qs_lux_of_luminance(qs_luminance_of_tone_saturation(&e, 0.18), 0.18);

    ck_assert(qs_exposure_solve(&solved, QS_METER_C, NULL) == QS_OK);
    ck_assert_double_eq_tol(rule, solved.light_lx, 1e-9);
    ck_assert_double_eq_tol(qs_light_of_tone(&e, QS_METER_C, 0.18, 0.045), rule / 4.0,
                            1e-9);
    ck_assert_double_eq_tol(log2(saturation / rule), 0.59, 5e-3);
}
END_TEST

/*
 * A blog's own check of one cine camera: 42 foot-candles where the rule said 24, 0.8
 * stop.  As a frame: lit by what the rule says, its grey comes out 24/42 as bright as
 * promised.  The light then needed is the 42.
 */
START_TEST(calibration)
{
    struct qs_exposure e = setting(2.8, 1.0 / 50.0, 800.0, 0.0);
    double stops = 0.0, c, rule_lx;

    ck_assert(qs_exposure_solve(&e, QS_METER_C, NULL) == QS_OK);
    rule_lx = e.light_lx;
    ck_assert(qs_calibrate(&e, QS_METER_C, 0.18, 0.18 * 24.0 / 42.0, &stops, NULL) ==
              QS_OK);
    ck_assert_double_eq_tol(stops, -0.8, 0.05);
    c = qs_calibrated_meter_c(QS_METER_C, stops);
    e.light_lx = 0.0;
    ck_assert(qs_exposure_solve(&e, c, NULL) == QS_OK);
    ck_assert_double_eq_tol(e.light_lx / rule_lx, 42.0 / 24.0, 1e-12);
}
END_TEST

/* Over- or underexposure of the frame itself is taken off, and what was calibrated
   predicts the frame it came from. */
START_TEST(calibration_does_not_see_the_exposure)
{
    static const double true_stops = 0.317;

    for (double over = -3.0; over <= 1.5; over += 0.5)
        for (double reflectance = 0.09; reflectance < 0.2; reflectance *= 2.0) {
            struct qs_exposure e = setting(4.0, 1.0 / 30.0, 1600.0, 0.0);
            double mean = reflectance * exp2(over + true_stops), stops = 0.0;

            ck_assert(qs_exposure_solve(&e, QS_METER_C, NULL) == QS_OK);
            e.light_lx *= exp2(over);
            ck_assert(qs_calibrate(&e, QS_METER_C, reflectance, mean, &stops, NULL) ==
                      QS_OK);
            ck_assert_double_eq_tol(stops, true_stops, 1e-12);
            ck_assert_double_eq_tol(
                qs_light_of_tone(&e, qs_calibrated_meter_c(QS_METER_C, stops),
                                 reflectance, mean),
                e.light_lx, 1e-9 * e.light_lx);
        }
}
END_TEST

START_TEST(calibrations_that_tell_nothing)
{
    struct qs_exposure e = setting(2.8, 1.0 / 50.0, 800.0, 122.5);
    struct qs_error err = {0};
    double stops = 3.17;

    ck_assert(qs_calibrate(&e, QS_METER_C, 0.18, 1.0, &stops, &err) == QS_ERR_RANGE);
    ck_assert_ptr_nonnull(strstr(err.text, "clipped"));
    ck_assert(qs_calibrate(&e, QS_METER_C, 0.18, 0.0, &stops, NULL) == QS_ERR_RANGE);
    ck_assert(qs_calibrate(&e, QS_METER_C, 0.18, (double)NAN, &stops, NULL) ==
              QS_ERR_RANGE);
    ck_assert(qs_calibrate(&e, QS_METER_C, 0.0, 0.18, &stops, NULL) == QS_ERR_RANGE);
    ck_assert(qs_calibrate(&e, QS_METER_C, 18.0, 0.18, &stops, NULL) == QS_ERR_RANGE);
    e.light_lx = 0.0;
    qs_error_clear(&err);
    ck_assert(qs_calibrate(&e, QS_METER_C, 0.18, 0.18, &stops, &err) == QS_ERR_USAGE);
    ck_assert_ptr_nonnull(strstr(err.text, "missing here is light"));
    e.light_lx = -1.0;
    ck_assert(qs_calibrate(&e, QS_METER_C, 0.18, 0.18, &stops, NULL) == QS_ERR_RANGE);
    ck_assert(stops == 3.17);
}
END_TEST

QS_TEST_MAIN("exposure", exposure_values, another_meter_constant, setting_values,
             grey_card, light_for_each_iso, any_three_give_the_fourth, stops_add_up,
             two_unknown_are_named, numbers_that_are_none, a_fourth_beyond_all_numbers,
             none_unknown_changes_nothing, shutters_of_motion, electrons_for_a_ratio,
             absolute_threshold, sensor_of_a_24_mp_frame, least_light_worked_example,
             share_of_saturation, least_tone_meets_its_criterion,
             a_criterion_no_light_meets, worth_of_a_smaller_delivery,
             light_by_rule_and_by_saturation, calibration,
             calibration_does_not_see_the_exposure, calibrations_that_tell_nothing)
