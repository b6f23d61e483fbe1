/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/claim.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Wider than any file gamma in use; common practice, no source. */
#define FILE_GAMMA_MIN 0.1
#define FILE_GAMMA_MAX 10.0

/* ITU-T H.273 table 3: transfer characteristics that this program can undo. */
static const struct transfer {
    int code;
    const char *key;
} transfers[] = {
    {1, "bt709"},     {6, "bt709"},     {14, "rec2020"}, {15, "rec2020"},
    {4, "gamma:2.2"}, {5, "gamma:2.8"}, {8, "linear"},   {13, "srgb"},
};

enum h273_code {
    H273_UNSPECIFIED = 2,
    H273_PQ = 16,
    H273_HLG = 18
};

double
qs_claim_top_code(enum qs_sample sample)
{
    switch (sample) {
    case QS_SAMPLE_U8:
        return UINT8_MAX;
    case QS_SAMPLE_U16:
        return UINT16_MAX;
    case QS_SAMPLE_U32:
        return UINT32_MAX;
    case QS_SAMPLE_F32:
    case QS_SAMPLE_F64:
        break;
    }
    return 1.0;
}

static bool
is_given(const struct qs_encoding_choice *choice)
{
    return choice != NULL && choice->name != NULL &&
           strcmp(choice->name, "profile") != 0;
}

static void
use_curve(struct qs_claim *claim, struct qs_curve curve, enum qs_encoding_from from)
{
    struct qs_encoding *encoding = &claim->encoding;

    claim->curve = curve;
    encoding->from = from;
    encoding->is_linear = qs_curve_is_linear(&curve);
    if (curve.name != NULL)
        (void)snprintf(encoding->name, sizeof encoding->name, "%s", curve.name);
    else
        (void)snprintf(encoding->name, sizeof encoding->name, "gamma %.4g",
                       curve.gamma);
}

static void
use_primaries(struct qs_claim *claim, enum qs_space space)
{
    (void)qs_primaries_weights(qs_space_primaries(space), &claim->encoding.weights);
}

/* L13: "linear" for floats and sRGB for whole numbers. */
static enum qs_status
assume(const struct qs_image_info *info, struct qs_claim *claim, struct qs_error *err)
{
    struct qs_curve curve;
    const enum qs_status status =
        qs_curve_find(info->is_float ? "linear" : "srgb", &curve, err);

    if (status == QS_OK)
        use_curve(claim, curve, QS_FROM_ASSUMED);
    return status;
}

static enum qs_status
fail_transfer(int code, struct qs_error *err)
{
    if (code == H273_PQ || code == H273_HLG)
        return qs_fail(
            err, QS_ERR_PROFILE,
            "This file has an HDR encoding (%s), which cannot be measured yet; "
            "export it again in sRGB or another SDR encoding.",
            code == H273_PQ ? "PQ" : "HLG");
    return qs_fail(
        err, QS_ERR_PROFILE,
        "The cICP chunk of this file names an encoding that is not known here "
        "(%d); say how the file is encoded with --encoding, for example "
        "--encoding srgb.",
        code);
}

static enum qs_status
use_cicp_curve(const struct qs_image_info *info, struct qs_claim *claim,
               struct qs_error *err)
{
    const int code = info->colour.cicp[1];

    if (code == H273_UNSPECIFIED)
        return assume(info, claim, err);
    for (size_t i = 0; i < sizeof transfers / sizeof transfers[0]; i++) {
        if (transfers[i].code == code) {
            struct qs_curve curve;
            const enum qs_status status = qs_curve_find(transfers[i].key, &curve, err);

            if (status == QS_OK)
                use_curve(claim, curve, QS_FROM_TAG);
            return status;
        }
    }
    return fail_transfer(code, err);
}

/* Unspecified primaries are those of sRGB; an RGB file needs primaries that are known.
 */
static enum qs_status
use_cicp_primaries(const struct qs_image_info *info, struct qs_claim *claim,
                   struct qs_error *err)
{
    const int code = info->colour.cicp[0];
    const struct qs_primaries *primaries = qs_primaries_h273(code);

    if (primaries == NULL && (code == H273_UNSPECIFIED || info->channels == 1))
        primaries = qs_space_primaries(QS_SPACE_BT709);
    if (primaries == NULL || info->colour.cicp[2] != 0)
        return qs_fail(err, QS_ERR_PROFILE,
                       "The cICP chunk of this file names primaries or a colour matrix "
                       "that are not known here; say how the file is encoded with "
                       "--encoding, for example --encoding srgb.");
    (void)qs_primaries_weights(primaries, &claim->encoding.weights);
    return QS_OK;
}

static enum qs_status
use_cicp(const struct qs_image_info *info, struct qs_claim *claim, struct qs_error *err)
{
    const enum qs_status status = use_cicp_curve(info, claim, err);

    if (status != QS_OK)
        return status;
    return use_cicp_primaries(info, claim, err);
}

static enum qs_status
use_profile(const struct qs_image_info *info, struct qs_claim *claim,
            struct qs_error *err)
{
    struct qs_encoding *encoding = &claim->encoding;
    const enum qs_status status = qs_profile_open(
        info->colour.icc, info->colour.icc_size, info->channels, &claim->profile, err);

    if (status != QS_OK)
        return status;
    (void)snprintf(encoding->name, sizeof encoding->name, "%s",
                   qs_profile_name(claim->profile));
    encoding->from = QS_FROM_PROFILE;
    encoding->is_linear = qs_profile_is_linear(claim->profile);
    encoding->weights = *qs_profile_weights(claim->profile);
    return QS_OK;
}

/* Whether cHRM gives primaries that make a space with a finite luminance. */
static bool
use_chromaticity(const struct qs_colour_tags *colour, struct qs_claim *claim)
{
    struct qs_primaries primaries;

    if (colour->claim != QS_CLAIM_GAMA || !colour->has_chromaticity)
        return false;
    memcpy(primaries.xy, colour->chromaticity, sizeof primaries.xy);
    return qs_primaries_weights(&primaries, &claim->encoding.weights);
}

static enum qs_status
use_gama(const struct qs_image_info *info, struct qs_claim *claim, struct qs_error *err)
{
    const double gamma = 1.0 / info->colour.gama;

    if (!(gamma >= FILE_GAMMA_MIN && gamma <= FILE_GAMMA_MAX))
        return qs_fail(
            err, QS_ERR_PROFILE,
            "The gAMA chunk of this file holds a gamma that cannot be meant; "
            "say how the file is encoded with --encoding, for example "
            "--encoding srgb.");
    use_curve(claim, qs_curve_gamma(gamma), QS_FROM_TAG);
    if (!use_chromaticity(&info->colour, claim))
        use_primaries(claim, QS_SPACE_BT709);
    return QS_OK;
}

static enum qs_status
use_srgb_chunk(struct qs_claim *claim, struct qs_error *err)
{
    struct qs_curve curve;
    const enum qs_status status = qs_curve_find("srgb", &curve, err);

    if (status == QS_OK) {
        use_curve(claim, curve, QS_FROM_TAG);
        use_primaries(claim, QS_SPACE_BT709);
    }
    return status;
}

static enum qs_status
go_by_file(const struct qs_image_info *info, struct qs_claim *claim,
           struct qs_error *err)
{
    switch (info->colour.claim) {
    case QS_CLAIM_CICP:
        return use_cicp(info, claim, err);
    case QS_CLAIM_ICC:
        return use_profile(info, claim, err);
    case QS_CLAIM_SRGB:
        return use_srgb_chunk(claim, err);
    case QS_CLAIM_GAMA:
        return use_gama(info, claim, err);
    case QS_CLAIM_NONE:
        break;
    }
    use_primaries(claim, QS_SPACE_BT709);
    return assume(info, claim, err);
}

/*
 * The file's primaries, where it has usable ones, for a curve that the user gave.
 * What the file says of its curve may be nonsense: that is why users name one.
 */
static enum qs_status
keep_file_primaries(const struct qs_image_info *info, struct qs_claim *claim,
                    struct qs_error *err)
{
    struct qs_claim file = {0};
    struct qs_error unused = {0};
    enum qs_status status = QS_ERR_PROFILE;

    if (info->colour.claim == QS_CLAIM_CICP)
        status = use_cicp_primaries(info, &file, &unused);
    else if (info->colour.claim == QS_CLAIM_ICC)
        status = use_profile(info, &file, &unused);
    else if (info->colour.claim == QS_CLAIM_SRGB)
        status = use_srgb_chunk(&file, &unused);
    else if (use_chromaticity(&info->colour, &file))
        status = QS_OK;
    if (status == QS_OK)
        claim->encoding.weights = file.encoding.weights;
    qs_claim_clear(&file);
    return status == QS_ERR_MEMORY ? qs_fail_memory(err) : QS_OK;
}

static enum qs_status
go_by_user(const struct qs_image_info *info, const char *name, struct qs_claim *claim,
           struct qs_error *err)
{
    struct qs_curve curve;
    const enum qs_status status = qs_curve_find(name, &curve, err);

    if (status != QS_OK)
        return status;
    use_curve(claim, curve, QS_FROM_OPTION);
    use_primaries(claim, curve.space);
    return keep_file_primaries(info, claim, err);
}

/* All codes; or, in a cICP file of narrow range, 16 to 235 in 8 bits (ITU-T H.273). */
static void
use_file_range(const struct qs_image_info *info, struct qs_claim *claim)
{
    const bool is_narrow = info->colour.claim == QS_CLAIM_CICP &&
                           info->colour.cicp[3] == 0 && !info->is_float;

    claim->black = is_narrow ? ldexp(16.0, info->bits - 8) : 0.0;
    claim->white =
        is_narrow ? ldexp(235.0, info->bits - 8) : qs_claim_top_code(info->sample);
}

static enum qs_status
settle_range(const struct qs_encoding_choice *choice, struct qs_claim *claim,
             struct qs_error *err)
{
    if (choice != NULL && choice->has_black)
        claim->black = choice->black;
    if (choice != NULL && choice->has_white)
        claim->white = choice->white;
    if (!isfinite(claim->black) || !isfinite(claim->white) ||
        !isfinite(claim->white - claim->black) || claim->white <= claim->black)
        return qs_fail(
            err, QS_ERR_USAGE,
            "The white code (%g) must be above the black code (%g); give both "
            "in the file's own code values.",
            claim->white, claim->black);
    return QS_OK;
}

enum qs_status
qs_claim_settle(const struct qs_image_info *info,
                const struct qs_encoding_choice *choice, struct qs_claim *out,
                struct qs_error *err)
{
    enum qs_status status;

    memset(out, 0, sizeof *out);
    use_file_range(info, out);
    if (is_given(choice))
        status = go_by_user(info, choice->name, out, err);
    else
        status = go_by_file(info, out, err);
    if (status != QS_OK)
        return status;
    if (info->channels == 1)
        out->encoding.weights = (struct qs_colour_weights){.luminance = {0.0}};
    return settle_range(choice, out, err);
}

void
qs_claim_clear(struct qs_claim *claim)
{
    qs_profile_free(claim->profile);
    claim->profile = NULL;
}
