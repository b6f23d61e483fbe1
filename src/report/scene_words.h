/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * scene_words.h - the few figures of a scene that words are made of
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_SCENE_WORDS_H
#define QS_REPORT_SCENE_WORDS_H

#include "frame/repeats_run.h"

enum {
    QS_AVERAGES = 4
};

/* Numbers of frames that averaging is told for: 2, 4, 8, 16. */
extern const int qs_averages[QS_AVERAGES];

/* Share of the noise's power that is random, 0 to 1; 1 where there is none. */
double
qs_random_share(const struct qs_repeats *repeats);

/* Stops that the mean of `count` frames is quieter than one frame; 0 without noise. */
double
qs_averaged_stops(const struct qs_repeats *repeats, int count);

#endif
