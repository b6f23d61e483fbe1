/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * still_rows.h - rows of all frames, made ready to be compared
 *
 * Luminance, 2 x 2 pixels taken together, without what says nothing of motion: samples
 * at an end of the code range, and what each row as a whole is brighter by (drift and
 * flicker of the light, noise of the row).
 *
 * Units: linear light; places in binned values.
 * Threads: one at a time.
 * Method: docs/method/repeats.md, equations R18 and R19.
 */
#ifndef QS_MEASURE_STILL_ROWS_H
#define QS_MEASURE_STILL_ROWS_H

#include <stddef.h>

#include "base/status.h"

enum {
    QS_STILL_BIN = 2,  /* pixels along a side taken together */
    QS_STILL_LINES = 8 /* rows of binned values that are made at a time */
};

struct qs_still_rows {
    int frames;
    int width;     /* of the frame, in pixels */
    int columns;   /* of binned values */
    float *values; /* [frames + 1][QS_STILL_LINES][columns]; the last: their mean */
    unsigned char *blind; /* [QS_STILL_LINES][columns]: a sample sits at an end */
    double *level; /* [frames][QS_STILL_LINES]: what rows were brighter by; 0 for the
                      first frame */
    double *room;  /* [columns] */
};

/*
 * Room for frames `width` pixels wide.
 *
 *   QS_OK, QS_ERR_MEMORY; to be cleared with qs_still_rows_clear after either
 */
QS_MUST_CHECK enum qs_status
qs_still_rows_init(struct qs_still_rows *still, int frames, int width,
                   struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_still_rows_clear(struct qs_still_rows *still);

/*
 * Fills values and blind from QS_STILL_BIN x QS_STILL_LINES rows of each frame:
 * luminance rows[k], and ends[k], not 0 where a sample of the pixel sits at an end
 * of the code range.  `ends` may be NULL.
 */
void
qs_still_rows_fill(struct qs_still_rows *still, const float *const *rows,
                   const unsigned char *const *ends);

/*
 * R18 and R19: fills blind places with what all frames have there, takes off what each
 * row is brighter by than the first frame's, and notes that in level.  Both put some of
 * one frame into the others: what is to be shifted against each other is taken before.
 */
void
qs_still_rows_level(struct qs_still_rows *still);

/* Frame `frame`; still->frames is the mean of all. */
static inline float *
qs_still_rows_of(const struct qs_still_rows *still, int frame)
{
    return still->values + (ptrdiff_t)frame * QS_STILL_LINES * still->columns;
}

#endif
