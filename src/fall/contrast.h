/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * contrast.h - how well the eye sees a faint pattern, coarse or fine
 *
 * Contrast sensitivity against frequency, for light and dark, for red against green and
 * for yellow against blue, each with its peak at 1.  The curve of light and dark has
 * its peak at a few cycles per degree and falls to 0 at frequency 0, as published: what
 * never changes across the view is a tone, not noise.  Those of colour are 1 at 0 and
 * only fall.
 *
 * Units: frequencies in cycles per degree of the eye's view (_cpd), at least 0.
 * Threads: after qs_contrast_fill only read.
 * Method: docs/method/visible.md, equations Q1 to Q7.
 */
#ifndef QS_FALL_CONTRAST_H
#define QS_FALL_CONTRAST_H

#include <stdbool.h>

enum qs_eye {
    QS_EYE_JOHNSON_FAIRCHILD,
    QS_EYE_BARTEN,
    QS_EYES
};

enum qs_opponent {
    QS_OPPONENT_LIGHTNESS,
    QS_OPPONENT_RED_GREEN,
    QS_OPPONENT_YELLOW_BLUE,
    QS_OPPONENTS
};

/* What the eye has before it; both above 0. */
struct qs_eye_scene {
    double luminance_cd_m2; /* mean of what is looked at */
    double field_deg;       /* side of the square looked at */
};

/* 100 cd/m2 and 10 degrees: a screen of middling brightness, or a print in good light.
 */
extern const struct qs_eye_scene qs_eye_usual;

/* Barten's eye in one scene. */
struct qs_barten {
    double pupil_mm;
    double retinal_td; /* light on the retina in trolands, Stiles-Crawford counted */
    double blur_deg;   /* sd of the optics' spread */
    double field_deg;
};

/* Q4: pupil for a scene, by the base-10 logarithm. */
double
qs_barten_pupil_mm(const struct qs_eye_scene *scene);

/* Q5: the eye with a pupil of that width, above 0 and below 9 mm. */
void
qs_barten_fill(const struct qs_eye_scene *scene, double pupil_mm,
               struct qs_barten *out);

/* Q6: sensitivity to light and dark, one over the least contrast seen; 0 at 0. */
double
qs_barten_at(const struct qs_barten *eye, double cpd);

/* One eye, ready to be asked. */
struct qs_contrast {
    enum qs_eye eye;
    struct qs_barten barten; /* filled for every eye */
    double peak;             /* of light and dark before it is set to 1 */
    double peak_cpd;
};

struct qs_eye_row {
    const char *key;   /* as typed and as in JSON */
    const char *label; /* for people */
    const char *source;
    bool heeds_scene; /* false: the same in every scene */
    double (*luminance)(const struct qs_contrast *, double cpd); /* not normalised */
};

/* The row of one eye. */
const struct qs_eye_row *
qs_eye_row(enum qs_eye eye);

/* The eye called `key`, or -1. */
int
qs_eye_find(const char *key);

/* `scene` may be NULL: qs_eye_usual.  Colour is Johnson and Fairchild's for every eye.
 */
void
qs_contrast_fill(enum qs_eye eye, const struct qs_eye_scene *scene,
                 struct qs_contrast *out);

/* Q1 to Q3, Q7: sensitivity, 0 to 1. */
double
qs_contrast_at(const struct qs_contrast *contrast, enum qs_opponent opponent,
               double cpd);

#endif
