/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plain_text.h - text from outside, made fit to show, and its width on a screen
 *
 * File names and camera names may hold anything: bytes that are no UTF-8, line
 * ends, codes that move a terminal's cursor.  What is shown holds none of these.
 *
 * Units: columns of a terminal.
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_BASE_PLAIN_TEXT_H
#define QS_BASE_PLAIN_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * Reads one character of zero-ended `text`, which is not empty.  Returns its
 * length in bytes; *code is U+FFFD, and the length 1, for a byte that is no UTF-8.
 */
size_t
qs_text_next(const char *text, uint32_t *code);

/*
 * Copies `text` into `out` of `size` >= 1 bytes as valid UTF-8: a byte that is none
 * becomes U+FFFD; what does not fit is cut off between characters.  With
 * `for_screen` control characters become "?".
 */
void
qs_text_clean(const char *text, bool for_screen, char *out, size_t size);

/* Bytes that qs_text_clean may need for `text`, the closing zero counted. */
size_t
qs_text_clean_room(const char *text);

/* Columns one character takes: 0, 1 or 2 (Unicode Annex 11, the wide blocks). */
int
qs_text_code_columns(uint32_t code);

/* Columns that `text` takes. */
int
qs_text_columns(const char *text);

/*
 * Copies the end of `text` that fits `columns` >= 4 into `out`; what is left out in
 * front shows as "...".  For file names, whose end says most.
 */
void
qs_text_tail(const char *text, int columns, char *out, size_t size);

#endif
