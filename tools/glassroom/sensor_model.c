/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor_model.h"

#include <math.h>

#define FULL_WELL_E 52000.0 /* electrons at the highest code at ISO 100 */
#define UPSTREAM_E 1.6      /* read noise before the ISO amplifier */
#define DOWNSTREAM_E 5.5    /* read noise after it, as electrons at ISO 100 */
#define ROW_SHARE 0.08      /* of the read noise */
#define COLUMN_SHARE 0.05   /* of the read noise */
#define OFFSET_E 0.4
#define PRNU 0.004
#define BLACK_DN 512
#define WHITE_DN 16383
#define SERIAL 4810273

const struct gr_response gr_responses[] = {
    {"daylight",
     "daylight: red needs 2.1 times the gain of green, blue 1.6 times",
     {0.48, 1.0, 0.62},
     {{{0.70, 0.25, 0.05}, {0.18, 0.74, 0.08}, {0.03, 0.22, 0.75}}}},
    {"warm",
     "warm lamps: red needs 1.3 times the gain of green, blue 2.6 times",
     {0.76, 1.0, 0.38},
     {{{0.74, 0.22, 0.04}, {0.21, 0.71, 0.08}, {0.05, 0.26, 0.69}}}},
    {"unit",
     "no colour at all: equal gains, no matrix, for frames of known noise",
     {1.0, 1.0, 1.0},
     {{{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}}}},
    {NULL, NULL, {0.0}, {{{0.0}}}},
};

struct gr_sensor
gr_sensor_at_iso(double iso)
{
    double amplified = iso / GR_ISO_LOW;
    double read_e = hypot(UPSTREAM_E, DOWNSTREAM_E / amplified);
    struct gr_sensor sensor = {
        .iso = iso,
        .gain_dn_per_e = (WHITE_DN - BLACK_DN) / FULL_WELL_E * amplified,
        .read_e = read_e,
        .row_e = ROW_SHARE * read_e,
        .column_e = COLUMN_SHARE * read_e,
        .offset_e = OFFSET_E,
        .prnu = PRNU,
        .black_dn = BLACK_DN,
        .white_dn = WHITE_DN,
        .shot_noise = true,
        .serial = SERIAL,
    };

    return sensor;
}

double
gr_sensor_white_e(const struct gr_sensor *sensor)
{
    return (sensor->white_dn - sensor->black_dn) / sensor->gain_dn_per_e;
}

struct gr_matrix
gr_response_to_camera(const struct gr_response *response)
{
    struct gr_matrix out = response->scene;

    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            out.m[i][j] *= response->white[i];
    return out;
}

struct gr_matrix
gr_response_to_scene(const struct gr_response *response)
{
    return gr_matrix_inverse(&response->scene);
}
