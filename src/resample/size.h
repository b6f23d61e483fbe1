/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * size.h - delivery sizes as people say them
 *
 *   native       as it was shot
 *   50%          of the width (and the height)
 *   20MP         million pixels, shape kept
 *   3840px       long edge
 *   3840x2160    fit inside, shape kept
 *   hd uhd dci4k fit inside 1920x1080, 3840x2160, 4096x2160
 *   a4@300       ISO 216 sheet (a0 to a6) at pixels per inch, long edge to long edge
 *   30x20cm@240  any sheet, in cm, mm or in, at pixels per inch, likewise
 *   a4+3mm@300   a sheet with bleed on all sides, to be filled
 *   a2@2m        a sheet at the pixels per inch that are one arc-minute each from there
 *
 * Units: pixels; sheet sizes in millimetres (ISO 216).
 */
#ifndef QS_RESAMPLE_SIZE_H
#define QS_RESAMPLE_SIZE_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"

enum qs_size_kind {
    QS_SIZE_SHARE,  /* share of each side */
    QS_SIZE_PIXELS, /* number of pixels */
    QS_SIZE_LONG,   /* long edge in pixels */
    QS_SIZE_INSIDE, /* width x height to fit inside */
    QS_SIZE_SHEET   /* long x short edge to fit inside, whichever way the frame lies */
};

struct qs_size {
    enum qs_size_kind kind;
    double a;       /* share, pixels, long edge, width or long edge of the sheet (px) */
    double b;       /* height, or short edge of the sheet (px) */
    double ppi;     /* of a sheet; 0 otherwise */
    bool is_filled; /* a sheet with bleed: the frame is cropped to its shape, a : b */
    char text[32];  /* as it was typed */
};

/*
 * Reads a size.
 *
 *   QS_OK         *out is filled
 *   QS_ERR_USAGE  the text is none of the above; the sentence gives examples
 */
QS_MUST_CHECK enum qs_status
qs_size_parse(const char *text, struct qs_size *out, struct qs_error *err);

/*
 * The delivery's width and height for a frame (after any crop), each at least 1.
 * Returns false where either side would be larger than the frame's own.
 */
bool
qs_size_of(const struct qs_size *size, int width, int height, int *out_width,
           int *out_height);

/* The share of each side that takes a frame to the i-th size of the usual ladder:
   i = 0 native, then half a stop of pixel count at a time, 1/sqrt2 each. */
double
qs_size_ladder_share(int step);

enum {
    QS_SIZE_LADDER = 9 /* steps of the ladder: native down to 1/16 of the pixels */
};

/* A shape W:H taken out of the middle of a frame. */
struct qs_shape_ratio {
    double width; /* 0 = the whole frame */
    double height;
};

/* Reads "16:9" and the like.  QS_OK or QS_ERR_USAGE. */
QS_MUST_CHECK enum qs_status
qs_shape_ratio_parse(const char *text, struct qs_shape_ratio *out,
                     struct qs_error *err);

/* The largest centred box of that shape, in whole pixels. */
struct qs_box
qs_shape_ratio_box(struct qs_shape_ratio ratio, int width, int height);

#endif
