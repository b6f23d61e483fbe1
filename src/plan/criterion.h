/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * criterion.h - what a photographer takes for quiet enough
 *
 * Three ways to say it: a signal-to-noise ratio at a tone; "as quiet as ISO 400 at
 * full size"; noise as the eye sees it from where the picture is looked at.  What is
 * quiet enough is the user's to say; the criterion used where nothing is said is
 * named as such.
 *
 * Units: tone in stops from an 18 % grey; ratios are plain numbers; noise as seen is a
 * standard deviation in CIELAB units.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/plan.md.
 */
#ifndef QS_PLAN_CRITERION_H
#define QS_PLAN_CRITERION_H

#include <stdbool.h>

#include "base/channel.h"
#include "base/status.h"
#include "fall/contrast.h"

#define QS_GREY_TONE 0.18 /* the middle grey that tone is counted from */

/* The pair of ISO 12232, "excellent" and "acceptable" (read at second hand). */
#define QS_SNR_EXCELLENT 40.0
#define QS_SNR_ACCEPTABLE 10.0

enum qs_criterion_kind {
    QS_BY_SNR,  /* signal-to-noise ratio of at least `snr` */
    QS_BY_LIKE, /* as quiet as ISO `like_iso` at full size */
    QS_BY_SEEN  /* noise as seen of at most `seen` */
};

struct qs_criterion {
    enum qs_criterion_kind kind;
    bool is_default; /* nothing was asked for */
    double snr;
    double like_iso;
    double seen;
    double tone_stops;
    enum qs_channel channel; /* whose noise counts, but for noise as seen */
    bool is_viewed;          /* judged as seen from `distance_m` at `ppi` */
    double distance_m;
    double ppi;
    enum qs_eye eye;
};

/* SNR 10 at an 18 % grey, in luminance. */
struct qs_criterion
qs_criterion_default(void);

/*
 * Reads a signal-to-noise ratio: a number from 0.1 to 10000, "excellent" or
 * "acceptable".
 *
 *   QS_OK, QS_ERR_USAGE
 */
QS_MUST_CHECK enum qs_status
qs_criterion_read_snr(const char *text, double *snr, struct qs_error *err);

/* The tone in linear light. */
double
qs_criterion_tone(const struct qs_criterion *criterion);

/* Pixels of the picture in a degree of view; only where it is viewed. */
double
qs_criterion_pixels_per_degree(const struct qs_criterion *criterion);

/* Room that is enough for the words below. */
enum {
    QS_CRITERION_WORDS = 320
};

/* "a signal-to-noise ratio of 10 in luminance, at an 18 % grey". */
void
qs_criterion_words(const struct qs_criterion *criterion, char *out, int size);

#endif
