/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * repeats_run.h - repeats of one scene, from files to figures
 *
 * Reads all frames strip by strip in step: whether they show the same, how bright
 * each is, random noise over tone, where the scene is flat.  Then reads each frame's
 * patches, one frame after the other: random and fixed noise apart, and how the
 * random part falls with size.
 *
 * Units: linear light, 1.0 = the file's white; pixels of the stored frame.
 * Memory: a strip of each frame, and the patches' means; never a picture.
 * Threads: uses those of the pool it is given; results don't depend on their number.
 * Method: docs/method/repeats.md.
 */
#ifndef QS_FRAME_REPEATS_RUN_H
#define QS_FRAME_REPEATS_RUN_H

#include "base/pool.h"
#include "base/status.h"
#include "frame/frame.h"
#include "measure/repeats.h"
#include "measure/tone_bins.h"

enum {
    QS_REPEATS_MOST = 64 /* frames of one scene */
};

struct qs_scene_patch {
    struct qs_repeats channel[QS_CHANNELS]; /* from random.first on */
};

/* Brightness of one frame in each channel, 1 = the mean of all frames. */
struct qs_scene_light {
    double of_mean[QS_CHANNELS];
};

struct qs_same_scene {
    int frames;
    struct qs_scene_light *light; /* of each frame */
    /*
     * A frame like each of them but for its noise, which is the random part alone: its
     * patches, deliveries and falls, and the warnings that concern the series.  A
     * patch's mean is that of all frames.
     */
    struct qs_frame random;
    struct qs_scene_patch *patches; /* as many as random has */
    struct qs_tone_class tones[QS_CHANNELS][QS_TONE_CLASSES]; /* darkest first */
    int tone_count[QS_CHANNELS];
};

/*
 * Measures `count` frames of one scene, 2 to QS_REPEATS_MOST.
 *
 *   QS_OK     *out is to be cleared with qs_same_scene_clear
 *   otherwise *out is empty, *err says why, and *culprit is the index of the frame it
 *             is about: statuses of qs_frame_measure, and
 *   QS_ERR_UNSUPPORTED  a frame that is no repeat of the first one: another size or
 *             kind of file, another exposure, a copy, shifted, or with something moved
 */
QS_MUST_CHECK enum qs_status
qs_same_scene_measure(const char *const *paths, int count,
                      const struct qs_frame_options *options, struct qs_pool *pool,
                      qs_frame_progress *progress, void *context,
                      struct qs_same_scene *out, int *culprit, struct qs_error *err);

/*
 * Takes over the warnings of one of the frames, measured by itself with the same
 * patches, that scene->random has not yet (by code and patch); but not those that its
 * noise was smoothed or sharpened, which structure of the surface looks like.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_same_scene_heed(struct qs_same_scene *scene, const struct qs_frame *frame,
                   struct qs_error *err);

/*
 * Says of the random part, in which there is no surface, whether it was smoothed or
 * sharpened; to be called once all frames were heeded.
 *
 *   QS_OK, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_same_scene_judge(struct qs_same_scene *scene, struct qs_error *err);

/* Frees; a zeroed struct is allowed. */
void
qs_same_scene_clear(struct qs_same_scene *scene);

#endif
