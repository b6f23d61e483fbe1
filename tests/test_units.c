/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_units.c - typed light levels, speeds and lengths
 *
 * Sizes of units: the international foot is 0.3048 m (1959, exact), the inch a
 * twelfth of it, the mile 5280 of it; a foot-candle is one lumen per square foot,
 * 10.7639104 lx (NIST SP 811, appendix B, from memory).
 */
#include "plan/units.h"

#include <locale.h>
#include <string.h>

#include "check_main.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

static const struct good {
    enum qs_unit_kind kind;
    const char *text;
    double si;
} good[] = {
    {QS_UNIT_LIGHT, "80", 80.0},           {QS_UNIT_LIGHT, "80lux", 80.0},
    {QS_UNIT_LIGHT, "80LX", 80.0},         {QS_UNIT_LIGHT, "0", 0.0},
    {QS_UNIT_LIGHT, ".5lx", 0.5},          {QS_UNIT_LIGHT, "7.fc", 75.3473728},
    {QS_UNIT_LIGHT, "7.4fc", 79.65293696}, {QS_UNIT_SPEED, "0.5m/s", 0.5},
    {QS_UNIT_SPEED, "0m/s", 0.0},          {QS_UNIT_SPEED, "31.7cm/s", 0.317},
    {QS_UNIT_SPEED, "2km/h", 0.555555556}, {QS_UNIT_SPEED, "2ft/s", 0.6096},
    {QS_UNIT_SPEED, "3mph", 1.34112},      {QS_UNIT_LENGTH, "2m", 2.0},
    {QS_UNIT_LENGTH, "50cm", 0.5},         {QS_UNIT_LENGTH, "317mm", 0.317},
    {QS_UNIT_LENGTH, "20in", 0.508},       {QS_UNIT_LENGTH, "6ft", 1.8288},
    {QS_UNIT_LAMP_DISTANCE, "2.5", 2.5},   {QS_UNIT_LAMP_DISTANCE, "80cm", 0.8},
};

static const struct bad {
    enum qs_unit_kind kind;
    const char *text;
    const char *says;
} bad[] = {
    {QS_UNIT_LIGHT, "", "is no light level"},
    {QS_UNIT_LIGHT, "lux", "is no light level"},
    {QS_UNIT_LIGHT, ".", "is no light level"},
    {QS_UNIT_LIGHT, "-3lux", "is no light level"},
    {QS_UNIT_LIGHT, "+3lux", "is no light level"},
    {QS_UNIT_LIGHT, " 3lux", "is no light level"},
    {QS_UNIT_LIGHT, "nan", "is no light level"},
    {QS_UNIT_LIGHT, "inf", "is no light level"},
    {QS_UNIT_LIGHT, "1234567890123456", "is no light level"},
    {QS_UNIT_LIGHT, "3 lux", "not known"},
    {QS_UNIT_LIGHT, "3,5lux", "not known"},
    {QS_UNIT_LIGHT, "1.2.3", "not known"},
    {QS_UNIT_LIGHT, "1e3", "not known"},
    {QS_UNIT_LIGHT, "0x10", "not known"},
    {QS_UNIT_LIGHT, "3m", "not known"},
    {QS_UNIT_LIGHT, "80luxx", "not known"},
    {QS_UNIT_LIGHT, "1000001", "can be meant"},
    {QS_UNIT_SPEED, "0.5", "has no unit"},
    {QS_UNIT_SPEED, "0.5m", "not known"},
    {QS_UNIT_LENGTH, "50", "has no unit"},
    {QS_UNIT_LENGTH, "0m", "can be meant"},
    {QS_UNIT_LENGTH, "2km", "not known"},
    {QS_UNIT_LAMP_DISTANCE, "0", "can be meant"},
    {QS_UNIT_LAMP_DISTANCE, "2m/s", "not known"},
};

/* Nine digits of the units above: 1e-8 of the value. */
START_TEST(every_unit)
{
    for (size_t i = 0; i < COUNT(good); i++) {
        double si = -1.0;
        struct qs_error err = {0};

        ck_assert_msg(qs_units_read(good[i].kind, good[i].text, &si, &err) == QS_OK,
                      "%s: %s", good[i].text, err.text);
        ck_assert_double_eq_tol(si, good[i].si, 1e-8 * good[i].si + 1e-15);
    }
}
END_TEST

START_TEST(what_is_refused)
{
    for (size_t i = 0; i < COUNT(bad); i++) {
        double si = 3.17;
        struct qs_error err = {0};

        ck_assert_msg(qs_units_read(bad[i].kind, bad[i].text, &si, &err) ==
                          QS_ERR_USAGE,
                      "\"%s\" was taken for %g", bad[i].text, si);
        ck_assert_msg(strstr(err.text, bad[i].says) != NULL, "\"%s\": %s", bad[i].text,
                      err.text);
        ck_assert_msg(strstr(err.text, "write it like") != NULL, "%s", err.text);
        ck_assert(si == 3.17);
    }
}
END_TEST

/* Numbers that are hard to round, against the compiler's own reading of them, which
   IEEE 754 asks to be the nearest double. */
START_TEST(numbers_to_the_last_bit)
{
    static const struct {
        const char *text;
        double value;
    } table[] = {
        {"0.1", 0.1},
        {"7.4", 7.4},
        {"0.317", 0.317},
        {"2.675", 2.675},
        {"999999999999999", 999999999999999.0},
        {"0.0000000314159265358979", 0.0000000314159265358979},
        {"000000000000000000000001.5", 1.5},
        {"123456.789012345", 123456.789012345},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        const char *text = table[i].text;
        double got = -1.0;

        ck_assert_msg(qs_units_number(&text, &got), "%s", table[i].text);
        ck_assert_msg(got == table[i].value, "%s: %.17g", table[i].text, got);
        ck_assert_int_eq(*text, '\0');
    }
}
END_TEST

/* Rather none than one that is rounded twice; the text stays where it is. */
START_TEST(too_many_digits)
{
    static const char *const table[] = {"1234567890123456", "0.1234567890123456",
                                        "0.00000000000000000000001"};

    for (size_t i = 0; i < COUNT(table); i++) {
        const char *text = table[i];
        double got = 3.17;

        ck_assert_msg(!qs_units_number(&text, &got), "%s", table[i]);
        ck_assert_ptr_eq(text, table[i]);
        ck_assert(got == 3.17);
    }
}
END_TEST

/* A locale with a decimal comma, where one is installed, changes nothing. */
START_TEST(no_locale_matters)
{
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8",
                                        "de_DE", "sv_SE.UTF-8"};
    double si = 0.0;

    for (size_t i = 0; i < COUNT(names); i++)
        if (setlocale(LC_ALL, names[i]) != NULL)
            break;
    ck_assert(qs_units_read(QS_UNIT_LENGTH, "2.5m", &si, NULL) == QS_OK);
    ck_assert_double_eq(si, 2.5);
    ck_assert(qs_units_read(QS_UNIT_LENGTH, "2,5m", &si, NULL) == QS_ERR_USAGE);
    (void)setlocale(LC_ALL, "C");
}
END_TEST

QS_TEST_MAIN("units", every_unit, what_is_refused, numbers_to_the_last_bit,
             too_many_digits, no_locale_matters)
