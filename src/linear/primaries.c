/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/primaries.h"

#include <math.h>
#include <stddef.h>

const double qs_d50_xyz[3] = {0.9642, 1.0, 0.8249};

#define D50 0.3457, 0.3585
#define D65 0.3127, 0.3290
#define WHITE_C 0.310, 0.316
#define WHITE_DCI 0.314, 0.351

/*
 * Sources: ITU-R BT.709 and BT.2020; SMPTE RP 431-2 and EG 432-1 (P3); the 1998
 * Adobe RGB encoding paper; ISO 22028-2 (ROMM); the rest from ITU-T H.273 table 2.
 * Codes are H.273's, 0 where it has none.
 */
static const struct space {
    int h273[2]; /* two codes may mean the same primaries */
    struct qs_primaries primaries;
} spaces[QS_SPACES] = {
    [QS_SPACE_BT709] = {{1, 0}, {{{D65}, {0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}}},
    [QS_SPACE_P3_D65] = {{12, 0},
                         {{{D65}, {0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}}}},
    [QS_SPACE_P3_DCI] =
        {{11, 0}, {{{WHITE_DCI}, {0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}}}},
    [QS_SPACE_BT2020] = {{9, 0},
                         {{{D65}, {0.708, 0.292}, {0.170, 0.797}, {0.131, 0.046}}}},
    [QS_SPACE_ADOBE1998] = {{0, 0},
                            {{{D65}, {0.64, 0.33}, {0.21, 0.71}, {0.15, 0.06}}}},
    [QS_SPACE_ROMM] = {{0, 0},
                       {{{D50}, {0.7347, 0.2653}, {0.1596, 0.8404}, {0.0366, 0.0001}}}},
    [QS_SPACE_BT470M] = {{4, 0},
                         {{{WHITE_C}, {0.67, 0.33}, {0.21, 0.71}, {0.14, 0.08}}}},
    [QS_SPACE_BT470BG] = {{5, 0}, {{{D65}, {0.64, 0.33}, {0.29, 0.60}, {0.15, 0.06}}}},
    [QS_SPACE_SMPTE170M] = {{6, 7},
                            {{{D65}, {0.630, 0.340}, {0.310, 0.595}, {0.155, 0.070}}}},
    [QS_SPACE_FILM] = {{8, 0},
                       {{{WHITE_C}, {0.681, 0.319}, {0.243, 0.692}, {0.145, 0.049}}}},
    [QS_SPACE_EBU3213] = {{22, 0},
                          {{{D65}, {0.630, 0.340}, {0.295, 0.605}, {0.155, 0.077}}}},
};

const struct qs_primaries *
qs_space_primaries(enum qs_space space)
{
    return &spaces[space].primaries;
}

const struct qs_primaries *
qs_primaries_h273(int code)
{
    for (int i = 0; i < QS_SPACES && code > 0; i++) {
        if (spaces[i].h273[0] == code || spaces[i].h273[1] == code)
            return &spaces[i].primaries;
    }
    return NULL;
}

/* L4: XYZ of a chromaticity, with Y = 1. */
static void
xyz_of_white(const double xy[2], double xyz[3])
{
    xyz[0] = xy[0] / xy[1];
    xyz[1] = 1.0;
    xyz[2] = (1.0 - xy[0] - xy[1]) / xy[1];
}

/* L5: the primaries are scaled so that together they make white. */
bool
qs_primaries_to_xyz(const struct qs_primaries *primaries, struct qs_matrix3 *out)
{
    struct qs_matrix3 colours, inverse;
    double white[3], scale[3];

    if (!(primaries->xy[0][1] > 0.0))
        return false;
    for (int j = 0; j < 3; j++) {
        const double *xy = primaries->xy[j + 1];

        colours.at[0][j] = xy[0];
        colours.at[1][j] = xy[1];
        colours.at[2][j] = 1.0 - xy[0] - xy[1];
    }
    if (!qs_matrix3_invert(&colours, &inverse))
        return false;
    xyz_of_white(primaries->xy[0], white);
    qs_matrix3_apply(&inverse, white, scale);
    qs_matrix3_scale_columns(&colours, scale);
    *out = colours;
    return true;
}

bool
qs_primaries_to_d50(const struct qs_primaries *primaries, struct qs_matrix3 *out)
{
    struct qs_matrix3 own, adapt;
    double white[3];

    if (!qs_primaries_to_xyz(primaries, &own))
        return false;
    xyz_of_white(primaries->xy[0], white);
    if (!qs_bradford(white, qs_d50_xyz, &adapt))
        return false;
    *out = qs_matrix3_times(&adapt, &own);
    return true;
}

bool
qs_colour_weights_of(const struct qs_matrix3 *to_xyz, struct qs_colour_weights *out)
{
    double white[3];

    for (int i = 0; i < 3; i++) {
        white[i] = to_xyz->at[i][0] + to_xyz->at[i][1] + to_xyz->at[i][2];
        if (!isfinite(white[i]) || white[i] <= 0.0)
            return false;
    }
    for (int j = 0; j < 3; j++) {
        double x = to_xyz->at[0][j] / white[0], y = to_xyz->at[1][j] / white[1],
               z = to_xyz->at[2][j] / white[2];

        out->luminance[j] = y;
        out->red_green[j] = x - y;
        out->yellow_blue[j] = y - z;
    }
    return true;
}

bool
qs_primaries_weights(const struct qs_primaries *primaries,
                     struct qs_colour_weights *out)
{
    struct qs_matrix3 xyz;

    return qs_primaries_to_xyz(primaries, &xyz) && qs_colour_weights_of(&xyz, out);
}

static double
widest_difference(const struct qs_matrix3 *a, const struct qs_matrix3 *b)
{
    double widest = 0.0;

    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++)
            widest = fmax(widest, fabs(a->at[i][j] - b->at[i][j]));
    }
    return widest;
}

const struct qs_primaries *
qs_primaries_match(const struct qs_matrix3 *colorants)
{
    const struct qs_primaries *nearest = NULL;
    double least = QS_MATCH_XYZ;

    for (int i = 0; i < QS_SPACES; i++) {
        struct qs_matrix3 d50;
        double difference;

        if (!qs_primaries_to_d50(&spaces[i].primaries, &d50))
            continue;
        difference = widest_difference(&d50, colorants);
        if (difference <= least) {
            least = difference;
            nearest = &spaces[i].primaries;
        }
    }
    return nearest;
}

/* L6; the matrix is that of ICC.1 annex E. */
bool
qs_bradford(const double from[3], const double to[3], struct qs_matrix3 *out)
{
    static const struct qs_matrix3 cones = {{{0.8951, 0.2664, -0.1614},
                                             {-0.7502, 1.7135, 0.0367},
                                             {0.0389, -0.0685, 1.0296}}};
    struct qs_matrix3 back, scaled;
    double seen_from[3], seen_to[3], ratio[3];

    qs_matrix3_apply(&cones, from, seen_from);
    qs_matrix3_apply(&cones, to, seen_to);
    for (int i = 0; i < 3; i++) {
        if (!(seen_from[i] > 0.0) || !(seen_to[i] > 0.0))
            return false;
        ratio[i] = seen_to[i] / seen_from[i];
    }
    if (!qs_matrix3_invert(&cones, &back))
        return false;
    qs_matrix3_scale_columns(&back, ratio);
    scaled = back;
    *out = qs_matrix3_times(&scaled, &cones);
    return true;
}
