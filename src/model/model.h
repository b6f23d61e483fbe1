/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * model.h - noise variance against signal: what the camera adds, what light brings
 *
 *   var(m) = read2 + gain m + pattern2 m^2
 *
 * fitted by weighted least squares to patches of several tones.  None of the three is
 * below 0.  What can't be told apart is said so rather than guessed.
 *
 * Units: m in linear light, 1.0 = white; variances in its square; gain in its unit.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/model.md, equations V1 to V9.
 */
#ifndef QS_MODEL_MODEL_H
#define QS_MODEL_MODEL_H

#include <stdbool.h>

#include "base/status.h"

enum qs_model_part {
    QS_MODEL_READ2,    /* variance without light */
    QS_MODEL_GAIN,     /* variance that each unit of light brings: photon noise */
    QS_MODEL_PATTERN2, /* variance of the sensitivity, as a share of 1 */
    QS_MODEL_PARTS
};

/* What a point's variance is of. */
enum qs_model_kind {
    QS_POINT_TOTAL,  /* all noise of a frame */
    QS_POINT_RANDOM, /* what differs from frame to frame: no pattern in it */
    QS_POINT_FIXED   /* what stays: offsets that don't depend on light, and pattern */
};

struct qs_model_point {
    enum qs_model_kind kind;
    double mean;
    double variance; /* of fixed noise below 0 too, by chance */
    double freedom;  /* all and random: its relative variance is 2 / freedom; > 0 */
    double se;       /* fixed: standard error of `variance`; > 0 */
};

struct qs_model {
    double value[QS_MODEL_PARTS];
    double covariance[QS_MODEL_PARTS][QS_MODEL_PARTS]; /* as if none was held */
    bool fitted[QS_MODEL_PARTS]; /* false: too few tones to tell it; value 0 */
    bool held[QS_MODEL_PARTS];   /* came out below 0 and is held there */
    bool told[QS_MODEL_PARTS];   /* more than 2 standard errors above 0 */
    bool has_apart;              /* random and fixed noise came apart: read2 is the */
    double random_read2;         /*   sum of what is random */
    double fixed_offset2;        /*   and what is fixed; otherwise read2 and 0 */
    double chi2;                 /* of the points about the model */
    double freedom;              /* points less what was fitted */
    double scatter;              /* >= 1: the covariance was widened by that, as points
                                    scatter more than they are unsure of */
    double mean_low;             /* of the points */
    double mean_high;
    int points;
};

/*
 * Fits the model to `count` points.
 *
 *   QS_OK
 *   QS_ERR_TOO_FEW  no points
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_model_fit(const struct qs_model_point *points, int count, struct qs_model *out,
             struct qs_error *err);

/* Variance at a mean. */
double
qs_model_variance(const struct qs_model *model, double mean);

/* Its standard error. */
double
qs_model_variance_se(const struct qs_model *model, double mean);

#endif
