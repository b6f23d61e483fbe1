/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * phrase.h - a sentence or list put together bit by bit
 *
 * Threads: one at a time for a phrase.
 */
#ifndef QS_REPORT_PHRASE_H
#define QS_REPORT_PHRASE_H

#include <stddef.h>

#include "base/status.h"

/* All zero = empty. */
struct qs_phrase {
    char text[1200];
    size_t used;
};

/* Adds to it; what does not fit is cut off. */
void
qs_say(struct qs_phrase *phrase, const char *format, ...) QS_PRINTF(2, 3);

#endif
