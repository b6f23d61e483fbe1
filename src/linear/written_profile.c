/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/written_profile.h"

#include <lcms2.h>
#include <string.h>

#include "base/memory.h"
#include "linear/claim.h"

/* ICC.1, 7.2.2: when it was made, which is not said here, and 7.2.18: its check sum. */
enum {
    DATE_AT = 24,
    DATE_BYTES = 12,
    SUM_AT = 84,
    SUM_BYTES = 16,
    HEADER_BYTES = 128
};

/* 1 January 2000, as big-endian shorts. */
static const uint8_t date[DATE_BYTES] = {0x07, 0xD0, 0, 1, 0, 1};

static cmsToneCurve *
curve_of(const struct qs_curve *curve)
{
    const double scale = 1.0 / (1.0 + curve->offset);
    /* Y = (a X + b)^g from d on, else c X */
    const double parameters[5] = {curve->gamma, scale, curve->offset * scale,
                                  curve->slope > 0.0 ? 1.0 / curve->slope : 0.0,
                                  curve->knee};

    if (curve->slope > 0.0)
        return cmsBuildParametricToneCurve(NULL, 4, parameters);
    return cmsBuildGamma(NULL, curve->gamma);
}

static cmsCIExyY
point(const double xy[2])
{
    return (cmsCIExyY){xy[0], xy[1], 1.0};
}

static cmsHPROFILE
rgb_profile(const struct qs_primaries *primaries, cmsToneCurve *curve)
{
    cmsToneCurve *const curves[3] = {curve, curve, curve};
    const cmsCIExyY white = point(primaries->xy[0]);
    const cmsCIExyYTRIPLE colours = {point(primaries->xy[1]), point(primaries->xy[2]),
                                     point(primaries->xy[3])};

    return cmsCreateRGBProfile(&white, &colours, curves);
}

static struct qs_primaries
primaries_of(const struct qs_colour_tags *colour)
{
    struct qs_primaries own = *qs_space_primaries(QS_SPACE_BT709);
    struct qs_colour_weights weights;

    if (colour->claim == QS_CLAIM_CICP && qs_primaries_h273(colour->cicp[0]) != NULL)
        return *qs_primaries_h273(colour->cicp[0]);
    if (colour->claim == QS_CLAIM_GAMA && colour->has_chromaticity) {
        struct qs_primaries said;

        memcpy(said.xy, colour->chromaticity, sizeof said.xy);
        if (qs_primaries_weights(&said, &weights))
            own = said;
    }
    return own;
}

/* A profile without a name of its own would do as well. */
static void
name(cmsHPROFILE profile, const char *text)
{
    cmsMLU *words = cmsMLUalloc(NULL, 1);

    if (words != NULL && cmsMLUsetASCII(words, "en", "US", text))
        (void)cmsWriteTag(profile, cmsSigProfileDescriptionTag, words);
    cmsMLUfree(words);
}

static enum qs_status
save(cmsHPROFILE profile, uint8_t **bytes, size_t *size, struct qs_error *err)
{
    cmsUInt32Number count = 0;

    if (profile == NULL || !cmsSaveProfileToMem(profile, NULL, &count) ||
        count < HEADER_BYTES)
        return qs_fail_memory(err);
    *bytes = qs_alloc(count, 1);
    if (*bytes == NULL)
        return qs_fail_memory(err);
    if (!cmsSaveProfileToMem(profile, *bytes, &count)) {
        qs_free(*bytes);
        *bytes = NULL;
        return qs_fail_memory(err);
    }
    memcpy(*bytes + DATE_AT, date, DATE_BYTES);
    memset(*bytes + SUM_AT, 0, SUM_BYTES);
    *size = count;
    return QS_OK;
}

static enum qs_status
make(const struct qs_image_info *info, const struct qs_curve *curve,
     const struct qs_encoding *encoding, uint8_t **bytes, size_t *size,
     struct qs_error *err)
{
    const struct qs_primaries primaries = primaries_of(&info->colour);
    cmsToneCurve *tone = curve_of(curve);
    cmsHPROFILE profile = NULL;
    enum qs_status status;

    if (tone == NULL)
        return qs_fail_memory(err);
    if (info->channels == 3) {
        profile = rgb_profile(&primaries, tone);
    } else {
        const cmsCIExyY white = point(primaries.xy[0]);

        profile = cmsCreateGrayProfile(&white, tone);
    }
    if (profile != NULL)
        name(profile, encoding->name);
    status = save(profile, bytes, size, err);
    if (profile != NULL)
        (void)cmsCloseProfile(profile);
    cmsFreeToneCurve(tone);
    return status;
}

enum qs_status
qs_written_profile(const struct qs_image_info *info, uint8_t **bytes, size_t *size,
                   struct qs_error *err)
{
    struct qs_claim claim;
    enum qs_status status = QS_OK;

    *bytes = NULL;
    *size = 0;
    if (info->colour.claim == QS_CLAIM_NONE || info->colour.claim == QS_CLAIM_ICC)
        return QS_OK;
    status = qs_claim_settle(info, NULL, &claim, err);
    if (status == QS_OK)
        status = make(info, &claim.curve, &claim.encoding, bytes, size, err);
    qs_claim_clear(&claim);
    return status;
}
