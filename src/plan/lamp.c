/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plan/lamp.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "plan/units.h"

static const struct role {
    const char *name;
    double under_stops;
} roles[QS_LAMP_ROLES] = {
    [QS_LAMP_KEY] = {"key", 0.0},
    [QS_LAMP_FILL] = {"fill", 1.0},
};

/* More would be the wrong number: 20 stops leave a millionth of the light. */
static const double MOST_LOSS_STOPS = 20.0;

enum {
    FIELD_LENGTH = 32,
    FIELDS = 5 /* light, where measured, where it stands, loss, dim */
};

static enum qs_status
fail_form(const char *text, struct qs_error *err)
{
    return qs_fail(
        err, QS_ERR_USAGE,
        "The lamp \"%.60s\" is not understood; write its name, its light and "
        "where that was measured, then if you like its distance, the stops "
        "it loses and what it is dimmed to: key=1200lux@1m,2.5m,1,50%%.",
        text);
}

/* Names are printed in tables and files, where control characters would do harm. */
static bool
read_name(const char *text, size_t length, char *name, size_t room)
{
    if (length == 0 || length >= room)
        return false;
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)text[i] < 0x20 || text[i] == 0x7f)
            return false;
    memcpy(name, text, length);
    name[length] = '\0';
    return true;
}

/* Cuts "LUX@AT,DISTANCE,LOSS,DIM%" into its fields; those that are left out stay empty.
 */
static bool
cut_fields(const char *text, char fields[FIELDS][FIELD_LENGTH])
{
    for (int i = 0; i < FIELDS; i++) {
        size_t length = strcspn(text, i == 0 ? "@," : ",");

        if (length >= FIELD_LENGTH || (i == 0 && text[length] != '@'))
            return false;
        memcpy(fields[i], text, length);
        text += length;
        if (*text == '\0')
            return i > 0;
        text++;
    }
    return false;
}

static enum qs_status
read_light(const char *field, double *out, struct qs_error *err)
{
    double lux = 0.0;
    enum qs_status status = qs_units_read(QS_UNIT_LIGHT, field, &lux, err);

    if (status != QS_OK)
        return status;
    if (!(lux > 0.0))
        return qs_fail(
            err, QS_ERR_USAGE,
            "A lamp of no light is no lamp; leave it out, or write its light "
            "as in key=1200lux@1m.");
    *out = lux;
    return QS_OK;
}

static enum qs_status
read_loss(const char *field, double *out, struct qs_error *err)
{
    const char *end = field;
    double stops = 0.0;

    if (!qs_units_number(&end, &stops) || *end != '\0' || stops > MOST_LOSS_STOPS)
        return qs_fail(
            err, QS_ERR_USAGE,
            "A lamp's loss is a number of stops from 0 to %g, not \"%.30s\"; "
            "write it third, as the 1 in key=1200lux@1m,2.5m,1.",
            MOST_LOSS_STOPS, field);
    *out = stops;
    return QS_OK;
}

static enum qs_status
read_dim(const char *field, double *out, struct qs_error *err)
{
    const char *end = field;
    double percent = 0.0;

    if (!qs_units_number(&end, &percent) || strcmp(end, "%") != 0 || !(percent > 0.0) ||
        percent > 100.0)
        return qs_fail(err, QS_ERR_USAGE,
                       "A lamp is dimmed to more than 0%% and at most 100%% of its "
                       "light, not \"%.30s\"; write it fourth, as the 50%% in "
                       "key=1200lux@1m,2.5m,1,50%%.",
                       field);
    *out = percent / 100.0;
    return QS_OK;
}

/* The fields behind the first two may be empty and keep what *lamp has. */
static enum qs_status
read_fields(char fields[FIELDS][FIELD_LENGTH], struct qs_lamp *lamp,
            struct qs_error *err)
{
    enum qs_status status = read_light(fields[0], &lamp->lux, err);

    if (status == QS_OK)
        status = qs_units_read(QS_UNIT_LAMP_DISTANCE, fields[1], &lamp->at_m, err);
    lamp->distance_m = lamp->at_m;
    if (status == QS_OK && fields[2][0] != '\0')
        status =
            qs_units_read(QS_UNIT_LAMP_DISTANCE, fields[2], &lamp->distance_m, err);
    if (status == QS_OK && fields[3][0] != '\0')
        status = read_loss(fields[3], &lamp->loss_stops, err);
    if (status == QS_OK && fields[4][0] != '\0')
        status = read_dim(fields[4], &lamp->dim, err);
    return status;
}

enum qs_status
qs_lamp_parse(const char *text, struct qs_lamp *out, struct qs_error *err)
{
    struct qs_lamp lamp = {.dim = 1.0};
    char fields[FIELDS][FIELD_LENGTH] = {{0}};
    const char *equals = strchr(text, '=');
    enum qs_status status;

    if (equals == NULL ||
        !read_name(text, (size_t)(equals - text), lamp.name, sizeof lamp.name) ||
        !cut_fields(equals + 1, fields))
        return fail_form(text, err);
    status = read_fields(fields, &lamp, err);
    if (status == QS_OK)
        *out = lamp;
    return status;
}

/* Full light at 1 m, by E26. */
static double
strength(const struct qs_lamp *lamp)
{
    return lamp->lux * lamp->at_m * lamp->at_m * lamp->dim * exp2(-lamp->loss_stops);
}

double
qs_lamp_lux(const struct qs_lamp *lamp)
{
    assert(lamp->distance_m > 0.0);
    return strength(lamp) / (lamp->distance_m * lamp->distance_m);
}

double
qs_lamps_lux(const struct qs_lamp *lamps, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += qs_lamp_lux(&lamps[i]);
    return sum;
}

/* E28: a round source of radius r gives light as 1 / (r^2 + d^2). */
double
qs_lamp_wide_error_stops(double width_m, double at_m, double distance_m)
{
    double near = width_m / (2.0 * distance_m), far = width_m / (2.0 * at_m);

    assert(width_m >= 0.0 && at_m > 0.0 && distance_m > 0.0);
    return (log1p(near * near) - log1p(far * far)) / log(2.0);
}

double
qs_lamp_distance_for_stops(double distance_m, double stops)
{
    return distance_m * exp2(-stops / 2.0);
}

double
qs_lamp_distance_for_lux(const struct qs_lamp *lamp, double lux)
{
    assert(lux > 0.0);
    return sqrt(strength(lamp) / lux);
}

bool
qs_lamp_over_ambient_stops(double lamp_lx, double ambient_lx, double *stops)
{
    assert(lamp_lx >= 0.0 && ambient_lx >= 0.0);
    if (!(lamp_lx > 0.0 && ambient_lx > 0.0))
        return false;
    *stops = log2(lamp_lx / ambient_lx);
    return true;
}

double
qs_lamp_to_hold_ambient_lx(double ambient_lx, double stops)
{
    assert(ambient_lx >= 0.0 && stops > 0.0);
    return ambient_lx * (exp2(stops) - 1.0);
}

double
qs_ambient_below_total_stops(double lamp_lx, double ambient_lx)
{
    assert(lamp_lx >= 0.0 && ambient_lx > 0.0);
    return log2((lamp_lx + ambient_lx) / ambient_lx);
}

const char *
qs_lamp_role_name(enum qs_lamp_role role)
{
    return roles[role].name;
}

double
qs_lamp_role_under_stops(enum qs_lamp_role role)
{
    return roles[role].under_stops;
}

struct qs_lamp_need
qs_lamp_need_of(double lamp_lx, double ambient_lx, double needed_lx, double under_stops)
{
    struct qs_lamp_need need = {0};
    double missing = needed_lx * exp2(-under_stops) - ambient_lx;

    assert(lamp_lx > 0.0 && ambient_lx >= 0.0 && needed_lx > 0.0 && under_stops >= 0.0);
    need.ambient_is_enough = missing <= 0.0;
    if (!need.ambient_is_enough) {
        need.lamp_lx = missing;
        need.short_stops = log2(missing / lamp_lx);
    }
    return need;
}

double
qs_key_to_fill(double key_lx, double fill_lx)
{
    assert(key_lx > 0.0 && fill_lx > 0.0);
    return key_lx / fill_lx;
}

double
qs_lighting_ratio(double key_lx, double fill_lx)
{
    assert(key_lx > 0.0 && fill_lx > 0.0);
    return (key_lx + fill_lx) / fill_lx;
}
