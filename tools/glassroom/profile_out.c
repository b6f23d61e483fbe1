/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "profile_out.h"

#include <lcms2.h>
#include <string.h>

#include "base/memory.h"

/* ICC.1 header: year, month, day, hour, minute, second as six 16-bit numbers. */
enum {
    DATE_AT = 24,
    DATE_SIZE = 12
};
static const unsigned char fixed_date[DATE_SIZE] = {0x07, 0xea, 0, 1, 0, 15,
                                                    0,    17,   0, 5, 0, 0};

static cmsToneCurve *
make_curve(const struct gr_space *s)
{
    const double values[5] = {s->power, s->a, s->b, 1.0 / s->slope, s->break_code};

    return s->is_linear ? cmsBuildGamma(NULL, 1.0)
                        : cmsBuildParametricToneCurve(NULL, 4, values);
}

static cmsHPROFILE
make_profile(const struct gr_space *s, int channels, cmsToneCurve *curve)
{
    cmsToneCurve *const curves[3] = {curve, curve, curve};
    const cmsCIExyY white = {s->white[0], s->white[1], 1.0};
    const cmsCIExyYTRIPLE primaries = {{s->primaries[0][0], s->primaries[0][1], 1.0},
                                       {s->primaries[1][0], s->primaries[1][1], 1.0},
                                       {s->primaries[2][0], s->primaries[2][1], 1.0}};

    return channels == 1 ? cmsCreateGrayProfile(cmsD50_xyY(), curve)
                         : cmsCreateRGBProfile(&white, &primaries, curves);
}

static cmsBool
describe(cmsHPROFILE profile, const struct gr_space *s, int channels)
{
    cmsMLU *text = cmsMLUalloc(NULL, 1);
    char name[64] = "glassroom ";
    cmsBool done;

    strncat(name, s->name, 20);
    strncat(name, channels == 1 ? " grey" : " colour", 20);
    done = text != NULL && cmsMLUsetASCII(text, "en", "US", name) &&
           cmsWriteTag(profile, cmsSigProfileDescriptionTag, text);
    cmsMLUfree(text);
    return done;
}

static enum qs_status
save(cmsHPROFILE profile, struct gr_profile *out, struct qs_error *err)
{
    cmsUInt32Number size = 0;

    if (!cmsSaveProfileToMem(profile, NULL, &size) || size < DATE_AT + DATE_SIZE)
        return qs_fail(err, QS_ERR_PROFILE,
                       "Little CMS could not size the colour profile.");
    out->bytes = qs_alloc(size, 1);
    if (out->bytes == NULL)
        return qs_fail_memory(err);
    if (!cmsSaveProfileToMem(profile, out->bytes, &size)) {
        qs_free(out->bytes);
        out->bytes = NULL;
        return qs_fail(err, QS_ERR_PROFILE,
                       "Little CMS could not write the colour profile.");
    }
    memcpy(out->bytes + DATE_AT, fixed_date, DATE_SIZE);
    out->size = size;
    return QS_OK;
}

enum qs_status
gr_profile_make(const struct gr_space *space, int channels, struct gr_profile *out,
                struct qs_error *err)
{
    cmsToneCurve *curve = make_curve(space);
    cmsHPROFILE profile = curve != NULL ? make_profile(space, channels, curve) : NULL;
    enum qs_status status;

    out->bytes = NULL;
    out->size = 0;
    if (profile == NULL || !describe(profile, space, channels))
        status = qs_fail(err, QS_ERR_PROFILE,
                         "Little CMS could not make the colour profile.");
    else
        status = save(profile, out, err);
    if (profile != NULL)
        cmsCloseProfile(profile);
    if (curve != NULL)
        cmsFreeToneCurve(curve);
    return status;
}
