/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/verdict.h"

#include <stdio.h>
#include <string.h>

#include "frame/warnings.h"

static const char *const keys[] = {
    [QS_VERDICT_FIT] = "fit to use",
    [QS_VERDICT_CARE] = "usable with care",
    [QS_VERDICT_UNUSABLE] = "not usable",
};

const char *
qs_verdict_key(enum qs_verdict_level level)
{
    return keys[level];
}

/* What a warning weighs, and the few words that say why. */
struct reason {
    enum qs_verdict_level level;
    enum qs_verdict_level if_all; /* where it holds for every patch */
    const char *words;
};

static const struct reason reasons[QS_WARNINGS] = {
    [QS_WARN_NO_FLAT_PATCH] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE,
                               "no flat place to measure"},
    [QS_WARN_NOISE_REDUCED] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE,
                               "the converter smoothed the noise"},
    [QS_WARN_SHARPENED] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE,
                           "the converter sharpened the noise"},
    [QS_WARN_LOSSY_BLOCKS] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE,
                              "lossy compression removed fine noise"},
    [QS_WARN_EIGHT_BIT] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE,
                           "the steps of 8 bits are in the noise"},
    [QS_WARN_CLIPPED_BLACK] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE,
                               "noise is cut off at black"},
    [QS_WARN_CLIPPED_WHITE] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE,
                               "noise is cut off at white"},
    [QS_WARN_TEXTURED] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE,
                          "structure counts as noise"},
    [QS_WARN_BANDING] = {QS_VERDICT_CARE, QS_VERDICT_CARE, "stripes count as noise"},
    [QS_WARN_ENCODING_ASSUMED] = {QS_VERDICT_CARE, QS_VERDICT_CARE,
                                  "its tone curve is a guess"},
    [QS_WARN_EXPOSURE_DRIFT] = {QS_VERDICT_CARE, QS_VERDICT_CARE,
                                "brightness or colour drifts between frames"},
};

static bool
holds_for(const struct qs_patch *patch, enum qs_warning_code code)
{
    switch ((int)code) {
    case QS_WARN_EIGHT_BIT:
        return qs_patch_steps(patch) < 0.5;
    case QS_WARN_CLIPPED_BLACK:
        return patch->channel[QS_Y].near_low;
    case QS_WARN_CLIPPED_WHITE:
        return patch->channel[QS_Y].near_high;
    case QS_WARN_TEXTURED:
        return patch->traces.texture.kind != QS_TEXTURE_NONE ||
               qs_patch_is_mosaic(&patch->traces);
    default:
        return false;
    }
}

static bool
holds_for_all(const struct qs_frame *frame, enum qs_warning_code code)
{
    for (int p = 0; p < frame->patch_count; p++)
        if (!holds_for(&frame->patches[p], code))
            return false;
    return frame->patch_count > 0;
}

static enum qs_verdict_level
weigh(const struct qs_frame *frame, enum qs_warning_code code)
{
    return holds_for_all(frame, code) ? reasons[code].if_all : reasons[code].level;
}

/* Adds words to the sentence; what does not fit is left out. */
static void
add_words(struct qs_verdict *verdict, const char *before, const char *words)
{
    size_t used = strlen(verdict->text);

    (void)snprintf(verdict->text + used, sizeof verdict->text - used, "%s%s", before,
                   words);
}

void
qs_frame_judge(struct qs_frame *frame)
{
    static const char *const start[] = {
        [QS_VERDICT_FIT] = "Fit to use: nothing speaks against the figures",
        [QS_VERDICT_CARE] = "Usable with care: ",
        [QS_VERDICT_UNUSABLE] = "Not usable to judge the camera: ",
    };
    struct qs_verdict *verdict = &frame->verdict;
    int told = 0;

    *verdict = (struct qs_verdict){.level = QS_VERDICT_FIT};
    for (int code = 0; code < QS_WARNINGS; code++) {
        enum qs_verdict_level level = weigh(frame, (enum qs_warning_code)code);

        if (qs_is_warned(frame, (enum qs_warning_code)code) && level > verdict->level)
            verdict->level = level;
    }
    add_words(verdict, start[verdict->level], "");
    for (int code = 0; code < QS_WARNINGS; code++)
        if (verdict->level > QS_VERDICT_FIT &&
            qs_is_warned(frame, (enum qs_warning_code)code) &&
            weigh(frame, (enum qs_warning_code)code) == verdict->level)
            add_words(verdict, told++ > 0 ? ", and " : "", reasons[code].words);
    add_words(verdict, ".", "");
}
