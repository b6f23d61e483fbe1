/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/remarks.h"

#include <math.h>
#include <stdio.h>

#include "frame/warnings.h"
#include "measure/traces_clip.h"

enum {
    SMALL_SIDE_PX = 64 /* ISO 15739 asks for patches of 64 x 64 (from memory) */
};

/* A share of clipped samples that moves sd by about 1 % (one-sided, near 3 sd). */
static const double CLIPPED_SHARE = 0.002;

static enum qs_status
remark_encoding(struct qs_frame *frame, struct qs_error *err)
{
    const char *kind = frame->is_float ? "linear light, as usual for float files"
                                       : "the sRGB curve, as usual for pictures";

    if (frame->encoding.from != QS_FROM_ASSUMED)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_ENCODING_ASSUMED, -1, err,
        "The file does not say how its code values relate to light; %s, is "
        "assumed. If that is wrong, every sd and SNR is wrong. Export with an "
        "embedded profile, or name the curve with --encoding.",
        kind);
}

static enum qs_status
remark_bits(const struct qs_image_info *info, struct qs_frame *frame,
            struct qs_error *err)
{
    if (info->bits != 8)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_EIGHT_BIT, -1, err,
        "The file has 8 bits a channel: rounding adds noise of its own and hides "
        "fine noise, most of all in the shadows. Export as 16-bit TIFF to "
        "measure the camera.");
}

static enum qs_status
remark_lossy(const struct qs_image_info *info, struct qs_frame *frame,
             struct qs_error *err)
{
    if (!info->lossy)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_LOSSY_BLOCKS, -1, err,
        "The file is compressed with loss (JPEG inside TIFF), which removes fine "
        "noise: sd comes out too low and falls too little. Export without lossy "
        "compression.");
}

static enum qs_status
remark_alpha(const struct qs_image_info *info, struct qs_frame *frame,
             struct qs_error *err)
{
    if (!info->had_alpha && !info->had_extra)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_ALPHA_IGNORED, -1, err,
        "The file has %s besides its colours; it is left aside. The figures are "
        "those of the colours as stored.",
        info->had_alpha ? "an alpha channel" : "further channels");
}

static enum qs_status
remark_iso(struct qs_frame *frame, struct qs_error *err)
{
    if (frame->shot.iso > 0.0)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_ISO_MISSING, -1, err,
        "The file does not record its ISO. The figures are right all the same, "
        "but can't be put in order by ISO; give it with --iso.");
}

enum qs_status
qs_remark_file(const struct qs_image_info *info, struct qs_frame *frame,
               struct qs_error *err)
{
    enum qs_status status = remark_encoding(frame, err);

    if (status == QS_OK)
        status = remark_bits(info, frame, err);
    if (status == QS_OK)
        status = remark_lossy(info, frame, err);
    if (status == QS_OK)
        status = remark_alpha(info, frame, err);
    if (status == QS_OK)
        status = remark_iso(frame, err);
    return status;
}

static enum qs_status
remark_no_patch(struct qs_frame *frame, struct qs_error *err)
{
    if (frame->patch_count > 0)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_NO_FLAT_PATCH, -1, err,
        "No part of this frame is flat enough to tell noise from detail, so "
        "nothing is measured. Shoot an even, defocused surface or a grey chart "
        "with the same settings, or name a flat place with --patch X,Y,W,H.");
}

/* "the patch", "patch 3 of 9", "4 of 9 patches", for a count whose first is given. */
static const char *
which_patches(const struct qs_frame *frame, int count, int first, char text[48])
{
    if (frame->patch_count == 1)
        (void)snprintf(text, 48, "the patch");
    else if (count == 1)
        (void)snprintf(text, 48, "patch %d of %d", first + 1, frame->patch_count);
    else
        (void)snprintf(text, 48, "%d of the %d patches", count, frame->patch_count);
    return text;
}

static enum qs_status
remark_small(struct qs_frame *frame, struct qs_error *err)
{
    int small = 0, first = -1;
    char which[48];

    for (int p = 0; p < frame->patch_count; p++)
        if (frame->patches[p].box.width < SMALL_SIDE_PX ||
            frame->patches[p].box.height < SMALL_SIDE_PX) {
            if (small++ == 0)
                first = p;
        }
    if (small == 0)
        return QS_OK;
    return qs_warn(
        frame, QS_WARN_SMALL_PATCH, small == 1 ? first : -1, err,
        "Less than %d pixels a side: %s. So few pixels leave the figures "
        "uncertain, most of all at small sizes (see their intervals). Patches of "
        "400 pixels and more are best.",
        SMALL_SIDE_PX, which_patches(frame, small, first, which));
}

/* Patches without sd_measured at one size and filter; the first one in *first. */
static int
count_unmeasured(const struct qs_frame *frame, int delivery, int filter, int *first)
{
    int missing = 0;

    for (int p = 0; p < frame->patch_count; p++)
        if (!qs_frame_fall(frame, delivery, filter, p)->channel[QS_Y].has_measured) {
            if (missing++ == 0)
                *first = p;
        }
    return missing;
}

/* Says where sd_measured is missing, and why. */
static enum qs_status
remark_unmeasured(struct qs_frame *frame, struct qs_error *err)
{
    int combinations = 0, most = 0, patch = -1, delivery = 0, filter = 0;
    char which[48], more[48] = "";

    for (int d = 0; d < frame->delivery_count; d++)
        for (int f = 0; f < frame->filter_count; f++) {
            int first = -1, missing = count_unmeasured(frame, d, f, &first);

            combinations += missing > 0;
            if (missing > most) {
                most = missing;
                patch = first;
                delivery = d;
                filter = f;
            }
        }
    if (combinations == 0)
        return QS_OK;
    if (combinations > 1)
        (void)snprintf(more, sizeof more, " (and at %d more sizes or filters)",
                       combinations - 1);
    return qs_warn(
        frame, QS_WARN_SMALL_PATCH, most == 1 ? patch : -1, err,
        "Too few delivered pixels to measure at %s with %s%s in %s: there the "
        "figure predicted from full size stands alone. Larger patches cure it.",
        frame->deliveries[delivery].text, qs_filter_row(frame->filters[filter])->key,
        more, which_patches(frame, most, patch, which));
}

/* Share of the patch at a value that highlights pile up at, below the top of the codes.
 */
static double
pile_share(const struct qs_patch *patch, int channel)
{
    const struct qs_pile *pile = &patch->traces.pile[channel];

    return pile->seen ? pile->share : 0.0;
}

static int
count_clipped(const struct qs_frame *frame, bool high, int *first, double *worst)
{
    int count = 0;

    *worst = 0.0;
    for (int p = 0; p < frame->patch_count; p++) {
        double most = 0.0;

        for (int c = (int)frame->first; c < QS_CHANNELS; c++) {
            const struct qs_patch *patch = &frame->patches[p];
            const struct qs_patch_channel *channel = &patch->channel[c];
            double share = high ? fmax(channel->clipped_high, pile_share(patch, c))
                                : channel->clipped_low;

            most = share > most ? share : most;
        }
        if (most < CLIPPED_SHARE)
            continue;
        if (count++ == 0)
            *first = p;
        *worst = most > *worst ? most : *worst;
    }
    return count;
}

static enum qs_status
remark_clipped(struct qs_frame *frame, bool high, struct qs_error *err)
{
    int first = -1;
    double worst;
    char which[48], size[80];
    struct qs_clip_effect effect;
    int count = count_clipped(frame, high, &first, &worst);

    if (count == 0)
        return QS_OK;
    effect = qs_clip_effect(fmin(worst, 0.5));
    (void)snprintf(
        size, sizeof size,
        worst > 0.5 ? "sd means nothing there"
                    : "sd comes out %.2g %% too low, the mean %.2g sd too %s",
        100.0 * (1.0 - effect.sd_kept), effect.mean_shift, high ? "low" : "high");
    return qs_warn(
        frame, high ? QS_WARN_CLIPPED_WHITE : QS_WARN_CLIPPED_BLACK,
        count == 1 ? first : -1, err,
        "Up to %.3g %% of the samples in %s are clipped at %s, which cuts their noise "
        "off: %s, in the worst. Patches within 3 sd of the end are left out of the "
        "frame's sentence where others remain. %s",
        100.0 * worst, which_patches(frame, count, first, which),
        high ? "white" : "black", size,
        high ? "Expose or export darker, or leave them out."
             : "Raise the black point in the converter, or leave them out.");
}

enum qs_status
qs_remark_figures(struct qs_frame *frame, struct qs_error *err)
{
    enum qs_status status = remark_no_patch(frame, err);

    if (status == QS_OK)
        status = remark_small(frame, err);
    if (status == QS_OK)
        status = remark_unmeasured(frame, err);
    if (status == QS_OK)
        status = remark_clipped(frame, false, err);
    if (status == QS_OK)
        status = remark_clipped(frame, true, err);
    return status;
}
