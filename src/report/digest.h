/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * digest.h - the few figures of a frame that words are made of
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_REPORT_DIGEST_H
#define QS_REPORT_DIGEST_H

#include <stdbool.h>

#include "frame/frame.h"

/* 18 % of white: the middle grey that tone is counted from, in stops. */
#define QS_MID_GREY 0.18

struct qs_digest {
    int mid;      /* patch nearest to middle grey in luminance, or -1: no patch */
    int delivery; /* the size that the sentence is about, or -1: there is none */
    struct qs_frame_worth worth; /* there, first filter, luminance */
    double interval_stops;       /* half width of its 95 % interval */
    bool has_grain;
    double grain_px;      /* median over patches, luminance */
    double stripes_share; /* of the noise power, in whole rows and columns; median */
};

/*
 * The size is the first one asked for; of the usual ladder, the one with half the
 * pixels.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_digest(const struct qs_frame *frame, struct qs_digest *out, struct qs_error *err);

/* Half width of the 95 % interval of worth_stops. */
double
qs_worth_interval(struct qs_frame_worth worth);

/* log2(mean / middle grey) of a patch in luminance; false where mean is not > 0. */
bool
qs_tone_stops(const struct qs_patch *patch, double *stops);

/* Whether the delivery is as large as what it is made of. */
bool
qs_is_native(const struct qs_delivery *delivery);

#endif
