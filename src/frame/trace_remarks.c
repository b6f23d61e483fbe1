/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/trace_remarks.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "frame/warnings.h"

/* Stripes weaker than this share of the noise's sd move no figure that is read. */
/* A frame without a patch is said to be clipped from this share of its pixels on. */
static const double MOSTLY_CLIPPED = 0.1;

static const double STRIPES_SHARE = 0.10;
static const double STRIPES_SURE = 6.0;

/* What is found out on the way, for the remarks that follow. */
struct finding {
    struct qs_frame_traces *traces;
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
judge_sites(const struct finding *now, struct qs_sites_answer *answer,
            struct qs_error *err)
{
    struct qs_sites *sites = qs_alloc((size_t)now->frame->patch_count, sizeof *sites);
    int count = 0;

    if (sites == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < now->frame->patch_count && !is_patterned(now->frame); p++)
        if (is_plain(now, &now->frame->patches[p]))
            sites[count++] = now->frame->patches[p].traces.sites;
    qs_sites_judge(sites, count, answer);
    qs_free(sites);
    return QS_OK;
}

static enum qs_status
remark_filtered(struct finding *now, struct qs_error *err)
{
    struct qs_sites_answer answer;
    enum qs_status status = judge_sites(now, &answer, err);

    if (status != QS_OK)
        return status;
    now->smoothed = answer.filtering == QS_FILTERED_SMOOTH;
    if (now->smoothed)
        return qs_warn(
            now->frame, QS_WARN_NOISE_REDUCED, -1, err,
            "The noise was smoothed after demosaicing: neighbouring pixels share more "
            "of it than demosaicing explains. sd is too low and falls too little with "
            "size. Turn off noise reduction, of luminance and of colour, and lens "
            "correction and resizing, in the converter, and export again.");
    /* blocks make neighbours across their borders differ */
    if (answer.filtering != QS_FILTERED_SHARP || now->lossy)
        return QS_OK;
    return qs_warn(
        now->frame, QS_WARN_SHARPENED, -1, err,
        "The noise was sharpened: neighbouring pixels differ by more than demosaicing "
        "explains. sd at full size is too high, and falls too fast with size. Turn "
        "off sharpening, of capture and of output, and clarity or texture, in the "
        "converter, and export again.");
}

/* ---- banding ---- */

/* One direction of stripes over all patches. */
struct stripes {
    double share; /* sd of what lines share over sd of the noise */
    double sure;
    double period_px; /* 0 = none */
    double wave_share;
};

static bool
is_block_period(const struct finding *now, double period_px)
{
    double waves = 8.0 / period_px;

    return now->lossy && fabs(waves - floor(waves + 0.5)) < 0.03;
}

/* A period counts when two patches have it, or the only ones there are. */
static double
common_period(const struct finding *now, bool rows, double *wave_share)
{
    const struct qs_frame *frame = now->frame;
    int needed = frame->patch_count >= 3 ? 2 : 1;

    for (int p = 0; p < frame->patch_count; p++) {
        const struct qs_patch_traces *t = &frame->patches[p].traces;
        const struct qs_stripes *own = rows ? &t->rows : &t->columns;
        int seen = 0;

        if (own->period_px <= 0.0 || is_block_period(now, own->period_px) ||
            qs_patch_is_cut(frame, &frame->patches[p]))
            continue;
        for (int q = 0; q < frame->patch_count; q++) {
            const struct qs_patch_traces *u = &frame->patches[q].traces;
            double other = rows ? u->rows.period_px : u->columns.period_px;

            seen += fabs(other - own->period_px) < 0.06 * own->period_px;
        }
        if (seen < needed)
            continue;
        *wave_share = own->wave_share;
        return own->period_px;
    }
    return 0.0;
}

static enum qs_status
measure_stripes(const struct finding *now, bool rows, struct stripes *out,
                struct qs_error *err)
{
    const struct qs_frame *frame = now->frame;
    struct qs_stripes *list = qs_alloc((size_t)frame->patch_count, sizeof *list);
    double shared = 0.0;
    int count = 0;

    *out = (struct stripes){.share = 0.0};
    if (list == NULL)
        return qs_fail_memory(err);
    for (int p = 0; p < frame->patch_count; p++) {
        const struct qs_patch *patch = &frame->patches[p];
        const struct qs_noise *noise = &patch->channel[QS_Y].noise;
        double sd = rows ? noise->row_sd : noise->column_sd;

        if (noise->sd <= 0.0 || qs_patch_is_cut(frame, patch))
            continue;
        list[count++] = rows ? patch->traces.rows : patch->traces.columns;
        shared += sd * sd / (noise->sd * noise->sd);
    }
    out->share = count > 0 ? sqrt(shared / count) : 0.0;
    out->sure = qs_stripes_sure(list, count);
    out->period_px = common_period(now, rows, &out->wave_share);
    qs_free(list);
    return QS_OK;
}

static enum qs_status
remark_stripes(struct finding *now, bool rows, struct qs_error *err)
{
    const char *lines = rows ? "rows" : "columns";
    struct stripes stripes;
    char period[64] = "";
    enum qs_status status = measure_stripes(now, rows, &stripes, err);
    bool is_wave = status == QS_OK && stripes.period_px > 0.0;

    if (status != QS_OK ||
        (!is_wave && (stripes.sure < STRIPES_SURE || stripes.share < STRIPES_SHARE)))
        return status;
    if (is_wave)
        (void)snprintf(period, sizeof period, ", every %.3g px", stripes.period_px);
    return qs_warn(
        now->frame, QS_WARN_BANDING, -1, err,
        "Stripes: noise that whole %s share is %.0f %% of the noise's sd%s, more than "
        "chance gives in patches like these. sd is too high, and falls too little: "
        "stripes lose half as many stops as single pixels. %s",
        lines, 100.0 * fmax(stripes.share, stripes.wave_share), period,
        is_wave && rows ? "Lamps do that: use light without flicker, or a shutter "
                          "time of whole periods of the lamp."
                        : "It is the camera's own: no setting of the converter "
                          "helps but to leave it in and know it.");
}

/* Waves down the whole frame, which are seen where patches are too small for them. */
static enum qs_status
remark_waves(struct finding *now, struct qs_error *err)
{
    struct qs_row_wave wave;
    enum qs_status status = qs_row_waves_judge(&now->traces->waves, &wave, err);

    if (status != QS_OK)
        return status;
    if (!wave.seen || is_block_period(now, wave.period_px))
        return QS_OK;
    now->wave_px = wave.period_px;
    if (qs_is_warned(now->frame, QS_WARN_BANDING))
        return QS_OK;
    return qs_warn(
        now->frame, QS_WARN_BANDING, -1, err,
        "Stripes: brightness waves by %.2g %% down the frame, every %.3g px, as lamps "
        "make it that flicker. In a patch that counts as noise: sd is too high, and "
        "falls too little. Use light without flicker, or a shutter time of whole "
        "periods of the lamp.",
        100.0 * wave.amplitude, wave.period_px);
}

/* ---- textured ---- */

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
qs_remark_traces(struct qs_frame_traces *traces, const struct qs_linear *linear,
                 struct qs_frame *frame, struct qs_error *err)
{
    struct finding now = {.traces = traces, .linear = linear, .frame = frame};
    enum qs_status status = remark_levels(&now, err);

    if (status == QS_OK)
        status = remark_blocks(&now, err);
    if (status == QS_OK)
        status = remark_stripes(&now, true, err);
    if (status == QS_OK)
        status = remark_stripes(&now, false, err);
    if (status == QS_OK)
        status = remark_waves(&now, err);
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
