/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * stillness.h - whether repeats of one scene really show the same
 *
 * Repeats are compared in luminance, 2 x 2 pixels taken together.  Three questions:
 * does the difference of two frames follow the slopes of the picture (a shift, of the
 * whole or of a part)?  Do windows of one frame fit better on another place of
 * the other (a large shift)?  Do small cells differ by more than the frames' own
 * noise lets them (something moved, or its light changed)?
 *
 * Units: pixels of the frame; luminance in linear light.
 * Memory: sums for tiles of 64 px and cells of 16 px, and up to QS_STILL_WINDOWS
 * windows of 256 px a frame.
 * Threads: filled and asked by one thread at a time.
 * Method: docs/method/repeats.md, equations R18 to R29.
 */
#ifndef QS_MEASURE_STILLNESS_H
#define QS_MEASURE_STILLNESS_H

#include <stdbool.h>

#include "base/plane.h"
#include "base/status.h"

enum {
    QS_STILL_ROWS = 16,   /* rows of the frame that are added at a time */
    QS_STILL_WINDOWS = 9, /* 3 x 3, spread over the frame */
};

struct qs_stillness;

/*
 * For `frames` >= 2 frames of this size.
 *
 *   QS_OK           *out is to be freed with qs_stillness_free
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_stillness_new(int frames, int width, int height, struct qs_stillness **out,
                 struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_stillness_free(struct qs_stillness *still);

/*
 * Adds rows y to y + QS_STILL_ROWS - 1 of all frames, y a multiple of QS_STILL_ROWS:
 * rows[k] is the luminance of frame k, `width` values a row, and ends[k] not 0 where a
 * sample sits at an end of the code range (`ends` may be NULL); nothing is asked of
 * such places.  Every such strip is to be added once, in any order; fewer rows at the
 * frame's end are left out.
 */
void
qs_stillness_add(struct qs_stillness *still, int y, const float *const *rows,
                 const unsigned char *const *ends);

enum qs_motion {
    QS_MOTION_NONE,
    QS_MOTION_WHOLE,  /* the whole frame is shifted */
    QS_MOTION_PART,   /* a part is shifted */
    QS_MOTION_CHANGE, /* a part has moved away or its light has changed */
    QS_MOTION_ALL     /* all of it differs, more coarsely than noise does */
};

struct qs_motion_found {
    enum qs_motion kind;
    double x;          /* shift against the first frame, + = right */
    double y;          /* + = down; both 0 with QS_MOTION_CHANGE and _ALL */
    struct qs_box box; /* where; the whole frame with QS_MOTION_WHOLE and _ALL */
};

/*
 * What frame `frame` (from 1) shows against the first one.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_stillness_judge(const struct qs_stillness *still, int frame,
                   struct qs_motion_found *out, struct qs_error *err);

#endif
