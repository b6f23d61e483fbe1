/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/units.h"

#include <assert.h>
#include <ctype.h>
#include <stdint.h>
#include <stddef.h>
#include <strings.h>

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

/* One foot and one mile are 0.3048 m and 1609.344 m exactly (international yard and
   pound agreement, 1959); a foot-candle is one lumen per square foot. */
#define FOOT_M 0.3048
#define MILE_M 1609.344
#define HOUR_S 3600.0

/* Kinds that share their units share this. */
enum dimension {
    LIGHT,
    SPEED,
    LENGTH
};

static const struct unit {
    enum dimension of;
    const char *key;
    double si;
} units[] = {
    {LIGHT, "lux", 1.0},
    {LIGHT, "lx", 1.0},
    {LIGHT, "fc", 1.0 / (FOOT_M * FOOT_M)},
    {SPEED, "m/s", 1.0},
    {SPEED, "cm/s", 0.01},
    {SPEED, "km/h", 1000.0 / HOUR_S},
    {SPEED, "ft/s", FOOT_M},
    {SPEED, "mph", MILE_M / HOUR_S},
    {LENGTH, "m", 1.0},
    {LENGTH, "cm", 0.01},
    {LENGTH, "mm", 0.001},
    {LENGTH, "in", FOOT_M / 12.0},
    {LENGTH, "ft", FOOT_M},
};

/* The widest values allowed only catch slips of the finger: direct sun is 100000 lux.
 */
static const struct kind {
    enum dimension of;
    const char *what; /* as in "is no ..." */
    const char *examples;
    bool bare; /* a number without unit is in the SI unit */
    bool zero; /* 0 is allowed */
    double most_si;
} kinds[QS_UNIT_KINDS] = {
    [QS_UNIT_LIGHT] = {LIGHT, "light level", "80lux or 7.4fc", true, true, 1e6},
    [QS_UNIT_SPEED] = {SPEED, "speed", "0.5m/s or 2km/h", false, true, 1e4},
    [QS_UNIT_LENGTH] = {LENGTH, "length", "2m, 50cm, 20in or 6ft", false, false, 1e5},
    [QS_UNIT_LAMP_DISTANCE] = {LENGTH, "lamp distance", "2.5m, 80cm or 6ft", true,
                               false, 1e4},
};

/*
 * Digits make a whole number below 10^15, and both it and the power of ten it is
 * divided by are exact doubles: one division rounds once, to the nearest double.
 */
bool
qs_units_number(const char **text, double *out)
{
    const char *p = *text;
    int64_t whole = 0;
    double over = 1.0;
    int digits = 0, used = 0;
    bool point = false;

    for (; isdigit((unsigned char)*p) || (*p == '.' && !point); p++) {
        if (*p == '.') {
            point = true;
            continue;
        }
        digits++;
        whole = whole * 10 + (*p - '0');
        used += whole > 0;
        over *= point ? 10.0 : 1.0;
        if (used > QS_UNITS_DIGITS || over > 1e22)
            return false;
    }
    if (digits == 0)
        return false;
    *out = (double)whole / over;
    *text = p;
    return true;
}

/* What one of `text`, the unit's name, is in SI; 0 where the kind has no such unit. */
static double
si_of_unit(const struct kind *kind, const char *text)
{
    if (*text == '\0')
        return kind->bare ? 1.0 : 0.0;
    for (size_t i = 0; i < COUNT(units); i++)
        if (units[i].of == kind->of && strcasecmp(text, units[i].key) == 0)
            return units[i].si;
    return 0.0;
}

enum qs_status
qs_units_read(enum qs_unit_kind kind, const char *text, double *out_si,
              struct qs_error *err)
{
    const struct kind *row = &kinds[kind];
    const char *end = text;
    double value, si;

    assert((int)kind >= 0 && kind < QS_UNIT_KINDS);
    if (!qs_units_number(&end, &value))
        return qs_fail(err, QS_ERR_USAGE, "\"%.40s\" is no %s; write it like %s.", text,
                       row->what, row->examples);
    si = si_of_unit(row, end);
    if (si <= 0.0 && *end == '\0')
        return qs_fail(err, QS_ERR_USAGE,
                       "The %s \"%.40s\" has no unit; write it like %s.", row->what,
                       text, row->examples);
    if (si <= 0.0)
        return qs_fail(err, QS_ERR_USAGE,
                       "The %s \"%.40s\" has a unit that is not known here; write it "
                       "like %s.",
                       row->what, text, row->examples);
    if (!(value > 0.0 || row->zero) || value * si > row->most_si)
        return qs_fail(
            err, QS_ERR_USAGE,
            "The %s \"%.40s\" is not one that can be meant; write it like %s.",
            row->what, text, row->examples);
    *out_si = value * si;
    return QS_OK;
}
