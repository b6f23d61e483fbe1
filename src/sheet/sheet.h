/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sheet.h - one camera's noise over ISO and tone, kept
 *
 * For each ISO and signal: the measured points, the model fitted to them, and the
 * noise's spectrum in the shadows, the middle and the lights.  All that `plan` needs,
 * without the frames.  Numbers are rounded to the digits they are kept with, so that a
 * sheet that was written and read back is the same to the bit.
 *
 * Units: linear light, 1.0 = the file's white; tone is the mean of luminance in a
 * patch; frequencies in cycles per pixel of the frame.
 * Memory: a sheet owns all it points to; qs_sheet_clear frees it.
 * Threads: one at a time for a sheet; any number may read it.
 * Method: docs/method/sheet.md.
 */
#ifndef QS_SHEET_SHEET_H
#define QS_SHEET_SHEET_H

#include <stdbool.h>

#include "base/channel.h"
#include "base/status.h"
#include "measure/noise_spectrum.h"
#include "model/model.h"

enum {
    QS_SHEET_FORMAT = 1,
    QS_SHEET_ZONES = 3,  /* shadows, middle, lights: each has a spectrum of its own */
    QS_SHEET_TEXT = 128, /* bytes of a name, the closing zero counted */
    QS_SHEET_ISOS = 256  /* most ISO values in a sheet */
};

/* Patches of about one tone, put together. */
struct qs_sheet_point {
    enum qs_model_kind kind;
    double tone; /* luminance */
    double mean; /* of the signal's own channel; of colour differences: the tone */
    double variance;
    double freedom; /* of all and of random noise: effective degrees of freedom */
    double se;      /* of fixed noise: standard error of its variance */
    int patches;
};

/* How the noise of one zone hangs together, its variance taken as 1. */
struct qs_sheet_zone {
    bool known;
    double tone;   /* mean luminance of its patches */
    double pixels; /* that it rests on, */
    double rows; /*   the rows and columns of the frames that its patches cover: what */
    double columns; /*   whole rows share is known from so many */
    struct qs_spectrum spectrum;
};

struct qs_sheet_signal {
    struct qs_sheet_point *points; /* by kind, darkest first */
    int point_count;
    bool fitted; /* the model is there: points are enough */
    struct qs_model model;
    struct qs_sheet_zone zones[QS_SHEET_ZONES];
};

/* A frame that a sheet rests on. */
struct qs_sheet_frame {
    char *file;
    double exposure_s; /* 0 = unknown, as below */
    double f_number;
    double light_lx; /* at the subject, from the log */
    bool repeat;     /* one of several of the same scene, compared with each other */
    int patches;
    bool with_care; /* the verdict on it was to use it with care */
    char *warnings; /* their codes, with blanks between; "" = none */
};

struct qs_sheet_iso {
    double iso;
    double tone_low; /* darkest and brightest patch, luminance */
    double tone_high;
    struct qs_sheet_signal signals[QS_SIGNALS]; /* grey: QS_Y alone */
    struct qs_sheet_frame *frames;
    int frame_count;
};

/* A file that was left out, and why. */
struct qs_sheet_refused {
    char *file;
    char *why;
};

struct qs_sheet_calibration {
    bool known;
    double stops; /* how far a grey lies above what the light promises */
    double light_lx;
    char file[QS_SHEET_TEXT];
};

struct qs_sheet {
    char camera[QS_SHEET_TEXT]; /* "" = unknown */
    char encoding[QS_SHEET_TEXT];
    int width; /* of its frames */
    int height;
    int channels; /* 1 or 3 */
    struct qs_sheet_calibration calibration;
    struct qs_sheet_iso *isos; /* lowest first */
    int iso_count;
    struct qs_sheet_refused *refused;
    int refused_count;
};

/* Frees; a zeroed struct is allowed. */
void
qs_sheet_clear(struct qs_sheet *sheet);

/* First signal of the sheet's frames: red, or luminance of grey ones. */
int
qs_sheet_first(const struct qs_sheet *sheet);

/* Signals end here: grey ones have no colour differences. */
int
qs_sheet_end(const struct qs_sheet *sheet);

/* The ISO's place in the sheet, made where it is new; NULL: no memory, or more than
   QS_SHEET_ISOS. */
struct qs_sheet_iso *
qs_sheet_iso_at(struct qs_sheet *sheet, double iso);

/* The zone that a tone > 0 belongs to. */
int
qs_sheet_zone_of(double tone);

/* Adds a point.  QS_OK, QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_sheet_add_point(struct qs_sheet_signal *signal, const struct qs_sheet_point *point,
                   struct qs_error *err);

/* What a spectrum was measured in; rows and columns that a zone has from another patch
   of the same frame tell nothing new of what they share. */
struct qs_sheet_ground {
    double pixels;
    double rows;
    double columns;
};

/* Adds the spectrum of a patch, of any variance above 0. */
void
qs_sheet_add_spectrum(struct qs_sheet_signal *signal, double tone,
                      struct qs_sheet_ground ground,
                      const struct qs_spectrum *spectrum);

/* Names a file that was left out; named before, it gets this reason instead.  QS_OK,
   QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_sheet_refuse(struct qs_sheet *sheet, const char *file, const char *why,
                struct qs_error *err);

/* A file that was left out once is in after all. */
void
qs_sheet_readmit(struct qs_sheet *sheet, const char *file);

/* Whether the sheet rests on a frame of that name. */
bool
qs_sheet_holds(const struct qs_sheet *sheet, const char *file);

/* Adds a frame's record; of its texts, the two given are copied.  QS_OK,
   QS_ERR_MEMORY. */
QS_MUST_CHECK enum qs_status
qs_sheet_add_frame(struct qs_sheet_iso *iso, const struct qs_sheet_frame *frame,
                   const char *file, const char *warnings, struct qs_error *err);

/*
 * To be called once all points are in: puts those within a quarter of a stop of tone
 * together, fits the models, and rounds all numbers to the digits they are kept with.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_sheet_finish(struct qs_sheet *sheet, struct qs_error *err);

/* A number as a sheet keeps it: the nearest one of so many decimal digits. */
double
qs_sheet_round(double value, int digits);

enum {
    QS_SHEET_DIGITS = 9,         /* of numbers */
    QS_SHEET_SPECTRUM_DIGITS = 4 /* of spectra */
};

#endif
