/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/curve.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* The constants of BT.2020 with which toe and power meet in value and slope. */
#define BT2020_ALPHA 1.09929682680944
#define BT2020_BETA 0.018053968510807

/* Sources: IEC 61966-2-1; ITU-R BT.709 and BT.2020; ISO 22028-2; the Adobe RGB (1998)
 * paper. */
static const struct qs_curve curves[] = {
    {"linear", "linear", 1.0, 0.0, 0.0, 0.0, QS_SPACE_BT709},
    {"srgb", "sRGB", 2.4, 0.055, 12.92, 0.04045, QS_SPACE_BT709},
    {"bt709", "BT.709", 1.0 / 0.45, 0.099, 4.5, 4.5 * 0.018, QS_SPACE_BT709},
    {"rec2020", "BT.2020", 1.0 / 0.45, BT2020_ALPHA - 1.0, 4.5, 4.5 * BT2020_BETA,
     QS_SPACE_BT2020},
    {"prophoto", "ROMM", 1.8, 0.0, 16.0, 16.0 / 512.0, QS_SPACE_ROMM},
    {"adobe1998", "Adobe RGB (1998)", 563.0 / 256.0, 0.0, 0.0, 0.0, QS_SPACE_ADOBE1998},
};

enum {
    SRGB_ROW = 1
};

static const char gamma_key[] = "gamma:";

const struct qs_curve *
qs_curve_row(int index)
{
    const int rows = (int)(sizeof curves / sizeof curves[0]);

    return index >= 0 && index < rows ? &curves[index] : NULL;
}

struct qs_curve
qs_curve_gamma(double gamma)
{
    struct qs_curve curve = {gamma_key, NULL, gamma, 0.0, 0.0, 0.0, QS_SPACE_BT709};

    return curve;
}

/* Digits and a point alone: strtod would take "inf", "0x2" and "1e0" as well. */
static bool
read_gamma(const char *text, double *gamma)
{
    char *end;

    if (text[0] == '\0' || text[strspn(text, "0123456789.")] != '\0')
        return false;
    *gamma = strtod(text, &end);
    return *end == '\0' && *gamma >= QS_GAMMA_MIN && *gamma <= QS_GAMMA_MAX;
}

enum qs_status
qs_curve_find(const char *key, struct qs_curve *out, struct qs_error *err)
{
    const size_t prefix = sizeof gamma_key - 1;
    double gamma;

    for (size_t i = 0; i < sizeof curves / sizeof curves[0]; i++) {
        if (strcmp(key, curves[i].key) == 0) {
            *out = curves[i];
            return QS_OK;
        }
    }
    if (strncmp(key, gamma_key, prefix) == 0 && read_gamma(key + prefix, &gamma)) {
        *out = qs_curve_gamma(gamma);
        return QS_OK;
    }
    return qs_fail(
        err, QS_ERR_USAGE,
        "\"%.40s\" is not an encoding; use profile, linear, srgb, bt709, "
        "rec2020, prophoto, adobe1998, or gamma:G with G from %g to %g, such "
        "as gamma:2.2.",
        key, QS_GAMMA_MIN, QS_GAMMA_MAX);
}

bool
qs_curve_is_linear(const struct qs_curve *curve)
{
    return curve->gamma == 1.0;
}

/*
 * L1 and L2.  The rounded constants of BT.709 leave a gap: no light is encoded to the
 * codes from 0.0810 to 0.0813, and the power would put some of them below the end of
 * the toe.  Those read as the end of the toe: light never falls where codes rise.
 */
double
qs_curve_light(const struct qs_curve *curve, double fraction)
{
    double light;

    if (qs_curve_is_linear(curve))
        return fraction;
    if (curve->slope > 0.0 && fraction <= curve->knee)
        return fraction / curve->slope;
    if (fraction < 0.0)
        return -pow(-fraction, curve->gamma);
    light = pow((fraction + curve->offset) / (1.0 + curve->offset), curve->gamma);
    if (curve->slope > 0.0 && light < curve->knee / curve->slope)
        return curve->knee / curve->slope;
    return light;
}

/* The highest light of the toe, as an encoder has it. */
static double
knee_light(const struct qs_curve *curve)
{
    return curve->slope > 0.0 ? curve->knee / curve->slope : 0.0;
}

double
qs_curve_fraction(const struct qs_curve *curve, double light)
{
    if (qs_curve_is_linear(curve))
        return light;
    if (curve->slope > 0.0 && light <= knee_light(curve))
        return curve->slope * light;
    if (light < 0.0)
        return -pow(-light, 1.0 / curve->gamma);
    return (1.0 + curve->offset) * pow(light, 1.0 / curve->gamma) - curve->offset;
}

double
qs_curve_steepness(const struct qs_curve *curve, double light)
{
    if (qs_curve_is_linear(curve))
        return 1.0;
    if (curve->slope > 0.0 && light <= knee_light(curve))
        return curve->slope;
    return (1.0 + curve->offset) / curve->gamma *
           pow(fabs(light), 1.0 / curve->gamma - 1.0);
}

const struct qs_curve *
qs_curve_srgb(void)
{
    return &curves[SRGB_ROW];
}
