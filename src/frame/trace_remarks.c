/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/trace_remarks.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "frame/trace_filtered.h"
#include "frame/trace_stripes.h"
#include "frame/warnings.h"

/* A frame without a patch is said to be clipped from this share of its pixels on. */
static const double MOSTLY_CLIPPED = 0.1;

/* What is found out on the way, for the remarks that follow. */
struct finding {
    const struct qs_frame_traces *traces;
    const struct qs_linear *linear;
    struct qs_frame *frame;
    bool coarse; /* 8 bits */
    bool lossy;  /* blocks, or said by the file */
    bool smoothed;
    double wave_px; /* period of brightness that waves down the frame; 0 = none */
};

/* ---- eight-bit ---- */

/* Whether the lattices of nearly all patches that show one are coarse. */
static bool
has_coarse_lattice(const struct qs_frame *frame)
{
    int coarse = 0, known = 0;

    for (int p = 0; p < frame->patch_count; p++) {
        const struct qs_lattice *lattice = &frame->patches[p].traces.lattice;

        if (qs_patch_is_cut(frame, &frame->patches[p]))
            continue;
        known += lattice->known;
        coarse += lattice->known && lattice->step > qs_lattice_coarse;
    }
    return known > 0 && 5 * coarse >= 4 * known;
}

/* The codes' own light, by decoding a picture of all codes. */
static enum qs_status
has_coarse_codes(const struct finding *now, bool *coarse, struct qs_error *err)
{
    int channels = now->traces->codes.channels;
    uint16_t *codes;
    float *light;
    float *out[3] = {NULL, NULL, NULL};

    *coarse = false;
    if (channels == 0)
        return QS_OK;
    codes = qs_alloc((size_t)QS_CODES * (size_t)channels, sizeof *codes);
    light = qs_alloc((size_t)QS_CODES * 3, sizeof *light);
    if (codes != NULL && light != NULL) {
        for (int c = 0; c < 3; c++)
            out[c] = light + (size_t)c * QS_CODES;
        for (int i = 0; i < QS_CODES * channels; i++)
            codes[i] = (uint16_t)(i / channels);
        qs_linear_decode(now->linear, codes, QS_CODES, out, NULL);
        *coarse =
            qs_codes_are_eight_bit(&now->traces->codes, (const float *const *)out);
    }
    qs_free(codes);
    qs_free(light);
    return out[0] != NULL ? QS_OK : qs_fail_memory(err);
}

static enum qs_status
remark_levels(struct finding *now, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    now->coarse = qs_is_warned(now->frame, QS_WARN_EIGHT_BIT);
    if (now->coarse || now->frame->is_float)
        return QS_OK;
    now->coarse = has_coarse_lattice(now->frame);
    if (!now->coarse)
        status = has_coarse_codes(now, &now->coarse, err);
    if (status != QS_OK || !now->coarse)
        return status;
    return qs_warn(
        now->frame, QS_WARN_EIGHT_BIT, -1, err,
        "The file has %d bits, but its values come in the coarse steps of 8: it was "
        "8-bit once. Rounding added noise of its own and hides fine noise, most of "
        "all in the shadows: sd is too high or too low there. Export from the raw "
        "file as 16-bit TIFF in one go.",
        now->frame->bits);
}

/* ---- lossy-blocks ---- */

static bool
has_block_steps(const struct qs_frame *frame)
{
    const struct qs_dct_steps *steps[QS_BLOCK_AREAS];
    struct qs_dct_answer answer;
    int count = 0;

    for (; count < frame->patch_count && count < QS_BLOCK_AREAS; count++)
        steps[count] = &frame->patches[count].traces.steps;
    qs_dct_steps_judge(steps, count, &answer);
    return answer.seen;
}

static void
look_for_borders(const struct finding *now, struct qs_blocks_answer *answer)
{
    const struct qs_blocks *areas[QS_BLOCK_AREAS] = {&now->traces->blocks};
    int count = 1;

    if (!now->traces->surveyed) { /* the patches are all there is */
        for (count = 0; count < now->frame->patch_count && count < QS_BLOCK_AREAS;
             count++)
            areas[count] = &now->frame->patches[count].traces.blocks;
    }
    qs_blocks_judge(areas, count, answer);
}

static enum qs_status
remark_blocks(struct finding *now, struct qs_error *err)
{
    struct qs_blocks_answer answer;
    char how[128] = "The blocks of 8 x 8 pixels it is made of come in coarse steps";

    now->lossy = qs_is_warned(now->frame, QS_WARN_LOSSY_BLOCKS);
    if (now->lossy)
        return QS_OK;
    look_for_borders(now, &answer);
    if (answer.seen)
        (void)snprintf(how, sizeof how,
                       "The picture is %.0f %% rougher at the borders of blocks of 8 x "
                       "8 pixels than inside",
                       100.0 * answer.rougher);
    now->lossy = answer.seen || has_block_steps(now->frame);
    if (!now->lossy)
        return QS_OK;
    return qs_warn(
        now->frame, QS_WARN_LOSSY_BLOCKS, -1, err,
        "%s: it was compressed with loss (JPEG) once. That removes fine noise: sd is "
        "too "
        "low and falls too little. Export from the raw file as TIFF or PNG, and use no "
        "lossy raw.",
        how);
}

/* ---- noise-reduced, sharpened ---- */

/* Whether a patch's noise is noise alone, as far as can be told. */
static bool
is_plain(const struct finding *now, const struct qs_patch *patch)
{
    enum qs_texture_kind kind = patch->traces.texture.kind;

    /* a wave that a patch holds less than three of looks like anything */
    return patch->box.height >= 3.0 * now->wave_px &&
           !qs_patch_is_cut(now->frame, patch) &&
           !(now->coarse && qs_patch_steps(patch) < 1.0) &&
           kind != QS_TEXTURE_PATTERN && kind != QS_TEXTURE_DIRECTION;
}

/* Structure in half of the patches is likely to be in the others too, only fainter. */
static bool
is_patterned(const struct qs_frame *frame)
{
    int count = 0;

    for (int p = 0; p < frame->patch_count; p++) {
        enum qs_texture_kind kind = frame->patches[p].traces.texture.kind;

        count += kind == QS_TEXTURE_PATTERN || kind == QS_TEXTURE_DIRECTION;
    }
    return 2 * count > frame->patch_count;
}

static enum qs_status
remark_filtered(struct finding *now, struct qs_error *err)
{
    size_t patches = (size_t)now->frame->patch_count;
    struct qs_sites *sites = qs_alloc(patches, sizeof *sites);
    enum qs_status status;
    int count = 0;

    if (sites == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < now->frame->patch_count && !is_patterned(now->frame); p++)
        if (is_plain(now, &now->frame->patches[p]))
            sites[count++] = now->frame->patches[p].traces.sites;
    status = qs_remark_filtered(sites, count, now->lossy, now->frame, err);
    now->smoothed = qs_is_warned(now->frame, QS_WARN_NOISE_REDUCED);
    qs_free(sites);
    return status;
}

/* ---- textured, or never demosaiced ---- */

static bool
is_mosaic(const struct qs_frame *frame)
{
    int count = 0;

    for (int p = 0; p < frame->patch_count; p++)
        count += qs_patch_is_mosaic(&frame->patches[p].traces);
    return 2 * count > frame->patch_count;
}

static enum qs_status
remark_mosaic(const struct finding *now, struct qs_error *err)
{
    return qs_warn(
        now->frame, QS_WARN_TEXTURED, -1, err,
        "The file holds the sensor's mosaic as it is: photosites behind red, green and "
        "blue filters differ in brightness, and that counts as noise. sd is far too "
        "high "
        "and falls too fast. Export a picture that is demosaiced.");
}

static const char *
texture_text(enum qs_texture_kind kind)
{
    switch (kind) {
    case QS_TEXTURE_PATTERN:
        return "a pattern that repeats (weave, print, moire)";
    case QS_TEXTURE_DIRECTION:
        return "structure that leans to one direction (brushed, woven, smeared)";
    case QS_TEXTURE_SOFT:
        return "soft structure (blotches, dirt, paper, uneven light)";
    case QS_TEXTURE_NONE:
        break;
    }
    return "";
}

static bool
counts(const struct finding *now, const struct qs_patch *patch)
{
    enum qs_texture_kind kind = patch->traces.texture.kind;

    if (qs_patch_is_cut(now->frame, patch))
        return false;
    /* noise reduction leaves blotches too, and compression blocks */
    if (kind == QS_TEXTURE_SOFT)
        return !now->smoothed && !now->lossy;
    return kind != QS_TEXTURE_NONE && !now->lossy;
}

static enum qs_status
remark_texture(struct finding *now, struct qs_error *err)
{
    const struct qs_frame *frame = now->frame;
    int count = 0, first = 0;
    char which[64];

    for (int p = 0; p < frame->patch_count; p++)
        if (counts(now, &frame->patches[p]) && count++ == 0)
            first = p;
    if (count == 0)
        return QS_OK;
    if (frame->patch_count == 1)
        (void)snprintf(which, sizeof which, "The patch holds");
    else if (count == 1)
        (void)snprintf(which, sizeof which, "Patch %d of %d holds", first + 1,
                       frame->patch_count);
    else
        (void)snprintf(which, sizeof which, "%d of %d patches hold", count,
                       frame->patch_count);
    return qs_warn(
        now->frame, QS_WARN_TEXTURED, count == 1 ? first : -1, err,
        "%s %s besides noise. It counts as noise and never averages away: sd is too "
        "high and falls too little. Put the surface out of focus or choose another "
        "with --patch; repeats of the scene (--same-scene) tell it from noise.",
        which, texture_text(frame->patches[first].traces.texture.kind));
}

/* ---- clipped, where no patch tells it ---- */

static enum qs_status
remark_dark(const struct finding *now, bool high, struct qs_error *err)
{
    double share = high ? now->traces->at_white : now->traces->at_black;

    if (now->frame->patch_count > 0 || !now->traces->surveyed || share < MOSTLY_CLIPPED)
        return QS_OK;
    return qs_warn(now->frame, high ? QS_WARN_CLIPPED_WHITE : QS_WARN_CLIPPED_BLACK, -1,
                   err,
                   "%.3g %% of the frame is clipped at %s, and clipped noise can't be "
                   "measured: sd "
                   "would be too low, the mean too %s. %s",
                   100.0 * share, high ? "white" : "black", high ? "low" : "high",
                   high ? "Expose or export darker."
                        : "Raise the black point in the converter, or expose longer.");
}

enum qs_status
qs_remark_traces(const struct qs_frame_traces *traces, const struct qs_linear *linear,
                 struct qs_frame *frame, struct qs_error *err)
{
    struct finding now = {.traces = traces, .linear = linear, .frame = frame};
    enum qs_status status = remark_levels(&now, err);

    if (status == QS_OK)
        status = remark_blocks(&now, err);
    if (status == QS_OK && is_mosaic(frame))
        return remark_mosaic(&now, err);
    if (status == QS_OK)
        status = qs_remark_stripes(&traces->waves, now.lossy, frame, &now.wave_px, err);
    if (status == QS_OK)
        status = remark_filtered(&now, err);
    if (status == QS_OK)
        status = remark_texture(&now, err);
    if (status == QS_OK)
        status = remark_dark(&now, false, err);
    if (status == QS_OK)
        status = remark_dark(&now, true, err);
    return status;
}
