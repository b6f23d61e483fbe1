/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * nearest.h - the name that a mistyped one was probably meant to be
 */
#ifndef QS_CLI_NEAREST_H
#define QS_CLI_NEAREST_H

/*
 * The name among `count` names that is fewest slips (a letter missing, added, wrong, or
 * two swapped) away from `word`; NULL where all are too far.
 */
const char *
qs_nearest(const char *word, const char *const *names, int count);

#endif
