/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_lamp.c - lamps by inverse square, and lamps against ambient
 */
#include "plan/lamp.h"

#include <math.h>
#include <string.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static struct qs_lamp
lamp_of(const char *text)
{
    struct qs_lamp lamp = {0};
    struct qs_error err = {0};

    ck_assert_msg(qs_lamp_parse(text, &lamp, &err) == QS_OK, "%s: %s", text, err.text);
    return lamp;
}

/*
 * E = I cos a / d^2, textbook photometry (computed): 1 candela at 0.5 m gives 4 lx; 800
 * lumens evenly to all sides are 800 / 4 pi candela, 15.92 lx at 2 m.
 */
START_TEST(inverse_square)
{
    struct qs_lamp candle = {"candle", 1.0, 1.0, 0.5, 0.0, 1.0};
    struct qs_lamp bulb = {"bulb", 800.0 / (4.0 * 3.14159265358979), 1.0, 2.0, 0.0,
                           1.0};

    ck_assert_double_eq_tol(qs_lamp_lux(&candle), 4.0, 1e-12);
    ck_assert_double_eq_tol(qs_lamp_lux(&bulb), 15.92, 5e-3);
}
END_TEST

/* Distance x 1.41 is a stop less, x 2 two (common practice, no source). */
START_TEST(distance_in_stops)
{
    ck_assert_double_eq_tol(qs_lamp_distance_for_stops(1.0, -1.0), 1.41, 5e-3);
    ck_assert_double_eq_tol(qs_lamp_distance_for_stops(3.0, -2.0), 6.0, 1e-12);
    ck_assert_double_eq_tol(qs_lamp_distance_for_stops(3.0, 2.0), 1.5, 1e-12);
}
END_TEST

/* By hand: 1200 lux at 1 m, 192 at 2.5 m, 96 behind a stop of diffusion, 48 at half. */
START_TEST(the_example_of_the_header)
{
    struct qs_lamp key = lamp_of("key=1200lux@1m,2.5m,1,50%");

    ck_assert_str_eq(key.name, "key");
    ck_assert_double_eq_tol(qs_lamp_lux(&key), 48.0, 1e-9);
    ck_assert_double_eq_tol(qs_lamp_distance_for_lux(&key, 48.0), 2.5, 1e-12);
    ck_assert_double_eq_tol(qs_lamp_distance_for_lux(&key, 192.0), 1.25, 1e-12);
}
END_TEST

/* 10.7639104 lx to the foot-candle (NIST SP 811, appendix B, from memory). */
START_TEST(forms_that_are_read)
{
    static const struct {
        const char *text, *name;
        double lux, at_m, distance_m, loss_stops, dim;
    } table[] = {
        {"fill=40@2", "fill", 40.0, 2.0, 2.0, 0.0, 1.0},
        {"furnace glow=40lx@200cm,3.17", "furnace glow", 40.0, 2.0, 3.17, 0.0, 1.0},
        {"rim=90fc@6ft,,0.5", "rim", 968.751936, 1.8288, 1.8288, 0.5, 1.0},
        {"a=1@1,,,5%", "a", 1.0, 1.0, 1.0, 0.0, 0.05},
        {"a=1@1,,", "a", 1.0, 1.0, 1.0, 0.0, 1.0},
        {"a=1@1,2m,0,100%", "a", 1.0, 1.0, 2.0, 0.0, 1.0},
        {"a@b=1@1", "a@b", 1.0, 1.0, 1.0, 0.0, 1.0},
        {"1234567890123456789012345678901=1@1", "1234567890123456789012345678901", 1.0,
         1.0, 1.0, 0.0, 1.0},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        struct qs_lamp lamp = lamp_of(table[i].text);

        ck_assert_str_eq(lamp.name, table[i].name);
        ck_assert_double_eq_tol(lamp.lux, table[i].lux, 1e-8 * table[i].lux);
        ck_assert_double_eq_tol(lamp.at_m, table[i].at_m, 1e-12);
        ck_assert_double_eq_tol(lamp.distance_m, table[i].distance_m, 1e-12);
        ck_assert_double_eq_tol(lamp.loss_stops, table[i].loss_stops, 1e-12);
        ck_assert_double_eq_tol(lamp.dim, table[i].dim, 1e-12);
    }
}
END_TEST

START_TEST(forms_that_are_refused)
{
    static const struct {
        const char *text, *says;
    } table[] = {
        {"", "not understood"},
        {"key", "not understood"},
        {"=1200@1", "not understood"},
        {"key=", "not understood"},
        {"key=1200", "not understood"},
        {"key=1200,1", "not understood"},
        {"ke\ny=1200@1", "not understood"},
        {"12345678901234567890123456789012=1@1", "not understood"},
        {"key=1200@1,2,1,50%,9", "not understood"},
        {"key=1200@1,2,1,50%,", "not understood"},
        {"key=1200@00000000000000000000000000000001", "not understood"},
        {"key=00000000000000000000000000000001@1", "not understood"},
        {"key=@1", "no light level"},
        {"key=0@1", "no light"},
        {"key=-5@1", "no light level"},
        {"key=1200m@1", "unit"},
        {"key=1200@", "no lamp distance"},
        {"key=1200@0m", "lamp distance"},
        {"key=1200@1lux", "unit"},
        {"key=1200@1,0", "lamp distance"},
        {"key=1200@1,2,x", "loss"},
        {"key=1200@1,2,-1", "loss"},
        {"key=1200@1,2,1m", "loss"},
        {"key=1200@1,2,21", "loss"},
        {"key=1200@1,2,1,50", "dimmed"},
        {"key=1200@1,2,1,0%", "dimmed"},
        {"key=1200@1,2,1,101%", "dimmed"},
        {"key=1200@1,2,1,%", "dimmed"},
        {"key=1200@1,2,1,50%%", "dimmed"},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        struct qs_lamp lamp = {.lux = 3.17};
        struct qs_error err = {0};

        ck_assert_msg(qs_lamp_parse(table[i].text, &lamp, &err) == QS_ERR_USAGE, "%s",
                      table[i].text);
        ck_assert_msg(strstr(err.text, table[i].says) != NULL, "%s: %s", table[i].text,
                      err.text);
        ck_assert_msg(strstr(err.text, "write") != NULL, "%s: %s", table[i].text,
                      err.text);
        ck_assert(lamp.lux == 3.17);
    }
}
END_TEST

/* Light of several lamps adds up. */
START_TEST(sums)
{
    struct qs_lamp lamps[] = {{"a", 100.0, 1.0, 2.0, 0.0, 1.0},
                              {"b", 32.0, 2.0, 1.0, 3.0, 0.5},
                              {"c", 3.17, 1.0, 1.0, 0.0, 1.0}};

    ck_assert_double_eq_tol(qs_lamps_lux(lamps, 3), 25.0 + 8.0 + 3.17, 1e-12);
    ck_assert(qs_lamps_lux(lamps, 0) == 0.0);
}
END_TEST

/*
 * On the axis of an even round source of radius r, E = pi L r^2 / (r^2 + d^2) (textbook
 * photometry, from memory).  At five diameters the inverse square is 1 % too bright:
 * the five times rule of photometry (common practice, from memory).
 */
START_TEST(wide_sources)
{
    double far = 1e4, r = 0.5;

    ck_assert_double_eq_tol(exp2(qs_lamp_wide_error_stops(1.0, far, 5.0)), 1.01, 1e-6);
    for (double at = 0.3; at < 9.0; at *= 1.7)
        for (double d = 0.3; d < 9.0; d *= 1.31) {
            double truth = (r * r + at * at) / (r * r + d * d);
            double promised = at * at / (d * d);

            ck_assert_double_eq_tol(qs_lamp_wide_error_stops(2.0 * r, at, d),
                                    log2(promised / truth), 1e-12);
        }
    ck_assert(qs_lamp_wide_error_stops(0.0, 1.0, 3.0) == 0.0);
    ck_assert_double_gt(qs_lamp_wide_error_stops(1.0, 3.0, 1.0), 0.0);
    ck_assert_double_lt(qs_lamp_wide_error_stops(1.0, 1.0, 3.0), 0.0);
}
END_TEST

/* Powers of two, by hand: ambient is 1/2, 1/4, 1/8 of the total with 1, 3, 7 times
   itself of lamp. */
START_TEST(ambient_held_down)
{
    static const double table[][2] = {{1, 1}, {2, 3}, {3, 7}, {4, 15}};

    for (size_t i = 0; i < COUNT(table); i++) {
        double lamp = qs_lamp_to_hold_ambient_lx(31.7, table[i][0]);

        ck_assert_double_eq_tol(lamp, 31.7 * table[i][1], 1e-9);
        ck_assert_double_eq_tol(qs_ambient_below_total_stops(lamp, 31.7), table[i][0],
                                1e-12);
    }
    ck_assert(qs_lamp_to_hold_ambient_lx(0.0, 3.0) == 0.0);
    ck_assert(qs_ambient_below_total_stops(0.0, 31.7) == 0.0);
}
END_TEST

START_TEST(lamp_above_ambient)
{
    double stops = 3.17;

    ck_assert(!qs_lamp_over_ambient_stops(100.0, 0.0, &stops));
    ck_assert(!qs_lamp_over_ambient_stops(0.0, 100.0, &stops));
    ck_assert(stops == 3.17);
    ck_assert(qs_lamp_over_ambient_stops(120.0, 30.0, &stops));
    ck_assert_double_eq_tol(stops, 2.0, 1e-12);
}
END_TEST

/* By hand: 100 lux needed, 20 of them ambient: the key gives the other 80, the fill,
   a stop under, 30.  With what is asked for, the sum is what was needed. */
START_TEST(enough_as_key_or_fill)
{
    double fill_under = qs_lamp_role_under_stops(QS_LAMP_FILL);
    struct qs_lamp_need need = qs_lamp_need_of(40.0, 20.0, 100.0, 0.0);

    ck_assert(!need.ambient_is_enough);
    ck_assert_double_eq_tol(need.lamp_lx, 80.0, 1e-12);
    ck_assert_double_eq_tol(need.short_stops, 1.0, 1e-12);

    need = qs_lamp_need_of(120.0, 20.0, 100.0, fill_under);
    ck_assert_double_eq_tol(need.lamp_lx, 30.0, 1e-12);
    ck_assert_double_eq_tol(need.short_stops, -2.0, 1e-12);

    need = qs_lamp_need_of(120.0, 60.0, 100.0, fill_under);
    ck_assert(need.ambient_is_enough);
    ck_assert(need.lamp_lx == 0.0 && need.short_stops == 0.0);
    ck_assert(qs_lamp_need_of(1.0, 100.0, 100.0, 0.0).ambient_is_enough);
    ck_assert(qs_lamp_role_under_stops(QS_LAMP_KEY) == 0.0);
    ck_assert_str_eq(qs_lamp_role_name(QS_LAMP_KEY), "key");
    ck_assert_str_eq(qs_lamp_role_name(QS_LAMP_FILL), "fill");
}
END_TEST

/* 2:1 of lamps is 3:1 of sides (common practice, no source). */
START_TEST(ratios)
{
    ck_assert_double_eq_tol(qs_key_to_fill(80.0, 40.0), 2.0, 1e-12);
    ck_assert_double_eq_tol(qs_lighting_ratio(80.0, 40.0), 3.0, 1e-12);
}
END_TEST

QS_TEST_MAIN("lamp", inverse_square, distance_in_stops, the_example_of_the_header,
             forms_that_are_read, forms_that_are_refused, sums, wide_sources,
             ambient_held_down, lamp_above_ambient, enough_as_key_or_fill, ratios)
