/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fall/contrast.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

const struct qs_eye_scene qs_eye_usual = {100.0, 10.0};

/* Barten 1999, the values for an average observer. */
static const double SIGNAL_TO_NOISE = 3.0;
static const double INTEGRATION_S = 0.1;
static const double QUANTUM_EFFICIENCY = 0.03;
static const double PHOTONS = 1.2274e6;    /* per s, deg^2 and troland */
static const double NEURAL_NOISE = 3e-8;   /* s deg^2 */
static const double INHIBITION_CPD = 7.0;  /* below it light and dark are evened */
static const double FIELD_MOST_DEG = 12.0; /* the eye adds up no more */
static const double CYCLES_MOST = 15.0;    /*   and no more cycles */
static const double BLUR_LEAST_DEG = 0.5 / 60.0; /* of a small pupil */
static const double BLUR_DEG_PER_MM = 0.08 / 60.0;

/* One term of Q2: weight exp(-rate f^power). */
struct falling {
    double weight, rate, power;
};

static const struct falling red_green[2] = {{109.1413, 0.00038, 3.42436},
                                            {93.59711, 0.00367, 2.16771}};

/* The first rate is often printed rounded to 0, which would let a seventh of the
   contrast through at every frequency. */
static const struct falling yellow_blue[2] = {{7.0328, 0.000004, 4.2582},
                                              {40.6910, 0.1039, 1.6487}};

/* Q2 over its value at 0. */
static double
colour_at(const struct falling term[2], double cpd)
{
    double sum = 0.0;

    for (int i = 0; i < 2; i++)
        sum += term[i].weight * exp(-term[i].rate * pow(cpd, term[i].power));
    return sum / (term[0].weight + term[1].weight);
}

/* Q1. */
static double
johnson_fairchild(const struct qs_contrast *contrast, double cpd)
{
    (void)contrast;
    return 75.0 * pow(cpd, 0.8) * exp(-0.2 * cpd);
}

static double
barten(const struct qs_contrast *contrast, double cpd)
{
    return qs_barten_at(&contrast->barten, cpd);
}

static const struct qs_eye_row rows[QS_EYES] = {
    [QS_EYE_JOHNSON_FAIRCHILD] =
        {"johnson-fairchild", "Johnson and Fairchild",
         "Johnson and Fairchild 2003, after Movshon and Kiorpes 1988", false,
         johnson_fairchild},
    [QS_EYE_BARTEN] = {"barten", "Barten",
                       "Barten 1999; colour: Johnson and Fairchild 2003", true, barten},
};

const struct qs_eye_row *
qs_eye_row(enum qs_eye eye)
{
    return &rows[eye];
}

int
qs_eye_find(const char *key)
{
    for (int i = 0; i < (int)QS_EYES; i++)
        if (strcmp(rows[i].key, key) == 0)
            return i;
    return -1;
}

double
qs_barten_pupil_mm(const struct qs_eye_scene *scene)
{
    double flux = scene->luminance_cd_m2 * scene->field_deg * scene->field_deg / 1600.0;

    return 5.0 - 3.0 * tanh(0.4 * log10(flux));
}

void
qs_barten_fill(const struct qs_eye_scene *scene, double pupil_mm, struct qs_barten *out)
{
    double rim = pow(pupil_mm / 9.7, 2.0), outer = pow(pupil_mm / 12.4, 4.0);

    assert(pupil_mm > 0.0 && pupil_mm < 9.0);
    out->pupil_mm = pupil_mm;
    out->retinal_td =
        PI * pupil_mm * pupil_mm / 4.0 * scene->luminance_cd_m2 * (1.0 - rim + outer);
    out->blur_deg = hypot(BLUR_LEAST_DEG, BLUR_DEG_PER_MM * pupil_mm);
    out->field_deg = scene->field_deg;
}

double
qs_barten_at(const struct qs_barten *eye, double cpd)
{
    double optics = exp(-2.0 * pow(PI * eye->blur_deg * cpd, 2.0));
    double area_inverse = 1.0 / (eye->field_deg * eye->field_deg) +
                          1.0 / (FIELD_MOST_DEG * FIELD_MOST_DEG) +
                          cpd * cpd / (CYCLES_MOST * CYCLES_MOST);
    double photon = 1.0 / (QUANTUM_EFFICIENCY * PHOTONS * eye->retinal_td);
    double passed = -expm1(-pow(cpd / INHIBITION_CPD, 2.0));

    /* multiplied through by `passed`, which is 0 at 0 */
    return optics / SIGNAL_TO_NOISE *
           sqrt(INTEGRATION_S / 2.0 / area_inverse * passed /
                (photon * passed + NEURAL_NOISE));
}

/* Top of a curve that rises and then falls, by golden section over ln f. */
static double
find_peak_cpd(const struct qs_contrast *contrast)
{
    const double golden = 0.6180339887498949;
    double low = log(0.01), high = log(100.0);

    for (int i = 0; i < 64; i++) {
        double a = high - golden * (high - low), b = low + golden * (high - low);

        if (rows[contrast->eye].luminance(contrast, exp(a)) <
            rows[contrast->eye].luminance(contrast, exp(b)))
            low = a;
        else
            high = b;
    }
    return exp(0.5 * (low + high));
}

void
qs_contrast_fill(enum qs_eye eye, const struct qs_eye_scene *scene,
                 struct qs_contrast *out)
{
    const struct qs_eye_scene *seen = scene != NULL ? scene : &qs_eye_usual;

    assert(seen->luminance_cd_m2 > 0.0 && seen->field_deg > 0.0);
    out->eye = eye;
    qs_barten_fill(seen, qs_barten_pupil_mm(seen), &out->barten);
    out->peak_cpd = find_peak_cpd(out);
    out->peak = rows[eye].luminance(out, out->peak_cpd);
}

double
qs_contrast_at(const struct qs_contrast *contrast, enum qs_opponent opponent,
               double cpd)
{
    assert(cpd >= 0.0);
    switch (opponent) {
    case QS_OPPONENT_RED_GREEN:
        return colour_at(red_green, cpd);
    case QS_OPPONENT_YELLOW_BLUE:
        return colour_at(yellow_blue, cpd);
    default:
        return rows[contrast->eye].luminance(contrast, cpd) / contrast->peak;
    }
}
