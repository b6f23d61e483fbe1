/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * fall_scene.h - one patch of a known field, measured and shrunk, for tests
 *
 * Needs check.h.  The true variance after a filter is worked out from the weights of
 * the field's own operation and of the filter as written a second time
 * (kernel_reference.h), in double precision.
 */
#ifndef QS_TESTS_FALL_SCENE_H
#define QS_TESTS_FALL_SCENE_H

#include <check.h>
#include <stdlib.h>

#include "fall/fall.h"
#include "kernel_reference.h"
#include "noise_fields.h"
#include "resample/shrink.h"

#define SCENE_MEAN 0.2
#define SCENE_SD 0.01

struct scene {
    const struct field_kind *kind;
    int frame_px; /* the frame is square, and even */
    struct qs_box box;
    int margin_px; /* even pixels around the patch that kernels may see */
};

struct scene_outcome {
    struct qs_noise noise;
    struct qs_fall_value fall;
};

static inline struct qs_reduction
scene_reduction(enum qs_filter filter, struct qs_box crop, int out_width,
                int out_height)
{
    struct qs_error err = {QS_OK, ""};
    struct qs_reduction reduction;

    ck_assert_msg(qs_reduction_init(&reduction, filter, crop, out_width, out_height,
                                    &err) == QS_OK,
                  "%s", err.text);
    return reduction;
}

static inline struct qs_patch_view
scene_view(const struct scene *scene, float *px)
{
    int n = scene->frame_px, margin = scene->margin_px;
    struct qs_box box = scene->box;
    struct qs_patch_view view = {.plane = {px, n, n, n}, .box = box};

    view.reach = (struct qs_box){box.x - margin, box.y - margin, box.width + 2 * margin,
                                 box.height + 2 * margin};
    return view;
}

/* The delivered pixels of the patch; px is to be freed. */
static inline struct qs_plane
scene_deliver(const struct qs_reduction *reduction, const struct qs_patch_view *view)
{
    struct qs_box box = qs_fall_pixels(reduction, view);
    struct qs_plane out = {NULL, box.width, box.height, box.width};
    struct qs_plane seen = view->plane;

    out.px = malloc((size_t)box.width * (size_t)box.height * sizeof(float) + 1);
    ck_assert_int_eq(qs_shrink(&seen, view->plane_x - reduction->origin_x,
                               view->plane_y - reduction->origin_y, &reduction->across,
                               &reduction->down, box, &out, NULL),
                     QS_OK);
    return out;
}

static inline struct scene_outcome
scene_run(const struct scene *scene, const struct qs_reduction *reduction,
          uint64_t seed)
{
    float *px = field_new(scene->kind, scene->frame_px, SCENE_MEAN, SCENE_SD, seed);
    struct qs_patch_view view = scene_view(scene, px);
    struct qs_plane patch = qs_plane_part(&view.plane, view.box);
    struct qs_plane delivered = scene_deliver(reduction, &view);
    bool enough =
        delivered.width >= QS_FALL_MIN_SIDE && delivered.height >= QS_FALL_MIN_SIDE;
    struct qs_error err = {QS_OK, ""};
    struct scene_outcome outcome = {0};
    struct qs_noise_shape shape;

    ck_assert_msg(qs_noise_measure(&patch, view.box.x, view.box.y,
                                   reduction->across.taps - 1, reduction->down.taps - 1,
                                   &outcome.noise, &shape, &err) == QS_OK,
                  "%s", err.text);
    ck_assert_int_eq(qs_fall(reduction, &outcome.noise, &shape,
                             enough ? &delivered : NULL, &outcome.fall, &err),
                     QS_OK);
    qs_noise_shape_clear(&shape);
    free(delivered.px);
    free(px);
    return outcome;
}

/* Weights of delivered pixel i: those from *first on that are not 0; the caller frees.
 */
static inline double *
scene_weights(enum qs_filter filter, int in, int out, int i, int *first, int *count)
{
    double *weight = malloc((size_t)in * sizeof *weight);
    int from = 0, end = in;

    reference_weights(filter, in, out, i, weight);
    while (weight[from] == 0.0)
        from++;
    while (weight[end - 1] == 0.0)
        end--;
    for (int n = from; n < end; n++)
        weight[n - from] = weight[n];
    *first = from;
    *count = end - from;
    return weight;
}

/*
 * True sd after shrinking a square crop of `in` pixels, whose corner has the place
 * (origin_x, origin_y) in the mosaic, to `out`: rms over `period` x `period`
 * delivered pixels in the middle, after which places repeat.
 */
static inline double
scene_true_sd(const struct field_kind *kind, enum qs_filter filter, int in, int out,
              int origin_x, int origin_y, int period)
{
    int from = (out - period) / 2;
    double sum = 0.0;

    for (int j = from; j < from + period; j++)
        for (int i = from; i < from + period; i++) {
            int x, y, count_x, count_y;
            double *across = scene_weights(filter, in, out, i, &x, &count_x);
            double *down = scene_weights(filter, in, out, j, &y, &count_y);

            sum += field_variance(kind, origin_x + x, origin_y + y, across, count_x,
                                  down, count_y);
            free(across);
            free(down);
        }
    return SCENE_SD * sqrt(sum / period / period);
}

#endif
