/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/trace_stripes.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "frame/warnings.h"

/* Stripes weaker than this share of the noise's sd move no figure that is read. */
static const double STRIPES_SHARE = 0.10;
static const double STRIPES_SURE = 6.0;

struct stripe_look {
    const struct qs_row_waves *waves;
    bool lossy;
    struct qs_frame *frame;
};

/* One direction of stripes over all patches. */
struct stripes {
    double share; /* sd of what lines share over sd of the noise */
    double sure;
    double period_px; /* 0 = none */
    double wave_share;
};

static bool
is_block_period(const struct stripe_look *now, double period_px)
{
    double waves = 8.0 / period_px;

    return now->lossy && fabs(waves - floor(waves + 0.5)) < 0.03;
}

/* A period counts when two patches have it, or the only ones there are. */
static double
common_period(const struct stripe_look *now, bool rows, double *wave_share)
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
measure_stripes(const struct stripe_look *now, bool rows, struct stripes *out,
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
remark_stripes(const struct stripe_look *now, bool rows, struct qs_error *err)
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
                        : "The camera itself makes them; a converter takes them "
                          "off only by smoothing.");
}

/* Waves down the whole frame, which are seen where patches are too small for them. */
static enum qs_status
remark_waves(const struct stripe_look *now, double *wave_px, struct qs_error *err)
{
    struct qs_row_wave wave;
    enum qs_status status = qs_row_waves_judge(now->waves, &wave, err);

    if (status != QS_OK)
        return status;
    if (!wave.seen || is_block_period(now, wave.period_px))
        return QS_OK;
    *wave_px = wave.period_px;
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

enum qs_status
qs_remark_stripes(const struct qs_row_waves *waves, bool lossy, struct qs_frame *frame,
                  double *wave_px, struct qs_error *err)
{
    const struct stripe_look now = {waves, lossy, frame};
    enum qs_status status = remark_stripes(&now, true, err);

    *wave_px = 0.0;
    if (status == QS_OK)
        status = remark_stripes(&now, false, err);
    if (status == QS_OK)
        status = remark_waves(&now, wave_px, err);
    return status;
}
