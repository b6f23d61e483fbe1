/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tone.h - the curve of one channel of a profile
 *
 * A curve is a formula or a table.  It is brought to 0 at its black and 1 at its
 * white, and goes on outside them.  Knows nothing of how profiles are stored.
 *
 * Units: fractions of the code range to linear light.
 * Threads: after qs_tone_finish a tone is only read.
 * Memory: a tone owns its table; qs_tone_clear frees it.
 * Method: docs/method/linear.md, L8, L11 and L12.
 */
#ifndef QS_LINEAR_TONE_H
#define QS_LINEAR_TONE_H

#include <stdbool.h>

#include "base/status.h"

/* All zero is an empty tone, which qs_tone_clear accepts. */
struct qs_tone {
    double (*formula)(const void *curve, double fraction); /* NULL: by the table */
    const void *curve; /* what the formula is called with; owned by the caller */
    double *table;     /* values over fractions 0 to 1 in even steps */
    int entries;       /* of the table, at least 2 */
    bool is_lightness; /* the curve gives L* / 100 */
    bool mirrored;     /* the curve stops at 0; below, it is mirrored about there */
    double black;      /* light at 0, before that is taken off */
    double white;      /* light at 1, before black is taken off */
};

/*
 * Takes a formula, and finds out whether it falls on below 0 (as those with a
 * straight toe do) or stops there.
 */
void
qs_tone_use_formula(struct qs_tone *tone,
                    double (*formula)(const void *curve, double fraction),
                    const void *curve);

/*
 * Makes room in tone->table for `entries` values, which the caller then fills.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_tone_use_table(struct qs_tone *tone, int entries, struct qs_error *err);

/*
 * Settles black and white once formula or table are in.
 *
 *   QS_OK           the tone may be used
 *   QS_ERR_PROFILE  it does not rise from black to white
 */
QS_MUST_CHECK enum qs_status
qs_tone_finish(struct qs_tone *tone, struct qs_error *err);

void
qs_tone_clear(struct qs_tone *tone);

double
qs_tone_light(const struct qs_tone *tone, double fraction);

/* QS_ERR_PROFILE with the sentence for a profile that leads nowhere. */
enum qs_status
qs_tone_fail_flat(struct qs_error *err);

#endif
