/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace_sim.h"

#include <math.h>

#include "base/memory.h"
#include "frame/trace_remarks.h"
#include "measure/noise.h"
#include "trace_picture.h"

const struct ts_base ts_bases[] = {
    {"grey sensor", TS_GREY, {1.0, 1.0, 1.0}, 0},
    {"no mosaic", TS_PLAIN, {1.0, 1.0, 1.0}, 0},
    {"no mosaic, gains 2 1 1.5, strong matrix", TS_PLAIN, {2.0, 1.0, 1.5}, 2},
    {"bilinear", TS_BILINEAR, {1.0, 1.0, 1.0}, 0},
    {"bilinear, gains 2 1 1.5", TS_BILINEAR, {2.0, 1.0, 1.5}, 0},
    {"bilinear, gains 3 1 2.4, dark, mild matrix", TS_BILINEAR, {9.0, 1.0, 5.8}, 1},
    {"bilinear, gains 2 1 1.5, strong matrix", TS_BILINEAR, {2.0, 1.0, 1.5}, 2},
    {"gradient", TS_GRADIENT, {1.0, 1.0, 1.0}, 0},
    {"gradient, gains 2 1 1.5, mild matrix", TS_GRADIENT, {2.0, 1.0, 1.5}, 1},
    {"gradient, gains 3 1 2.4, dark, strong matrix", TS_GRADIENT, {9.0, 1.0, 5.8}, 2},
    {"directional, gains 2 1 1.5, strong matrix", TS_DIRECTIONAL, {2.0, 1.0, 1.5}, 2},
};

const int ts_base_count = sizeof ts_bases / sizeof ts_bases[0];

static const double tones[] = {0.18, 0.35, 0.09, 0.5,  0.06, 0.25,
                               0.13, 0.4,  0.07, 0.28, 0.15, 0.22};

/* Noise of a patch, in all its channels, and its traces. */
static bool
measure(struct ts_picture *p, struct qs_patch *patch)
{
    struct qs_patch_pixels pixels = {.box = patch->box, .area = patch->box};
    struct qs_noise_shape shape[QS_CHANNELS] = {{.width = 0}};
    struct qs_error err = {0};
    bool ok = true;

    pixels.first = p->channels == 1 ? QS_Y : QS_R;
    for (int c = 0; c < p->channels && p->channels == 3; c++)
        pixels.plane[c] = p->px[c];
    pixels.plane[QS_Y] = p->channels == 1 ? p->px[0] : p->room;
    for (size_t i = 0; p->channels == 3 && i < ts_pixels(p); i++)
        p->room[i] =
            (float)(0.2126 * (double)p->px[0][i] + 0.7152 * (double)p->px[1][i] +
                    0.0722 * (double)p->px[2][i]);
    for (int c = (int)pixels.first; ok && c < QS_CHANNELS; c++) {
        struct qs_plane plane = {pixels.plane[c], p->width, p->height, p->width};

        ok = qs_noise_measure(&plane, patch->box.x, patch->box.y, 4, 4,
                              &patch->channel[c].noise, &shape[c], &err) == QS_OK;
    }
    ok = ok &&
         qs_patch_traces_look(&pixels, &shape[QS_Y], &patch->traces, &err) == QS_OK;
    for (int c = 0; c < QS_CHANNELS; c++)
        qs_noise_shape_clear(&shape[c]);
    return ok;
}

/* Light with noise, with a margin that is cut off after spoiling. */
static bool
make_patch(const struct ts_base *base, int deed, const struct ts_setting *setting,
           int number, struct qs_random *random, struct qs_patch *patch)
{
    int margin = 13 + (number & 3), side = setting->side_px + 32; /* off every grid */
    double tone = tones[number];
    double sd = setting->noise * 0.006 * sqrt(tone / 0.18);
    int channels = base->demosaic == TS_GREY ? 1 : 3;
    struct ts_picture whole, cut;
    bool ok = ts_picture_init(&whole, channels, side, side);

    if (!ok)
        return false;
    ts_picture_noise(&whole, base, random);
    for (int c = 0; c < channels; c++)
        for (size_t i = 0; i < ts_pixels(&whole); i++)
            whole.px[c][i] = (float)(tone + sd * (double)whole.px[c][i]);
    ts_spoil(&whole, deed, ts_deeds[deed].strength, sd, random);
    ok = ts_picture_init(&cut, channels, setting->side_px, setting->side_px);
    for (int c = 0; ok && c < channels; c++)
        for (size_t i = 0; i < ts_pixels(&cut); i++) {
            size_t x = i % (size_t)cut.width, y = i / (size_t)cut.width;

            cut.px[c][i] =
                whole.px[c][(y + (size_t)margin) * (size_t)side + x + (size_t)margin];
        }
    ts_picture_clear(&whole);
    /* the place in the frame keeps the mosaic and the blocks where they were */
    patch->box =
        (struct qs_box){margin + (number % 4) * 2048, margin + (number / 4) * 2048,
                        setting->side_px, setting->side_px};
    ok = ok && measure(&cut, patch);
    ts_picture_clear(&cut);
    return ok;
}

bool
ts_judge(const struct ts_base *base, const struct ts_deed *deed,
         const struct ts_setting *setting, struct qs_frame *out)
{
    struct qs_frame_traces none = {.surveyed = false};
    struct qs_random random;
    struct qs_error err = {0};
    bool ok = true;

    qs_random_seed(&random, setting->seed);
    *out = (struct qs_frame){.width = 8192,
                             .height = 8192,
                             .channels = base->demosaic == TS_GREY ? 1 : 3,
                             .bits = 16};
    out->first = qs_channel_first(out->channels);
    out->patches = qs_alloc((size_t)setting->patches, sizeof *out->patches);
    ok = out->patches != NULL;
    out->patch_count = ok ? setting->patches : 0;
    for (int p = 0; ok && p < setting->patches; p++)
        ok = make_patch(base, (int)(deed - ts_deeds), setting, p, &random,
                        &out->patches[p]);
    ok = ok && qs_remark_traces(&none, NULL, out, &err) == QS_OK;
    if (!ok)
        qs_frame_clear(out);
    return ok;
}
