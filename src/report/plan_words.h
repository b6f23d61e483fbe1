/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plan_words.h - figures of a plan as a photographer says them
 *
 * Every call writes at most `size` bytes, the closing zero counted, to `out`.  Light is
 * told to two figures: meters and cameras agree no better.
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_PLAN_WORDS_H
#define QS_REPORT_PLAN_WORDS_H

#include <stddef.h>

#include "plan/decide.h"

/* A number to so many figures, never with an exponent: "77", "150", "0.38". */
void
qs_words_figures(double value, int figures, char *out, size_t size);

/* "at 20 MP", "for A4 at 300 ppi (...)", "at full size (48 MP)". */
void
qs_words_plan_size(const struct qs_plan_row *row, char *out, size_t size);

/* "f/2.8 and 1/125 s". */
void
qs_words_setting(double f_number, double exposure_s, char *out, size_t size);

#endif
