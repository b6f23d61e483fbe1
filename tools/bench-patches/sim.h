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
    NOISE_GRADIENT, /* the same, by filters that follow the other colours' gradients */
    NOISE_SOFT,     /* Gaussian kernel, sd 0.7 px */
    NOISE_SOFTER,   /* sd 1 px */
    NOISE_BLOTCHY,  /* sd 4 px */
    NOISE_STRIPED,  /* white, and an offset a row with half its sd */
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
    float *variance[QS_CHANNELS]; /* of the noise, known by construction */
    unsigned char *ends; /* where a sample was cut, or NULL; see frame_to_codes */
};

/* All of these end the program where memory is short. */
void *
must_alloc(size_t count, size_t size);

void
must_free(void *memory);

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

/*
 * Rounds and cuts to the codes of a 16-bit file, and notes in frame->ends where.  The
 * file holds light from -pedestal to 1 + pedestal.
 */
void
frame_to_codes(struct frame *frame, double pedestal);

void
frame_free(struct frame *frame);

struct outcome {
    int patches;
    int across;     /* patches that hold pixels of two regions */
    int smallest;   /* px */
    double covered; /* share of the frame */
    double error;   /* median over patches and channels of sd / truth - 1 */
    double worst;   /* the one farthest from 0 */
    double seconds; /* spent in qs_find_flat */
    struct qs_box box[QS_FIND_MAX];
};

/* Runs the finder on the frame; `label` may be NULL. */
struct outcome
outcome_of(const struct frame *frame, const unsigned short *label);

#endif
