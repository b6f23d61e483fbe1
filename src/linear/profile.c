/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/profile.h"

#include <assert.h>
#include <lcms2.h>
#include <limits.h>
#include <math.h>
#include <string.h>
#include <wchar.h>

#include "base/memory.h"
#include "linear/cube.h"
#include "linear/device_table.h"
#include "linear/matrix3.h"
#include "linear/primaries.h"
#include "linear/tone.h"
#include "linear/utf8.h"

#define GREY_POINTS 65537
#define LINEAR_WITHIN (1.0 / 20000.0)

/* A table whose luminance weights are further below 0 has no sensible primaries. */
#define WEIGHT_MIN (-0.05)

/* Ten times the slip between the roundings of D50 in use. */
#define WHITE_IS_D50 0.001

struct qs_profile {
    cmsContext context; /* own one: it has no error handler, so nothing is printed */
    cmsHPROFILE handle;
    cmsHTRANSFORM to_xyz;         /* RGB tables of floats only */
    struct qs_device_table table; /* other RGB tables */
    struct qs_cube cube;          /* RGB tables only */
    struct qs_tone tones[3];      /* all others */
    int channels;
    struct qs_colour_weights weights;
    bool is_linear;
    char name[96];
};

static enum qs_status
fail_damaged(struct qs_error *err)
{
    return qs_fail(
        err, QS_ERR_PROFILE,
        "The colour profile in this file is damaged; say how it is encoded with "
        "--encoding, for example --encoding srgb.");
}

static enum qs_status
fail_kind(struct qs_error *err, int channels)
{
    return qs_fail(
        err, QS_ERR_PROFILE,
        "The colour profile in this file is not one for %s pictures; say how the "
        "file is encoded with --encoding, for example --encoding srgb.",
        channels == 1 ? "grey" : "RGB");
}

/* Little CMS evaluates formulas exactly, but takes and gives single precision. */
static double
formula_value(const void *curve, double fraction)
{
    return (double)cmsEvalToneCurveFloat(curve, (float)fraction);
}

/* Tables are read out and interpolated by qs_tone: Little CMS rounds to 16 bits. */
static enum qs_status
copy_table(struct qs_tone *tone, const cmsToneCurve *curve, struct qs_error *err)
{
    const cmsUInt16Number *codes = cmsGetToneCurveEstimatedTable(curve);
    const cmsUInt32Number entries = cmsGetToneCurveEstimatedTableEntries(curve);
    enum qs_status status;

    if (entries < 2 || entries > INT_MAX)
        return fail_damaged(err);
    status = qs_tone_use_table(tone, (int)entries, err);
    for (cmsUInt32Number i = 0; i < entries && status == QS_OK; i++)
        tone->table[i] = codes[i] / 65535.0;
    return status;
}

static enum qs_status
read_tone(const struct qs_profile *profile, cmsTagSignature tag, struct qs_tone *tone,
          struct qs_error *err)
{
    const cmsToneCurve *curve = cmsReadTag(profile->handle, tag);
    enum qs_status status = QS_OK;

    if (curve == NULL)
        return fail_damaged(err);
    if (cmsGetToneCurveParametricType(curve) != 0)
        qs_tone_use_formula(tone, formula_value, curve);
    else
        status = copy_table(tone, curve, err);
    return status == QS_OK ? qs_tone_finish(tone, err) : status;
}

/* The table that Little CMS takes for relative colorimetric, if there is one. */
static bool
has_table(const struct qs_profile *profile)
{
    return cmsIsTag(profile->handle, cmsSigDToB1Tag) ||
           cmsIsTag(profile->handle, cmsSigAToB1Tag) ||
           cmsIsTag(profile->handle, cmsSigAToB0Tag);
}

/* No optimising, for precision; no cache, so that threads may share it. */
static cmsHTRANSFORM
make_transform(const struct qs_profile *profile, cmsUInt32Number from)
{
    cmsHPROFILE xyz = cmsCreateXYZProfileTHR(profile->context);
    cmsHTRANSFORM transform = NULL;

    if (xyz != NULL) {
        transform = cmsCreateTransformTHR(profile->context, profile->handle, from, xyz,
                                          TYPE_XYZ_FLT, INTENT_RELATIVE_COLORIMETRIC,
                                          cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
        (void)cmsCloseProfile(xyz);
    }
    return transform;
}

/* L11: a grey table, sampled once. */
static enum qs_status
sample_grey_table(const struct qs_profile *profile, struct qs_tone *tone,
                  struct qs_error *err)
{
    cmsHTRANSFORM transform = make_transform(profile, TYPE_GRAY_FLT);
    enum qs_status status;

    if (transform == NULL)
        return fail_damaged(err);
    status = qs_tone_use_table(tone, GREY_POINTS, err);
    for (int i = 0; i < GREY_POINTS && status == QS_OK; i++) {
        const float grey = (float)i / (GREY_POINTS - 1);
        float xyz[3];

        cmsDoTransform(transform, &grey, xyz, 1);
        tone->table[i] = (double)xyz[1];
    }
    cmsDeleteTransform(transform);
    return status == QS_OK ? qs_tone_finish(tone, err) : status;
}

static enum qs_status
read_grey(struct qs_profile *profile, struct qs_error *err)
{
    struct qs_tone *tone = &profile->tones[0];

    if (has_table(profile))
        return sample_grey_table(profile, tone, err);
    tone->is_lightness = cmsGetPCS(profile->handle) == cmsSigLabData;
    return read_tone(profile, cmsSigGrayTRCTag, tone, err);
}

/*
 * The matrix from the space's own white to D50.  A tag that is too short is passed
 * over: Little CMS hands out whatever number of values the tag holds.
 */
static bool
read_adaptation(const struct qs_profile *profile, struct qs_matrix3 *out)
{
    const cmsTagSignature tag = cmsSigChromaticAdaptationTag;
    const cmsUInt32Number bytes_needed = 8 + 9 * 4;
    const double *values;

    if (cmsReadRawTag(profile->handle, tag, NULL, 0) < bytes_needed)
        return false;
    values = cmsReadTag(profile->handle, tag);
    if (values == NULL)
        return false;
    for (int i = 0; i < 9; i++)
        out->at[i / 3][i % 3] = values[i];
    return true;
}

/* Of screens and plain colour spaces only: a print's media white is its paper. */
static bool
read_white(const struct qs_profile *profile, double white[3])
{
    const cmsProfileClassSignature class = cmsGetDeviceClass(profile->handle);
    const cmsCIEXYZ *media;

    if (class != cmsSigDisplayClass && class != cmsSigColorSpaceClass)
        return false;
    media = cmsReadTag(profile->handle, cmsSigMediaWhitePointTag);
    if (media == NULL)
        return false;
    white[0] = media->X;
    white[1] = media->Y;
    white[2] = media->Z;
    return fabs(white[0] - qs_d50_xyz[0]) > WHITE_IS_D50 ||
           fabs(white[1] - qs_d50_xyz[1]) > WHITE_IS_D50 ||
           fabs(white[2] - qs_d50_xyz[2]) > WHITE_IS_D50;
}

/* L7: from the profile's D50 back to the white of the space itself. */
static bool
find_unadapting(const struct qs_profile *profile, struct qs_matrix3 *back)
{
    struct qs_matrix3 adaptation;
    double white[3];

    if (read_adaptation(profile, &adaptation) && qs_matrix3_invert(&adaptation, back))
        return true;
    return read_white(profile, white) && qs_bradford(qs_d50_xyz, white, back);
}

/* Weights of the primaries in the columns of `colorants`. */
static enum qs_status
find_weights(const struct qs_profile *profile, const struct qs_matrix3 *colorants,
             struct qs_colour_weights *weights, struct qs_error *err)
{
    const struct qs_primaries *known = qs_primaries_match(colorants);
    struct qs_matrix3 back, own = *colorants;

    if (known != NULL && qs_primaries_weights(known, weights))
        return QS_OK;
    if (find_unadapting(profile, &back))
        own = qs_matrix3_times(&back, colorants);
    if (!qs_colour_weights_of(&own, weights))
        return qs_tone_fail_flat(err);
    return QS_OK;
}

static bool
read_colorants(const struct qs_profile *profile, struct qs_matrix3 *out)
{
    static const cmsTagSignature tags[3] = {
        cmsSigRedColorantTag, cmsSigGreenColorantTag, cmsSigBlueColorantTag};

    for (int j = 0; j < 3; j++) {
        const cmsCIEXYZ *xyz = cmsReadTag(profile->handle, tags[j]);

        if (xyz == NULL)
            return false;
        out->at[0][j] = xyz->X;
        out->at[1][j] = xyz->Y;
        out->at[2][j] = xyz->Z;
    }
    return true;
}

static enum qs_status
read_rgb_curves(struct qs_profile *profile, struct qs_error *err)
{
    static const cmsTagSignature tags[3] = {cmsSigRedTRCTag, cmsSigGreenTRCTag,
                                            cmsSigBlueTRCTag};
    struct qs_matrix3 colorants;

    for (int c = 0; c < 3; c++) {
        const enum qs_status status =
            read_tone(profile, tags[c], &profile->tones[c], err);

        if (status != QS_OK)
            return status;
    }
    if (!read_colorants(profile, &colorants))
        return fail_damaged(err);
    return find_weights(profile, &colorants, &profile->weights, err);
}

static void
transform_pixels(void *table, const float *rgb, float *xyz, int count)
{
    cmsDoTransform(table, rgb, xyz, (cmsUInt32Number)count);
}

/* L9: whether the cube can do with these primaries, given above black. */
static bool
use_primaries(struct qs_profile *profile, struct qs_matrix3 primaries)
{
    const double y = profile->cube.white_xyz[1];
    const double unit[3] = {1.0 / y, 1.0 / y, 1.0 / y};
    const double *shares = profile->weights.luminance;

    if (!qs_cube_prepare(&profile->cube, &primaries))
        return false;
    qs_matrix3_scale_columns(&primaries, unit);
    return find_weights(profile, &primaries, &profile->weights, NULL) == QS_OK &&
           fmin(fmin(shares[0], shares[1]), shares[2]) >= WEIGHT_MIN;
}

/* Tables of floats go through Little CMS as they are. */
static enum qs_status
open_table(struct qs_profile *profile, struct qs_error *err)
{
    if (!cmsIsTag(profile->handle, cmsSigDToB1Tag)) {
        profile->cube.to_xyz = qs_device_table_xyz;
        profile->cube.table = &profile->table;
        return qs_device_table_open(profile->context, profile->handle, &profile->table,
                                    err);
    }
    profile->to_xyz = make_transform(profile, TYPE_RGB_FLT);
    if (profile->to_xyz == NULL)
        return fail_damaged(err);
    profile->cube.to_xyz = transform_pixels;
    profile->cube.table = profile->to_xyz;
    return QS_OK;
}

/* The profile's own primaries, or those of ROMM where they are no use. */
static enum qs_status
read_rgb_table(struct qs_profile *profile, struct qs_error *err)
{
    struct qs_matrix3 primaries;
    enum qs_status status = open_table(profile, err);

    if (status != QS_OK)
        return status;
    qs_cube_measure(&profile->cube, &primaries);
    if (!(profile->cube.white_xyz[1] > 0.0))
        return qs_tone_fail_flat(err);
    if (use_primaries(profile, primaries))
        return QS_OK;
    if (qs_primaries_to_d50(qs_space_primaries(QS_SPACE_ROMM), &primaries) &&
        use_primaries(profile, primaries))
        return QS_OK;
    return qs_tone_fail_flat(err);
}

static void
read_name(struct qs_profile *profile)
{
    wchar_t wide[128] = {0};

    (void)cmsGetProfileInfo(profile->handle, cmsInfoDescription, "en", "US", wide,
                            sizeof wide);
    wide[sizeof wide / sizeof wide[0] - 1] = L'\0';
    qs_utf8_from_wide(wide, profile->name, sizeof profile->name);
    if (profile->name[0] == '\0')
        strcpy(profile->name, "unnamed profile");
}

static bool
has_useful_class(cmsProfileClassSignature class)
{
    return class == cmsSigInputClass || class == cmsSigDisplayClass ||
           class == cmsSigOutputClass || class == cmsSigColorSpaceClass;
}

static enum qs_status
check_kind(const struct qs_profile *profile, struct qs_error *err)
{
    const cmsColorSpaceSignature wanted =
        profile->channels == 1 ? cmsSigGrayData : cmsSigRgbData;
    const cmsColorSpaceSignature connection = cmsGetPCS(profile->handle);

    if (cmsGetColorSpace(profile->handle) != wanted ||
        !has_useful_class(cmsGetDeviceClass(profile->handle)) ||
        (connection != cmsSigXYZData && connection != cmsSigLabData))
        return fail_kind(err, profile->channels);
    return QS_OK;
}

static bool
looks_linear(const struct qs_profile *profile)
{
    if (!qs_profile_is_separate(profile))
        return false;
    for (int c = 0; c < profile->channels; c++) {
        for (int i = 0; i <= 64; i++) {
            const double x = i / 64.0;

            if (fabs(qs_profile_light(profile, c, x) - x) > LINEAR_WITHIN)
                return false;
        }
    }
    return true;
}

static enum qs_status
read_profile(struct qs_profile *profile, const uint8_t *bytes, size_t size,
             struct qs_error *err)
{
    enum qs_status status;

    profile->context = cmsCreateContext(NULL, NULL);
    if (profile->context == NULL)
        return qs_fail_memory(err);
    if (bytes == NULL || size == 0 || size > UINT32_MAX)
        return fail_damaged(err);
    profile->handle =
        cmsOpenProfileFromMemTHR(profile->context, bytes, (cmsUInt32Number)size);
    if (profile->handle == NULL)
        return fail_damaged(err);
    status = check_kind(profile, err);
    if (status != QS_OK)
        return status;
    read_name(profile);
    if (profile->channels == 1)
        status = read_grey(profile, err);
    else if (has_table(profile))
        status = read_rgb_table(profile, err);
    else
        status = read_rgb_curves(profile, err);
    profile->is_linear = status == QS_OK && looks_linear(profile);
    return status;
}

enum qs_status
qs_profile_open(const uint8_t *bytes, size_t size, int channels,
                struct qs_profile **out, struct qs_error *err)
{
    struct qs_profile *profile = qs_alloc(1, sizeof *profile);
    enum qs_status status;

    *out = NULL;
    if (profile == NULL)
        return qs_fail_memory(err);
    profile->channels = channels;
    status = read_profile(profile, bytes, size, err);
    if (status != QS_OK) {
        qs_profile_free(profile);
        return status;
    }
    *out = profile;
    return QS_OK;
}

void
qs_profile_free(struct qs_profile *profile)
{
    if (profile == NULL)
        return;
    for (int c = 0; c < 3; c++)
        qs_tone_clear(&profile->tones[c]);
    if (profile->to_xyz != NULL)
        cmsDeleteTransform(profile->to_xyz);
    qs_device_table_close(&profile->table);
    if (profile->handle != NULL)
        (void)cmsCloseProfile(profile->handle);
    if (profile->context != NULL)
        cmsDeleteContext(profile->context);
    qs_free(profile);
}

const char *
qs_profile_name(const struct qs_profile *profile)
{
    return profile->name;
}

const struct qs_colour_weights *
qs_profile_weights(const struct qs_profile *profile)
{
    return &profile->weights;
}

bool
qs_profile_is_linear(const struct qs_profile *profile)
{
    return profile->is_linear;
}

bool
qs_profile_is_separate(const struct qs_profile *profile)
{
    return profile->cube.to_xyz == NULL;
}

double
qs_profile_light(const struct qs_profile *profile, int channel, double fraction)
{
    assert(qs_profile_is_separate(profile));
    return qs_tone_light(&profile->tones[channel], fraction);
}

void
qs_profile_light_planes(const struct qs_profile *profile, const float *const in[3],
                        int count, float *const out[3])
{
    assert(!qs_profile_is_separate(profile));
    qs_cube_light(&profile->cube, in, count, out);
}
