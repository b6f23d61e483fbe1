/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_flicker.c - safe shutters under mains, and the swing of pulsed light
 *
 * That light on alternating current pulses twice a cycle is textbook physics.  The safe
 * times and angles are the trade's (common practice, no source), and follow from it.
 * Pulsed light is also simulated here, by adding up when the lamp is on.
 */
#include "plan/flicker.h"

#include <math.h>
#include <stdio.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

/* Whole pulses: 50 Hz 1/100, 1/50, 1/25; 60 Hz 1/120, 1/60, 1/30. */
START_TEST(the_trades_safe_times)
{
    static const struct {
        enum qs_mains mains;
        double over_s;
        bool safe;
    } table[] = {
        {QS_MAINS_50, 100, true},  {QS_MAINS_50, 50, true},
        {QS_MAINS_50, 25, true},   {QS_MAINS_50, 33.333333, true},
        {QS_MAINS_50, 60, false},  {QS_MAINS_50, 125, false},
        {QS_MAINS_50, 48, false},  {QS_MAINS_50, 30, false},
        {QS_MAINS_50, 200, false}, {QS_MAINS_50, 8000, false},
        {QS_MAINS_60, 120, true},  {QS_MAINS_60, 60, true},
        {QS_MAINS_60, 30, true},   {QS_MAINS_60, 59.94, true},
        {QS_MAINS_60, 50, false},  {QS_MAINS_60, 125, false},
        {QS_MAINS_60, 48, false},  {QS_MAINS_60, 60000.0 / 1001, true},
        {QS_MAINS_60, 64, false},
    };

    for (size_t i = 0; i < COUNT(table); i++)
        ck_assert_msg(qs_mains_safe(table[i].mains, 1.0 / table[i].over_s) ==
                          table[i].safe,
                      "1/%g at %g Hz", table[i].over_s, qs_mains_hz(table[i].mains));
}
END_TEST

/* Every row's text is its pulses: pulses / (2 x mains); each mains runs from fast to
 * slow. */
START_TEST(table_of_safe_shutters)
{
    const struct qs_safe_shutter *row, *last = NULL;
    int index = 0;

    for (; (row = qs_safe_shutter_row(index)) != NULL; last = row, index++) {
        double exposure = row->pulses / (2.0 * qs_mains_hz(row->mains)), over = 0.0;

        ck_assert_int_eq(sscanf(row->text, "1/%lf", &over), 1);
        ck_assert_double_eq_tol(exposure, 1.0 / over, 1e-12);
        ck_assert(qs_mains_safe(row->mains, 1.0 / over));
        ck_assert_double_eq_tol(qs_mains_pulses(row->mains, 1.0 / over), row->pulses,
                                1e-12);
        if (last != NULL && last->mains == row->mains)
            ck_assert_int_gt(row->pulses, last->pulses);
    }
    ck_assert_int_gt(index, 6);
    ck_assert_ptr_null(qs_safe_shutter_row(-1));
}
END_TEST

START_TEST(safe_ones_nearby)
{
    struct qs_safe_near near = qs_mains_safe_near(QS_MAINS_50, 1.0 / 60.0);

    ck_assert(near.has_faster);
    ck_assert_double_eq_tol(near.faster_s, 1.0 / 100.0, 1e-15);
    ck_assert_double_eq_tol(near.slower_s, 1.0 / 50.0, 1e-15);

    near = qs_mains_safe_near(QS_MAINS_60, 1.0 / 250.0);
    ck_assert(!near.has_faster);
    ck_assert_double_eq_tol(near.slower_s, 1.0 / 120.0, 1e-15);

    near = qs_mains_safe_near(QS_MAINS_60, 1.0 / 59.94);
    ck_assert(near.has_faster);
    ck_assert_double_eq_tol(near.faster_s, 1.0 / 60.0, 1e-15);
    ck_assert_double_eq_tol(near.slower_s, 1.0 / 60.0, 1e-15);

    for (double over = 1.0; over < 9000.0; over *= 1.0317)
        for (int m = 0; m < QS_MAINS; m++) {
            near = qs_mains_safe_near((enum qs_mains)m, 1.0 / over);
            ck_assert(qs_mains_safe((enum qs_mains)m, near.slower_s));
            ck_assert(!near.has_faster ||
                      qs_mains_safe((enum qs_mains)m, near.faster_s));
            if (!qs_mains_safe((enum qs_mains)m, 1.0 / over)) {
                ck_assert_double_gt(near.slower_s, 1.0 / over);
                ck_assert_double_lt(near.faster_s, 1.0 / over);
            }
        }
}
END_TEST

/* 25 frames under 60 Hz: 75, 150, 225, 300 degrees; 24 frames under 50 Hz: 172.8 and
   three others (common practice, no source). */
START_TEST(safe_angles)
{
    static const double at_25[] = {75.0, 150.0, 225.0, 300.0};

    ck_assert_int_eq(qs_safe_angles(QS_MAINS_60, 25.0), 4);
    for (int i = 0; i < 4; i++)
        ck_assert_double_eq_tol(qs_safe_angle_deg(QS_MAINS_60, 25.0, i + 1), at_25[i],
                                1e-12);
    ck_assert_int_eq(qs_safe_angles(QS_MAINS_50, 24.0), 4);
    ck_assert_double_eq_tol(qs_safe_angle_deg(QS_MAINS_50, 24.0, 2), 172.8, 1e-12);
    ck_assert_int_eq(qs_safe_angles(QS_MAINS_50, 25.0), 4);
    ck_assert_double_eq_tol(qs_safe_angle_deg(QS_MAINS_50, 25.0, 2), 180.0, 1e-12);
    ck_assert_int_eq(qs_safe_angles(QS_MAINS_60, 24.0), 5);
    ck_assert_int_eq(qs_safe_angles(QS_MAINS_60, 30000.0 / 1001.0), 4);
    ck_assert_int_eq(qs_safe_angles(QS_MAINS_60, 60.0), 2);
    ck_assert_int_eq(qs_safe_angles(QS_MAINS_60, 240.0), 0);
}
END_TEST

/* Light of 1 + m cos(2 pi f t) added up over 400 starts and 2000 moments each. */
static double
simulated_mains(double pulses, double depth)
{
    double most = 0.0, least = 1e9;

    for (int start = 0; start < 400; start++) {
        double sum = 0.0;

        for (int i = 0; i < 2000; i++) {
            double phase = start / 400.0 + pulses * (i + 0.5) / 2000.0;

            sum += 1.0 + depth * cos(2.0 * 3.14159265358979323846 * phase);
        }
        most = fmax(most, sum);
        least = fmin(least, sum);
    }
    return log2(most / least);
}

/* 400 starts miss the extreme by 1 - cos(pi / 400), 3e-5 of the swing; the midpoint
   rule errs by less. */
START_TEST(swing_under_mains)
{
    static const double pulses[] = {0.3, 0.8, 1.0, 1.6667, 2.0, 2.0833, 3.17};

    for (size_t i = 0; i < COUNT(pulses); i++)
        for (double depth = 0.1; depth < 1.0; depth += 0.2) {
            double stops = -1.0;

            ck_assert(
                qs_mains_swing_stops(QS_MAINS_50, pulses[i] / 100.0, depth, &stops));
            ck_assert_double_eq_tol(stops, simulated_mains(pulses[i], depth),
                                    1e-4 * stops + 1e-6);
        }
}
END_TEST

/* What the header says of QS_SAFE_PULSE_PART. */
START_TEST(safe_means_little_swing)
{
    for (int whole = 1; whole < 30; whole++)
        for (int side = -1; side <= 1; side++) {
            double pulses = whole + side * QS_SAFE_PULSE_PART, stops = -1.0;

            ck_assert(qs_mains_safe(QS_MAINS_60, pulses / 120.0));
            ck_assert(qs_mains_swing_stops(QS_MAINS_60, pulses / 120.0, 1.0, &stops));
            ck_assert_double_lt(stops, 0.06);
        }
}
END_TEST

/* When a lamp that is on for `duty` of each pulse is on, up to time t in pulses. */
static double
on_until(double t, double duty)
{
    return floor(t) * duty + fmin(t - floor(t), duty);
}

static void
simulated_pulses(double pulses, double duty, double *most, double *least)
{
    *most = 0.0;
    *least = 1e9;
    for (int start = 0; start < 20000; start++) {
        double t = start / 20000.0;
        double light = on_until(t + pulses, duty) - on_until(t, duty);

        *most = fmax(*most, light);
        *least = fmin(*least, light);
    }
}

/* 20000 starts of an exposure miss most and least by at most one of 20000 parts of a
   pulse each. */
START_TEST(swing_of_a_square_wave)
{
    for (double duty = 0.05; duty <= 1.0; duty += 0.0951)
        for (double pulses = 0.0317; pulses < 12.0; pulses += 0.317) {
            struct qs_swing swing = qs_pulse_swing(pulses, duty);
            double most, least;

            simulated_pulses(pulses, duty, &most, &least);
            ck_assert_double_eq_tol(swing.share * pulses * duty, most - least, 1.1e-4);
            if (least > 0.01) {
                ck_assert(swing.has_stops);
                ck_assert_double_eq_tol(swing.stops, log2(most / least),
                                        1.5e-4 / least);
            }
            ck_assert(swing.share <= qs_pulse_swing_most_share(pulses, duty) + 1e-12);
            ck_assert(swing.share <= 1.0 / pulses + 1e-12);
        }
}
END_TEST

/* By hand: half light, 2.5 pulses: 1.5 or 1 of light, 3:2; whole pulses and full light
   do not swing; a flash shorter than the dark gap may get none. */
START_TEST(swings_by_hand)
{
    struct qs_swing swing = qs_pulse_swing(2.5, 0.5);

    ck_assert_double_eq_tol(swing.share, 0.5 / 1.25, 1e-12);
    ck_assert_double_eq_tol(swing.stops, log2(1.5), 1e-12);
    ck_assert(qs_pulse_swing(4.0, 0.3).share == 0.0);
    ck_assert_double_eq_tol(qs_pulse_swing(4.0, 0.3).stops, 0.0, 1e-12);
    ck_assert(qs_pulse_swing(3.17, 1.0).share == 0.0);
    ck_assert_double_eq_tol(qs_pulse_swing(3.17, 1.0).stops, 0.0, 1e-12);
    ck_assert(!qs_pulse_swing(0.4, 0.5).has_stops);
    ck_assert(qs_pulse_swing(0.6, 0.5).has_stops);
}
END_TEST

/*
 * Two small video lights measured at 49 and 146 kHz (a public measurement page): at
 * 1/50 s they can't be seen.  A room dimmer of 100 Hz at half light, same shutter: two
 * pulses, up to log2 3/2 where the rate is a little off.
 */
START_TEST(lights_of_the_trade)
{
    ck_assert_double_lt(qs_pulse_swing_most_share(49000.0 / 50.0, 0.5), 0.0011);
    ck_assert_double_lt(qs_pulse_swing_most_share(146000.0 / 50.0, 0.1), 0.0004);
    ck_assert_double_eq_tol(qs_pulse_swing_most_share(100.0 / 50.0, 0.5), 0.5, 1e-12);
    ck_assert_double_eq_tol(qs_pulse_swing(2.5, 0.5).stops, log2(1.5), 1e-12);
}
END_TEST

/* The least number keeps its promise from there on, and one pulse fewer does not. */
START_TEST(least_pulses)
{
    static const double stops[] = {0.03, 0.1, 0.317, 1.0, 2.0};

    for (size_t i = 0; i < COUNT(stops); i++)
        for (double duty = 0.05; duty < 1.0; duty += 0.0951) {
            double least = qs_pulses_least(duty, stops[i]), worst = 0.0;

            ck_assert_double_ge(least, 1.0);
            for (double n = least; n < least + 4.0; n += 0.00317) {
                struct qs_swing swing = qs_pulse_swing(n, duty);

                ck_assert(swing.has_stops);
                ck_assert_double_le(swing.stops, stops[i] + 1e-9);
            }
            for (double n = least - 1.0 + 1e-6; n < least; n += 0.000317) {
                struct qs_swing swing = qs_pulse_swing(n, duty);

                worst = fmax(worst, swing.has_stops ? swing.stops : 99.0);
            }
            ck_assert_double_gt(worst, stops[i]);
        }
    ck_assert(qs_pulses_least(1.0, 0.1) == 0.0);
    ck_assert(qs_pulses_least(0.5, 1.0) == 1.0);
    /* rounding does not ask for one more: k + 1 pulses against k are log2(1 + 1/k) */
    for (int k = 1; k < 1000; k++)
        ck_assert(qs_pulses_least(0.5, log2(1.0 + 1.0 / k)) == k);
}
END_TEST

QS_TEST_MAIN("flicker", the_trades_safe_times, table_of_safe_shutters, safe_ones_nearby,
             safe_angles, swing_under_mains, safe_means_little_swing,
             swing_of_a_square_wave, swings_by_hand, lights_of_the_trade, least_pulses)
