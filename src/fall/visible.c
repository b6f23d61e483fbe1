/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fall/visible.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>

/*
 * KNOTS and HALF_POINTS keep every figure within 0.2 % of that of ten times as many,
 * for all filters, reductions 1 to 10 and 5 to 200 pixels per degree.
 */
enum {
    NODES = QS_SPECTRUM_NODES,
    KNOTS = QS_ONLOOKER_KNOTS,
    HALF_POINTS = 4 /* of the rule of integration, the others mirror them */
};

/* Below this the knots are evenly spaced, above it as widely as frequency grows. */
static const double KNEE_CPD = 1.0;

/* A share of the noise's power, below 0, that is none: 1 % of its sd. */
static const double NOTHING = 1e-4;

/* Gauss and Legendre's rule of 8 points. */
static const double POINT[HALF_POINTS] = {0.1834346424956498, 0.5255324099163290,
                                          0.7966664774136267, 0.9602898564975363};
static const double POINT_WEIGHT[HALF_POINTS] = {
    0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763};

/* CIELAB: the straight part's end, and the slope there. */
static const double STRAIGHT_END = 216.0 / 24389.0;
static const double STRAIGHT_SLOPE = 841.0 / 108.0;

/* L*, a* and b* for each unit of the cube-root scale. */
static const double LAB_FACTOR[QS_OPPONENTS] = {
    [QS_OPPONENT_LIGHTNESS] = 116.0,
    [QS_OPPONENT_RED_GREEN] = 500.0,
    [QS_OPPONENT_YELLOW_BLUE] = 200.0,
};

static double
cube_root_slope(double tone)
{
    return tone > STRAIGHT_END ? 1.0 / (3.0 * pow(tone, 2.0 / 3.0)) : STRAIGHT_SLOPE;
}

double
qs_lightness_slope(double tone)
{
    return LAB_FACTOR[QS_OPPONENT_LIGHTNESS] * cube_root_slope(tone);
}

/* Frequencies of the delivered picture along one axis, dense where the eye changes. */
struct grid {
    double ppd;
    double per_unit; /* knots for each unit of asinh(cpd / KNEE_CPD) */
    double cpd[KNOTS];
};

static void
grid_fill(double pixels_per_degree, struct grid *grid)
{
    double range = asinh(0.5 * pixels_per_degree / KNEE_CPD);

    grid->ppd = pixels_per_degree;
    grid->per_unit = (KNOTS - 1) / range;
    for (int i = 0; i < KNOTS; i++)
        grid->cpd[i] = KNEE_CPD * sinh(i / grid->per_unit);
}

/*
 * Q10: how the nodes of a spectrum reach the grid along one axis.  share[k][i] is the
 * integral over |u| <= 0.5 of the filter's power response, times the function of node
 * k, times the function of knot i at the frequency that u is folded to.
 */
struct spread {
    double share[NODES][KNOTS];
    double square_share[NODES][KNOTS]; /* Q16: the same of the response's square */
};

/*
 * The four knots about a frequency and their shares by Lagrange's cubic, which is
 * right for what is smooth over the knots' even steps; below 0 lies a mirror.
 */
static void
find_knots(const struct grid *grid, double cpd, int knot[4], double share[4])
{
    double step = asinh(cpd / KNEE_CPD) * grid->per_unit;
    int low = (int)step;
    double t;

    if (low > KNOTS - 3)
        low = KNOTS - 3;
    t = step - low;
    share[0] = -t * (t - 1.0) * (t - 2.0) / 6.0;
    share[1] = (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0;
    share[2] = -(t + 1.0) * t * (t - 2.0) / 2.0;
    share[3] = (t + 1.0) * t * (t - 1.0) / 6.0;
    for (int i = 0; i < 4; i++)
        knot[i] = abs(low - 1 + i);
}

/* Adds one source frequency between nodes k and k + 1. */
static void
add_point(const struct grid *grid, double scale, int k, double u_cpp, double amount,
          double square_amount, struct spread *out)
{
    double delivered = u_cpp * scale;
    double cpd = grid->ppd * fabs(delivered - floor(delivered + 0.5));
    double upper =
        (u_cpp - qs_spectrum_cpp[k]) / (qs_spectrum_cpp[k + 1] - qs_spectrum_cpp[k]);
    int knot[4];
    double share[4];

    find_knots(grid, cpd, knot, share);
    for (int i = 0; i < 4; i++) {
        out->share[k][knot[i]] += amount * (1.0 - upper) * share[i];
        out->share[k + 1][knot[i]] += amount * upper * share[i];
        out->square_share[k][knot[i]] += square_amount * (1.0 - upper) * share[i];
        out->square_share[k + 1][knot[i]] += square_amount * upper * share[i];
    }
}

/* A stretch of source frequencies in which no node lies and no frequency is folded. */
static void
add_stretch(const struct qs_axis_gain *gain, const struct grid *grid, int k, double low,
            double high, struct spread *out)
{
    double middle = 0.5 * (low + high), half = 0.5 * (high - low);

    for (int p = 0; p < 2 * HALF_POINTS; p++) {
        double u_cpp = middle + (p % 2 == 0 ? half : -half) * POINT[p / 2];
        double both_sides = 2.0 * half * POINT_WEIGHT[p / 2];
        double kept = qs_axis_gain_at(gain, u_cpp);

        add_point(grid, gain->scale, k, u_cpp, both_sides * kept,
                  both_sides * kept * kept, out);
    }
}

static void
spread_fill(const struct qs_axis_gain *gain, const struct grid *grid,
            struct spread *out)
{
    const double slack = 1e-9;
    double low = 0.0;
    int fold = 1; /* the next one lies at fold / (2 scale) */

    *out = (struct spread){.share = {{0}}};
    for (int k = 0; k + 1 < NODES;) {
        double node = qs_spectrum_cpp[k + 1], next = 0.5 * fold / gain->scale;
        double high = fmin(node, next);

        if (high - low > slack)
            add_stretch(gain, grid, k, low, high, out);
        low = high;
        if (next <= node)
            fold++;
        if (node <= next)
            k++;
    }
}

/* Q11 */
void
qs_onlooker_fill(double pixels_per_degree, enum qs_eye eye,
                 const struct qs_eye_scene *scene, struct qs_onlooker *out)
{
    struct qs_contrast contrast;
    struct grid grid;

    grid_fill(pixels_per_degree, &grid);
    qs_contrast_fill(eye, scene, &contrast);
    out->pixels_per_degree = pixels_per_degree;
    for (int o = 0; o < (int)QS_OPPONENTS; o++)
        for (int j = 0; j < KNOTS; j++)
            for (int i = 0; i <= j; i++) {
                double seen = qs_contrast_at(&contrast, (enum qs_opponent)o,
                                             hypot(grid.cpd[i], grid.cpd[j]));

                out->seen[o][j][i] = out->seen[o][i][j] = seen * seen;
            }
}

/* One filter, size and distance, whatever the noise. */
struct looking {
    const struct qs_onlooker *onlooker;
    struct spread across, down;
};

static void
looking_fill(const struct qs_visible_input *input, struct looking *out)
{
    struct grid grid;

    grid_fill(input->pixels_per_degree, &grid);
    spread_fill(input->across, &grid, &out->across);
    if (input->down == input->across)
        out->down = out->across;
    else
        spread_fill(input->down, &grid, &out->down);
}

static double
dot(const double *a, const double *b, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum;
}

static double
sum_of(const double *values, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++)
        sum += values[i];
    return sum;
}

/* Q12 and Q13: what filter, grid and eye leave of each kind of noise. */
static struct qs_visible_parts
parts_left(const double across[NODES][KNOTS], const double down[NODES][KNOTS],
           const struct qs_spectrum *spectrum, const double eye[KNOTS][KNOTS])
{
    struct qs_visible_parts sum = {0.0, 0.0, 0.0};

    for (int l = 0; l < NODES; l++) {
        double along[KNOTS], kept[NODES];

        for (int i = 0; i < KNOTS; i++)
            along[i] = dot(down[l], eye[i], KNOTS);
        for (int k = 0; k < NODES; k++)
            kept[k] = dot(across[k], along, KNOTS);
        sum.pixel += dot(spectrum->pixel[l], kept, NODES);
        /* across, what rows share has frequency 0: the first knot, where filters leave
           all of it */
        sum.row += spectrum->row[l] * along[0];
        sum.column += spectrum->column[l] * dot(across[l], eye[0], KNOTS);
    }
    return sum;
}

/* The same without an eye. */
static double
plain_left(const struct looking *looking, const struct qs_spectrum *spectrum)
{
    double kept[NODES], sum = 0.0;

    for (int k = 0; k < NODES; k++)
        kept[k] = sum_of(looking->across.share[k], KNOTS);
    for (int l = 0; l < NODES; l++) {
        double along = sum_of(looking->down.share[l], KNOTS);

        sum += along * (dot(spectrum->pixel[l], kept, NODES) + spectrum->row[l]);
        sum += spectrum->column[l] * kept[l];
    }
    return sum;
}

static double
square_of(double value)
{
    return value * value;
}

/* Q16: the same parts of the spectrum's square by the response's square. */
static struct qs_visible_parts
squares_left(const struct looking *looking, const struct qs_spectrum *spectrum,
             const double eye[KNOTS][KNOTS])
{
    struct qs_spectrum square;
    double eye_square[KNOTS][KNOTS];

    for (int l = 0; l < NODES; l++) {
        for (int k = 0; k < NODES; k++)
            square.pixel[l][k] = square_of(spectrum->pixel[l][k]);
        square.row[l] = square_of(spectrum->row[l]);
        square.column[l] = square_of(spectrum->column[l]);
    }
    for (int j = 0; j < KNOTS; j++)
        for (int i = 0; i < KNOTS; i++)
            eye_square[j][i] = square_of(eye[j][i]);
    return parts_left(looking->across.square_share, looking->down.square_share, &square,
                      eye_square);
}

struct pair {
    bool known;
    double seen_sd, plain_sd;
    struct qs_visible_parts square; /* of what is seen */
};

/* One of the three, in the units of CIELAB. */
static struct pair
look(const struct looking *looking, const struct qs_spectrum *spectrum,
     enum qs_opponent opponent, double tone)
{
    double lab = LAB_FACTOR[opponent] * cube_root_slope(tone), lab4 = pow(lab, 4.0);
    struct pair out = {.known = false};
    struct qs_visible_parts parts;
    const double(*eye)[KNOTS] = looking->onlooker->seen[opponent];
    double seen, plain = plain_left(looking, spectrum);

    parts = parts_left(looking->across.share, looking->down.share, spectrum, eye);
    seen = parts.pixel + parts.row + parts.column;
    out.square = squares_left(looking, spectrum, eye);
    if (seen < 0.0 && seen >= -NOTHING * plain)
        seen = 0.0; /* too fine to be seen; what chance left of it is no noise */
    out.known = seen >= 0.0 && plain >= 0.0;
    if (!out.known)
        return (struct pair){.known = false};
    out.seen_sd = lab * sqrt(seen);
    out.plain_sd = lab * sqrt(plain);
    out.square.pixel *= lab4;
    out.square.row *= lab4;
    out.square.column *= lab4;
    return out;
}

static void
add_squares(struct qs_visible_parts *sum, const struct qs_visible_parts *more)
{
    sum->pixel += more->pixel;
    sum->row += more->row;
    sum->column += more->column;
}

static void
fill_colour(const struct looking *looking, const struct qs_visible_input *input,
            struct qs_visible *out)
{
    struct pair red_green =
        look(looking, input->red_green, QS_OPPONENT_RED_GREEN, input->tone);
    struct pair yellow_blue =
        look(looking, input->yellow_blue, QS_OPPONENT_YELLOW_BLUE, input->tone);

    out->has_colour = red_green.known && yellow_blue.known;
    if (!out->has_colour)
        return;
    out->red_green_sd = red_green.seen_sd;
    out->plain_red_green_sd = red_green.plain_sd;
    out->yellow_blue_sd = yellow_blue.seen_sd;
    out->plain_yellow_blue_sd = yellow_blue.plain_sd;
    add_squares(&out->square, &red_green.square);
    add_squares(&out->square, &yellow_blue.square);
}

static void
fill_total(bool grey, struct qs_visible *out)
{
    out->has_total = out->has_lightness && (grey || out->has_colour);
    if (out->has_total)
        out->total = sqrt(out->lightness_sd * out->lightness_sd +
                          out->red_green_sd * out->red_green_sd +
                          out->yellow_blue_sd * out->yellow_blue_sd);
}

static enum qs_status
check(const struct qs_visible_input *input, struct qs_error *err)
{
    assert(input->lightness != NULL && input->across != NULL && input->down != NULL);
    assert((input->red_green == NULL) == (input->yellow_blue == NULL));
    if (!(input->tone > 0.0 && isfinite(input->tone)))
        return qs_fail(err, QS_ERR_RANGE,
                       "The patch's mean is %g of white, where noise has no lightness; "
                       "choose a patch that got some light.",
                       input->tone);
    if (!(input->pixels_per_degree > 0.0 && isfinite(input->pixels_per_degree)))
        return qs_fail(err, QS_ERR_RANGE,
                       "%g pixels to a degree of view cannot be looked at; give a "
                       "viewing distance and a pixel size above 0.",
                       input->pixels_per_degree);
    return QS_OK;
}

enum qs_status
qs_visible(const struct qs_visible_input *input, struct qs_visible *out,
           struct qs_error *err)
{
    enum qs_status status = check(input, err);
    bool grey = input->red_green == NULL;
    struct looking looking = {.onlooker = input->onlooker};
    struct qs_onlooker own;
    struct pair lightness;

    if (status != QS_OK)
        return status;
    if (looking.onlooker == NULL) {
        qs_onlooker_fill(input->pixels_per_degree, input->eye, input->scene, &own);
        looking.onlooker = &own;
    }
    looking_fill(input, &looking);
    *out = (struct qs_visible){0};
    lightness = look(&looking, input->lightness, QS_OPPONENT_LIGHTNESS, input->tone);
    out->has_lightness = lightness.known;
    out->lightness_sd = lightness.seen_sd;
    out->plain_lightness_sd = lightness.plain_sd;
    out->square = lightness.square;
    if (!grey)
        fill_colour(&looking, input, out);
    fill_total(grey, out);
    return QS_OK;
}
