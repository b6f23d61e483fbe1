/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shot.h - what a file says of the exposure it came from
 *
 * Read from EXIF (TIFF's EXIF directory, PNG's eXIf chunk).  What a file does
 * not say stays unknown: a number of 0 or an empty text means "not recorded".
 * Rules: docs/reading.md, "What the shot says of itself".  Tags: CIPA DC-008
 * (Exif 2.3), from memory, numbers checked against libtiff's tiff.h.
 */
#ifndef QS_IMAGE_SHOT_H
#define QS_IMAGE_SHOT_H

#include <stdbool.h>

struct qs_shot {
    double iso; /* 0x8827; 0x8831-0x8833 where that one is full (65535); 0 = unknown */
    double exposure_s; /* shutter time, 0 = unknown */
    double f_number;   /* 0 = unknown */
    bool has_exposure_bias;
    double exposure_bias_stops;
    int orientation;  /* 1 to 8 as in TIFF tag 274; 1 where unknown */
    char camera[128]; /* maker and model as one text, UTF-8, "" = unknown */
};

#endif
