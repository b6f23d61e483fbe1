/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * series.h - frames of one scene, one after the other: do they drift?
 *
 * Each frame is compared with the first one, patch by patch where patches lie in
 * the same place.  Frames that do not show one scene, or
 * are not of one encoding, are left alone.
 */
#ifndef QS_FRAME_SERIES_H
#define QS_FRAME_SERIES_H

#include "frame/frame.h"

struct qs_series_patch {
    struct qs_box box;
    double mean[QS_CHANNELS];
};

/* All zero before the first frame. */
struct qs_series {
    struct qs_series_patch *patches; /* of the first frame that had any */
    int patch_count;
    int width;
    int height;
    int channels;
    struct qs_shot shot;
    struct qs_encoding encoding;
};

/*
 * Compares *frame with the first one, adds the warning exposure-drift where it differs,
 * and renews its verdict.  The first frame is remembered.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_series_check(struct qs_series *series, struct qs_frame *frame, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_series_clear(struct qs_series *series);

#endif
