/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * words.h - figures as a photographer says them
 *
 * Every call writes at most `size` bytes, the closing zero counted, to `out`.  Blanks
 * that belong to a figure are QS_GLUE, so that no line breaks there.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_WORDS_H
#define QS_REPORT_WORDS_H

#include <stddef.h>

#include "frame/frame.h"

enum {
    QS_WORDS = 128 /* room that is enough for any of these */
};

/* "1/125", "0.5", "2" seconds. */
void
qs_words_shutter(double exposure_s, char *out, size_t size);

/* "24", "8.29": megapixels, three digits. */
void
qs_words_megapixels(int width, int height, char *out, size_t size);

/* After "Delivered": "at 20 MP", "at half its pixels (12 MP)", "for A4 at 300 ppi
   (3508 x 2339 pixels)". */
void
qs_words_delivered(const struct qs_delivery *delivery, char *out, size_t size);

/* In a table: "20 MP", "70.7 %", "native". */
void
qs_words_size(const char *text, char *out, size_t size);

/* How exactly a figure in stops can be told: decimals for its 95 % interval. */
int
qs_words_digits(double interval);

/* "0.9 ± 0.1 stop", "1.42 ± 0.03 stops"; `interval` is the half width of 95 %. */
void
qs_words_stops(double stops, double interval, char *out, size_t size);

/* "red", "green", "blue" or "luminance". */
const char *
qs_words_channel(enum qs_channel channel);

/* "this ISO 6400 frame", or "this frame". */
void
qs_words_frame(const struct qs_frame *frame, char *out, size_t size);

#endif
