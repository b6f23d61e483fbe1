/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "frame/warnings.h"

#include <stdarg.h>
#include <stdio.h>

#include "base/memory.h"

static const char *const keys[QS_WARNINGS] = {
    [QS_WARN_NOISE_REDUCED] = "noise-reduced",
    [QS_WARN_SHARPENED] = "sharpened",
    [QS_WARN_EIGHT_BIT] = "eight-bit",
    [QS_WARN_LOSSY_BLOCKS] = "lossy-blocks",
    [QS_WARN_CLIPPED_BLACK] = "clipped-black",
    [QS_WARN_CLIPPED_WHITE] = "clipped-white",
    [QS_WARN_BANDING] = "banding",
    [QS_WARN_TEXTURED] = "textured",
    [QS_WARN_SMALL_PATCH] = "small-patch",
    [QS_WARN_NO_FLAT_PATCH] = "no-flat-patch",
    [QS_WARN_ENCODING_ASSUMED] = "encoding-assumed",
    [QS_WARN_EXPOSURE_DRIFT] = "exposure-drift",
    [QS_WARN_ISO_MISSING] = "iso-missing",
    [QS_WARN_UPSCALE_SKIPPED] = "upscale-skipped",
    [QS_WARN_ALPHA_IGNORED] = "alpha-ignored",
};

const char *
qs_warning_key(enum qs_warning_code code)
{
    return keys[code];
}

enum qs_status
qs_warn(struct qs_frame *frame, enum qs_warning_code code, int patch,
        struct qs_error *err, const char *format, ...)
{
    size_t count = (size_t)frame->warning_count;
    struct qs_warning *grown = qs_realloc(frame->warnings, count + 1, sizeof *grown);
    va_list args;

    if (grown == NULL)
        return qs_fail_memory(err);
    frame->warnings = grown;
    grown[count].code = code;
    grown[count].patch = patch;
    va_start(args, format);
    (void)vsnprintf(grown[count].text, sizeof grown[count].text, format, args);
    va_end(args);
    frame->warning_count++;
    return QS_OK;
}

bool
qs_is_warned(const struct qs_frame *frame, enum qs_warning_code code)
{
    for (int i = 0; i < frame->warning_count; i++)
        if (frame->warnings[i].code == code)
            return true;
    return false;
}
