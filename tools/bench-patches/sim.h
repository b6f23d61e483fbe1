/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sim.h - clean pictures, the noise put on them, and what the finder makes of it
 *
 * For the patch benchmark alone.  Linear light, 1.0 = white.  The noise of a
 * sample of value m has the variance a m + b before any kernel; kernels have
 * squares that sum to one, so that they keep it.
 */
#ifndef BENCH_SIM_H
#define BENCH_SIM_H

#include "base/plane.h"
#include "base/random.h"
#include "flat/find.h"

struct picture {
    int width;
    int height;
    int channels; /* 1 or 3 */
    float *plane[3];
    unsigned short *label; /* regions no patch may leave; NULL = none known */
};

enum noise_kind {
    NOISE_WHITE,
    NOISE_DEMOSAICED, /* one colour a pixel (RGGB), the rest from neighbours' means */
    NOISE_SOFT,       /* Gaussian kernel, sd 0.7 px */
    NOISE_SOFTER,     /* sd 1 px */
    NOISE_BLOTCHY,    /* sd 4 px */
    NOISE_STRIPED,    /* white, and an offset a row with half its sd */
    NOISE_KINDS
};

extern const char *const noise_name[NOISE_KINDS];

struct noise {
    enum noise_kind kind;
    double a;
    double b;
};

struct frame {
    int width;
    int height;
    enum qs_channel first;
    float *plane[QS_CHANNELS];
    float *variance; /* of y, known by construction */
};

/* All of these end the program where memory is short. */
struct picture
picture_new(int width, int height, int channels, bool with_labels);

void
picture_free(struct picture *picture);

/* Gaussian blur with sd `sigma` px, edges mirrored; sigma 0 does nothing. */
void
blur(float *plane, int width, int height, double sigma);

struct frame
frame_make(const struct picture *picture, const struct noise *noise,
           struct qs_random *random);

void
frame_free(struct frame *frame);

struct outcome {
    int patches;
    int across;     /* patches that hold pixels of two regions */
    int smallest;   /* px */
    double covered; /* share of the frame */
    double error;   /* median over the patches of sd / truth - 1 */
    double worst;   /* largest absolute one */
    double stops;   /* tones from darkest to brightest patch */
    double seconds; /* spent in qs_find_flat */
    struct qs_box box[QS_FIND_MAX];
};

/* Runs the finder on the frame; `label` may be NULL. */
struct outcome
outcome_of(const struct frame *frame, const unsigned short *label);

#endif
