/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * frame.h - one frame from file to figures
 *
 * Reads a frame in strips, twice: once to find its flat patches (unless they are
 * given), once to take out their pixels; measures every patch in every
 * channel, at every delivery size through every filter asked for.
 *
 * Units: linear light, 1.0 = the file's white; pixels of the stored frame.
 * Memory: bounded by strips and patches, never by the picture.
 * Threads: uses those of the pool it is given; results don't depend on their number.
 */
#ifndef QS_FRAME_FRAME_H
#define QS_FRAME_FRAME_H

#include <stdbool.h>
#include <stdint.h>

#include "base/channel.h"
#include "base/plane.h"
#include "base/pool.h"
#include "base/status.h"
#include "fall/fall.h"
#include "frame/patch_traces.h"
#include "image/shot.h"
#include "linear/linear.h"
#include "measure/noise.h"
#include "measure/noise_spectrum.h"
#include "resample/filter.h"
#include "resample/size.h"

/* What to measure; all zero = find patches, the usual ladder of sizes, lanczos3. */
struct qs_frame_options {
    const struct qs_box *patches; /* given patches, or NULL to find them */
    int patch_count;
    const struct qs_size *sizes; /* or NULL for the ladder */
    int size_count;
    const enum qs_filter *filters; /* or NULL for lanczos3 alone */
    int filter_count;
    struct qs_shape_ratio crop; /* taken, centred, before the size */
    struct qs_encoding_choice encoding;
    bool encoded_light;  /* shrink code values instead of linear light */
    bool signals;        /* fill qs_patch.signal as well */
    struct qs_shot shot; /* what is not 0 or empty here goes before the file's own */
};

enum qs_warning_code {
    QS_WARN_NOISE_REDUCED,
    QS_WARN_SHARPENED,
    QS_WARN_EIGHT_BIT,
    QS_WARN_LOSSY_BLOCKS,
    QS_WARN_CLIPPED_BLACK,
    QS_WARN_CLIPPED_WHITE,
    QS_WARN_BANDING,
    QS_WARN_TEXTURED,
    QS_WARN_SMALL_PATCH,
    QS_WARN_NO_FLAT_PATCH,
    QS_WARN_ENCODING_ASSUMED,
    QS_WARN_EXPOSURE_DRIFT,
    QS_WARN_ISO_MISSING,
    QS_WARN_UPSCALE_SKIPPED,
    QS_WARN_ALPHA_IGNORED,
    QS_WARNINGS
};

/* "noise-reduced" and so on. */
const char *
qs_warning_key(enum qs_warning_code code);

struct qs_warning {
    enum qs_warning_code code;
    int patch;      /* index, or -1: the whole frame */
    char text[400]; /* what it does to the numbers, and what to do about it */
};

struct qs_patch_channel {
    struct qs_noise noise;
    double clipped_low; /* share of samples at the lowest code */
    double clipped_high;
    bool near_low;  /* within 3 sd of the lowest code, */
    bool near_high; /*   of the highest, or of a value highlights pile up at */
};

/* What a camera sheet keeps of a patch. */
struct qs_patch_signal {
    struct qs_noise noise; /* its mean is the signal's; of colour differences about 0 */
    struct qs_spectrum spectrum;
};

struct qs_patch {
    struct qs_box box;                            /* in the stored frame */
    bool found;                                   /* by the program; else given */
    struct qs_patch_channel channel[QS_CHANNELS]; /* from `first` on */
    struct qs_patch_traces traces;                /* what was done to the file */
    struct qs_patch_signal signal[QS_SIGNALS]; /* with options.signals; grey: y alone */
};

/* What to make of a frame's figures. */
enum qs_verdict_level {
    QS_VERDICT_FIT,
    QS_VERDICT_CARE,
    QS_VERDICT_UNUSABLE
};

struct qs_verdict {
    enum qs_verdict_level level;
    char text[320]; /* a sentence: the level, and why */
};

/* One size of the frame. */
struct qs_delivery {
    char text[32]; /* as asked for: "20MP"; "native" or "71 %" for the ladder */
    int width;
    int height;
    double reduction; /* linear: native width / width, mean of the axes in pixels */
};

/* One patch at one size through one filter. */
struct qs_fall_row {
    int patch;    /* index into patches */
    int delivery; /* index into deliveries */
    enum qs_filter filter;
    double contrast_kept; /* at half the new Nyquist frequency */
    double alias_share;
    struct qs_fall_value channel[QS_CHANNELS];
};

struct qs_frame {
    int width;
    int height;
    int channels; /* 1 or 3 */
    int bits;
    bool is_float;
    enum qs_channel first; /* QS_R, or QS_Y for grey */
    struct qs_shot shot;
    struct qs_encoding encoding;
    struct qs_box crop; /* what the deliveries are made of */
    struct qs_patch *patches;
    int patch_count;
    struct qs_delivery *deliveries;
    int delivery_count;
    enum qs_filter filters[QS_FILTERS];
    int filter_count;
    struct qs_fall_row *falls; /* by delivery, then filter, then patch */
    int fall_count;
    struct qs_warning *warnings;
    int warning_count;
    struct qs_verdict verdict;
};

/*
 * Called now and then with the share done, 0 to 1, from the thread that called
 * qs_frame_measure.
 */
typedef void
qs_frame_progress(void *context, double share);

/*
 * Measures the frame in file `path`.
 *
 *   QS_OK     *out is to be cleared with qs_frame_clear; a frame without a flat
 *             patch is a result too, with no patches and a warning
 *   otherwise *out is empty and *err says why: statuses of qs_image_open,
 *             qs_image_read and qs_linear_new, and
 *   QS_ERR_USAGE  a given patch is not inside the frame, or larger than
 *             QS_FRAME_MOST_PX pixels, or smaller than QS_SHADING_MIN_PX along a side
 */
QS_MUST_CHECK enum qs_status
qs_frame_measure(const char *path, const struct qs_frame_options *options,
                 struct qs_pool *pool, qs_frame_progress *progress, void *context,
                 struct qs_frame *out, struct qs_error *err);

enum {
    QS_FRAME_MOST_PX = 8000000 /* pixels of one patch */
};

/* Frees; a zeroed struct is allowed. */
void
qs_frame_clear(struct qs_frame *frame);

/*
 * Whether some of the patch's noise lies beyond black or white in any channel.  Cut
 * noise looks like anything: nothing is judged by such patches.
 */
bool
qs_patch_is_cut(const struct qs_frame *frame, const struct qs_patch *patch);

/*
 * Sd of the luminance noise in steps of 8-bit sRGB.  Below half a step the rounding
 * (0.29 of one) outweighs it; below one it spoils the noise's shape.
 */
double
qs_patch_steps(const struct qs_patch *patch);

/* What all patches together say about one size, filter and channel. */
struct qs_frame_worth {
    int patches; /* that had a figure */
    double worth_stops;
    double se_stops; /* standard error, patches' own scatter counted */
    double
        ideal_stops; /* 2 log2 of the reduction: plain averaging of independent noise */
};

/*
 * Mean of the patches' worth, weighted by how sure each is; where patches differ
 * by more than they are unsure of, their scatter counts (DerSimonian and Laird
 * 1986).  Patches within 3 sd of an end of the range, or with 0.2 % or more of
 * their samples clipped, are left out where others remain.  `filter` is an index into
 * frame->filters.
 */
struct qs_frame_worth
qs_frame_worth(const struct qs_frame *frame, int delivery, int filter,
               enum qs_channel channel);

/* Row of frame->falls for a delivery, an index into filters, and a patch. */
static inline const struct qs_fall_row *
qs_frame_fall(const struct qs_frame *frame, int delivery, int filter, int patch)
{
    return &frame->falls[((long)delivery * frame->filter_count + filter) *
                             frame->patch_count +
                         patch];
}

#endif
