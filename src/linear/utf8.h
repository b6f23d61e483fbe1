/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * utf8.h - text from a profile, made fit to show
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_LINEAR_UTF8_H
#define QS_LINEAR_UTF8_H

#include <stddef.h>
#include <wchar.h>

/*
 * Writes the zero-ended `wide`, UTF-32 or UTF-16, as UTF-8 into `out` of `size` >= 1
 * bytes.  Control characters and halves of pairs are left out, as are blanks at
 * either end; what does not fit is cut off between characters.
 */
void
qs_utf8_from_wide(const wchar_t *wide, char *out, size_t size);

#endif
