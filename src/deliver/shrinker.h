/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shrinker.h - a picture shrunk in linear light, strip by strip, on all processors
 *
 * Rows are read in order and once; while a round of delivered strips is made from what
 * was read, the next rows are read and the strips of the round before are written.
 * Memory grows with the picture's width and the filter's reach, not with its height.
 * The result is the same to the bit for any number of threads.
 *
 * Units: linear light inside, code values outside.
 * Threads: uses those of the pool it is given.
 * Method: docs/method/deliver.md.
 */
#ifndef QS_DELIVER_SHRINKER_H
#define QS_DELIVER_SHRINKER_H

#include <stdbool.h>
#include <stdint.h>

#include "base/plane.h"
#include "base/pool.h"
#include "base/status.h"
#include "deliver/fingerprint.h"
#include "image/image.h"
#include "linear/encode.h"
#include "linear/linear.h"
#include "resample/filter.h"

/* What takes the delivered strips. */
struct qs_strip_sink {
    void *context;
    int strip_rows; /* rows of every strip but the last */
    /*
     * Strip `index` as interleaved codes, uint8_t or uint16_t, which stay as they are
     * until it has been put; may be changed.  Called from any thread, in any order;
     * what it makes of them goes to *made.
     */
    enum qs_status (*pack)(void *context, int index, void *codes, int rows, void **made,
                           struct qs_error *err);
    /* In the order of the strips, one at a time; frees `made`. */
    enum qs_status (*put)(void *context, int index, void *made, struct qs_error *err);
    void (*drop)(void *context, void *made); /* frees what is not to be put */
};

struct qs_shrink_job {
    struct qs_image *image; /* at its first row */
    const struct qs_linear *linear;
    const struct qs_encoder *encoder;
    struct qs_box crop; /* of the picture, shrunk to out_width x out_height */
    int out_width;
    int out_height;
    enum qs_filter filter;
    enum qs_alpha alpha_out; /* as the image's, or straight for multiplied, or none */
    int bits;                /* 8 or 16 */
    struct qs_fingerprint *print; /* the crop's rows are added; or NULL */
    struct qs_pool *pool;
    void (*progress)(void *context, double share); /* or NULL */
    void *progress_context;
};

/*
 * Runs a job.
 *
 *   QS_OK           all strips were put
 *   QS_ERR_MEMORY
 *   otherwise       statuses of qs_image_read, and of the sink
 */
QS_MUST_CHECK enum qs_status
qs_shrinker_run(const struct qs_shrink_job *job, const struct qs_strip_sink *sink,
                struct qs_error *err);

#endif
