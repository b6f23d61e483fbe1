/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tone_bins.h - random noise over tone, from repeats of any scene
 *
 * Two repeats differ by their random noise alone, whatever the scene shows.  Their
 * squared differences are gathered in fine classes of tone, which are put together
 * to a dozen and more when all has been seen.  A pixel's class is chosen by frames
 * other than the two that are compared, so that no pixel is taken for its noise;
 * with two frames there are no others, and the pixels around it stand in.  A
 * change of the light between two frames, the same for all of the scene, is taken off.
 *
 * Units: linear light; variances in its square.
 * Threads: one struct qs_tone_bins is filled by one thread at a time.
 * Method: docs/method/repeats.md, equations R13 to R17.
 */
#ifndef QS_MEASURE_TONE_BINS_H
#define QS_MEASURE_TONE_BINS_H

#include <stdbool.h>

#include "base/status.h"

enum {
    QS_TONE_CLASSES = 16, /* most classes a scene is given */
    QS_TONE_BLOCK_PX = 4  /* side of the blocks that stand in with two frames */
};

struct qs_tone_bins;

/*
 * Empty bins of one channel for this many frames, at least 2.
 *
 *   QS_OK           *out is to be freed with qs_tone_bins_free
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_tone_bins_new(int frames, struct qs_tone_bins **out, struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_tone_bins_free(struct qs_tone_bins *bins);

/*
 * A row of `width` pixels of every frame: rows[k] are those of frame k; ends[k][x] &
 * mask is not 0 where a sample sits at an end of the code range.  chooser[x] is the
 * mean of all frames at x; with two frames, that of pixels around x but not x.  Rows of
 * one `group` (any number >= 0) lie together; how much groups differ shows how
 * sure the figures are.
 */
struct qs_tone_row {
    const float *const *rows;
    const unsigned char *const *ends;
    unsigned mask;
    const float *chooser;
    int width;
    int group;
};

void
qs_tone_bins_add(struct qs_tone_bins *bins, const struct qs_tone_row *row);

/* Random noise of the pixels of one class. */
struct qs_tone_class {
    double mean;
    double sd;     /* of one frame */
    double sd_low; /* 95 % interval */
    double sd_high;
    double pixels;  /* about how many there are, in one frame */
    double clipped; /* share of samples at either end of the code range */
};

/*
 * Puts the bins together, darkest first; returns how many classes there are, at most
 * QS_TONE_CLASSES, fewer where the frames are small or hold little of tone.
 */
int
qs_tone_bins_classes(const struct qs_tone_bins *bins,
                     struct qs_tone_class classes[QS_TONE_CLASSES]);

#endif
