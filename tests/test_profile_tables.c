/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_profile_tables.c - profiles that are tables, grey profiles, threads
 *
 * The profiles are made here, through Little CMS, from a space that is known: the
 * primaries of BT.709, which both XYZ and Lab can hold, under a gamma of 1.9.  So light
 * is known in closed form, and what the table itself gets wrong is known from Little
 * CMS's own transform.
 */
#include <lcms2.h>
#include <math.h>
#include <pthread.h>
#include <string.h>

#include "base/memory.h"
#include "check_main.h"
#include "linear/encode.h"
#include "linear/linear.h"

#define GAMMA 1.9
#define BYTES_MAX (1 << 20)
#define COUNT 517 /* pixels: more than two chunks, and odd */
#define THREADS 4

static uint8_t bytes[BYTES_MAX];
static cmsUInt32Number size;

/* XYZ of these primaries under D50, in columns: what Little CMS makes of the primaries.
 */
static double colorants[3][3];
static const double d50[3] = {0.9642, 1.0, 0.8249};

static void
find_colorants(void)
{
    static const cmsCIExyY white = {0.3127, 0.3290, 1.0};
    static const cmsCIExyYTRIPLE primaries = {
        {0.64, 0.33, 1.0}, {0.30, 0.60, 1.0}, {0.15, 0.06, 1.0}};
    static const cmsTagSignature tags[3] = {
        cmsSigRedColorantTag, cmsSigGreenColorantTag, cmsSigBlueColorantTag};
    cmsToneCurve *curve = cmsBuildGamma(NULL, GAMMA);
    cmsToneCurve *curves[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves);

    for (int c = 0; c < 3; c++) {
        const cmsCIEXYZ *xyz = cmsReadTag(profile, tags[c]);

        colorants[0][c] = xyz->X;
        colorants[1][c] = xyz->Y;
        colorants[2][c] = xyz->Z;
    }
    (void)cmsCloseProfile(profile);
    cmsFreeToneCurve(curve);
}

/* What the table holds, as device r, g, b in [0, 1] to XYZ. */
struct recipe {
    double version;
    cmsColorSpaceSignature connection; /* XYZ or Lab */
    bool has_curves; /* gamma in curves before the table; else in the table */
    int grid;        /* points of the table along each channel */
    double black;    /* share of white that device black already gives */
    bool is_colourless;
};

static void
recipe_xyz(const struct recipe *recipe, const double rgb[3], double xyz[3])
{
    double light[3];

    for (int c = 0; c < 3; c++)
        light[c] = recipe->has_curves ? rgb[c] : pow(rgb[c], GAMMA);
    if (recipe->is_colourless)
        light[0] = light[1] = light[2] = (light[0] + light[1] + light[2]) / 3.0;
    for (int i = 0; i < 3; i++) {
        xyz[i] = colorants[i][0] * light[0] + colorants[i][1] * light[1] +
                 colorants[i][2] * light[2];
        xyz[i] = recipe->black * d50[i] + (1.0 - recipe->black) * xyz[i];
    }
}

/* Table entries, encoded as the profile wants them: ICC.1, PCS encodings. */
static cmsInt32Number
sample(const cmsUInt16Number in[], cmsUInt16Number out[], void *cargo)
{
    const struct recipe *recipe = cargo;
    const double rgb[3] = {in[0] / 65535.0, in[1] / 65535.0, in[2] / 65535.0};
    double xyz[3];

    recipe_xyz(recipe, rgb, xyz);
    if (recipe->connection == cmsSigXYZData) {
        for (int i = 0; i < 3; i++)
            out[i] = (cmsUInt16Number)lrint(fmin(fmax(xyz[i], 0.0) * 32768.0, 65535.0));
    } else {
        const cmsCIEXYZ colour = {xyz[0], xyz[1], xyz[2]};
        cmsCIELab lab;

        cmsXYZ2Lab(NULL, &lab, &colour);
        if (recipe->version < 4.0)
            cmsFloat2LabEncodedV2(out, &lab);
        else
            cmsFloat2LabEncoded(out, &lab);
    }
    return TRUE;
}

static void
insert_curves(cmsPipeline *pipeline, cmsToneCurve *curve)
{
    cmsToneCurve *const curves[3] = {curve, curve, curve};

    ck_assert(cmsPipelineInsertStage(pipeline, cmsAT_END,
                                     cmsStageAllocToneCurves(NULL, 3, curves)));
}

/* A 16-bit table in v2 and an A-curves/table/B-curves pipeline in v4. */
static cmsPipeline *
make_table(struct recipe *recipe)
{
    cmsPipeline *pipeline = cmsPipelineAlloc(NULL, 3, 3);
    cmsToneCurve *gamma = cmsBuildGamma(NULL, recipe->has_curves ? GAMMA : 1.0);
    cmsToneCurve *straight = cmsBuildGamma(NULL, 1.0);
    cmsStage *table =
        cmsStageAllocCLut16bit(NULL, (cmsUInt32Number)recipe->grid, 3, 3, NULL);

    ck_assert(cmsStageSampleCLut16bit(table, sample, recipe, 0));
    insert_curves(pipeline, gamma);
    ck_assert(cmsPipelineInsertStage(pipeline, cmsAT_END, table));
    insert_curves(pipeline, straight);
    cmsFreeToneCurve(gamma);
    cmsFreeToneCurve(straight);
    return pipeline;
}

/* Leaves the profile in `bytes`. */
static void
save(cmsHPROFILE profile)
{
    ck_assert(cmsSaveProfileToMem(profile, NULL, &size) && size <= BYTES_MAX);
    ck_assert(cmsSaveProfileToMem(profile, bytes, &size));
    (void)cmsCloseProfile(profile);
}

static cmsHPROFILE
start_profile(double version, cmsColorSpaceSignature space,
              cmsColorSpaceSignature connection)
{
    cmsHPROFILE profile = cmsCreateProfilePlaceholder(NULL);

    cmsSetProfileVersion(profile, version);
    cmsSetDeviceClass(profile, cmsSigDisplayClass);
    cmsSetColorSpace(profile, space);
    cmsSetPCS(profile, connection);
    ck_assert(cmsWriteTag(profile, cmsSigMediaWhitePointTag, cmsD50_XYZ()));
    return profile;
}

static void
make_rgb_profile(struct recipe *recipe)
{
    cmsHPROFILE profile =
        start_profile(recipe->version, cmsSigRgbData, recipe->connection);
    cmsPipeline *pipeline = make_table(recipe);

    ck_assert(cmsWriteTag(profile, cmsSigAToB0Tag, pipeline));
    cmsPipelineFree(pipeline);
    save(profile);
}

static struct qs_image_info
info_of(enum qs_sample kind, int channels)
{
    static const int bits[] = {8, 16, 32, 32, 64};
    struct qs_image_info info = {0};

    info.channels = channels;
    info.sample = kind;
    info.bits = bits[kind];
    info.is_float = kind == QS_SAMPLE_F32 || kind == QS_SAMPLE_F64;
    info.colour.claim = QS_CLAIM_ICC;
    info.colour.icc = bytes;
    info.colour.icc_size = size;
    return info;
}

static struct qs_linear *
opened(enum qs_sample kind, int channels)
{
    const struct qs_image_info info = info_of(kind, channels);
    struct qs_error err = {0};
    struct qs_linear *linear = NULL;

    ck_assert_msg(qs_linear_new(&info, NULL, &linear, &err) == QS_OK, "%s", err.text);
    return linear;
}

static void
fill_codes(float codes[3 * COUNT])
{
    for (int i = 0; i < 3 * COUNT; i++)
        codes[i] = (float)((i * 7919 + 317) % 10007) / 10006.0F;
    for (int i = 0; i < 3; i++) {
        codes[i] = 0.0F;
        codes[i + 3] = 1.0F;
    }
}

/* Little CMS's own XYZ of the codes under relative colorimetric intent. */
static void
lcms_xyz(const float codes[3 * COUNT], float xyz[3 * COUNT])
{
    cmsHPROFILE profile = cmsOpenProfileFromMem(bytes, size);
    cmsHPROFILE to = cmsCreateXYZProfile();
    cmsHTRANSFORM transform =
        cmsCreateTransform(profile, TYPE_RGB_FLT, to, TYPE_XYZ_FLT,
                           INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);

    cmsDoTransform(transform, codes, xyz, COUNT);
    cmsDeleteTransform(transform);
    (void)cmsCloseProfile(to);
    (void)cmsCloseProfile(profile);
}

/*
 * Light put together again with the space's true colorants is the XYZ of Little CMS,
 * within the rounding of the table's corners from which the primaries were read
 * (half a 16-bit step of a range of 2 in each of four corners), or, in Lab, what 16
 * bits of Lab do to the corners: up to 3e-4 where XYZ is near 1.
 */
static void
check_against_lcms(const struct recipe *recipe, const float codes[3 * COUNT],
                   const float *const light[3])
{
    static float xyz[3 * COUNT];
    const double allowed = recipe->connection == cmsSigXYZData ? 8e-5 : 4e-4;

    lcms_xyz(codes, xyz);
    for (int p = 0; p < COUNT; p++) {
        for (int i = 0; i < 3; i++) {
            const double above = colorants[i][0] * (double)light[0][p] +
                                 colorants[i][1] * (double)light[1][p] +
                                 colorants[i][2] * (double)light[2][p];
            const double got = recipe->black * d50[i] + (1.0 - recipe->black) * above;

            ck_assert_msg(fabs(got - (double)xyz[3 * p + i]) < allowed, "%d %d: %g %g",
                          p, i, got, (double)xyz[3 * p + i]);
        }
    }
}

static void
check_recipe(struct recipe *recipe, double within)
{
    static float codes[3 * COUNT];
    static float planes[3][COUNT];
    float *const out[3] = {planes[0], planes[1], planes[2]};
    struct qs_linear *linear;

    make_rgb_profile(recipe);
    linear = opened(QS_SAMPLE_F32, 3);
    fill_codes(codes);
    qs_linear_decode(linear, codes, COUNT, out, NULL);
    for (int i = 0; i < 3 * COUNT; i++) {
        const double want = pow((double)codes[i], GAMMA);

        ck_assert_msg(fabs((double)planes[i % 3][i / 3] - want) < within,
                      "v%.1f pixel %d channel %d: %g %g", recipe->version, i / 3, i % 3,
                      (double)planes[i % 3][i / 3], want);
    }
    check_against_lcms(recipe, codes, (const float *const *)out);
    for (int c = 0; c < 3; c++) { /* black is 0 and white is 1 */
        ck_assert(fabsf(planes[c][0]) < 1e-6F);
        ck_assert(fabsf(planes[c][1] - 1.0F) < 1e-6F);
    }
    /* from the primaries; exact only because the space is recognised */
    ck_assert_double_eq_tol(qs_linear_encoding(linear)->weights.luminance[0], 0.2126390,
                            6e-8);
    ck_assert_double_eq_tol(qs_linear_encoding(linear)->weights.luminance[1], 0.7151687,
                            6e-8);
    ck_assert_str_eq(qs_linear_encoding(linear)->name, "unnamed profile");
    qs_linear_free(linear);
}

/*
 * With the gamma in curves the table is straight, so only its 16 bits are left:
 * half a step, 1/65536, in XYZ; in r, g, b up to the row sums of the inverse
 * colorants (at most 3.2) times that, and the 16-bit curves of v2 (entries 4096).
 */
START_TEST(test_straight_tables)
{
    static struct recipe recipes[] = {
        {2.1, cmsSigXYZData, true, 2, 0.0, false},
        {4.2, cmsSigXYZData, true, 2, 0.0, false},
        {2.1, cmsSigXYZData, true, 5, 0.0, false},
        {4.2, cmsSigXYZData, true, 17, 0.0, false},
    };

    find_colorants();
    for (size_t i = 0; i < sizeof recipes / sizeof recipes[0]; i++)
        check_recipe(&recipes[i], 3e-4);
}
END_TEST

/* Light that device black already gives is taken off, as far as the table knows it. */
START_TEST(test_black_is_taken_off)
{
    static struct recipe recipe = {4.2, cmsSigXYZData, true, 9, 0.0317, false};
    static float codes[3 * COUNT];
    static float planes[3][COUNT];
    float *const out[3] = {planes[0], planes[1], planes[2]};
    struct qs_linear *linear;

    find_colorants();
    make_rgb_profile(&recipe);
    linear = opened(QS_SAMPLE_F32, 3);
    fill_codes(codes);
    qs_linear_decode(linear, codes, COUNT, out, NULL);
    for (int i = 0; i < 3 * COUNT; i++)
        ck_assert_double_eq_tol((double)planes[i % 3][i / 3],
                                pow((double)codes[i], GAMMA), 3e-4);
    check_against_lcms(&recipe, codes, (const float *const *)out);
    qs_linear_free(linear);
}
END_TEST

/*
 * With the gamma in the table, a straight line between points of the table lies
 * above the curve by at most f'' h^2 / 8 = 1.9 x 0.9 / (8 x 32^2) = 2.1e-4.  In Lab
 * it does not lie on a straight line; there Little CMS's figure is the yardstick,
 * and 1/500 of white only a bound.
 */
START_TEST(test_bent_tables)
{
    static struct recipe recipes[] = {
        {2.1, cmsSigXYZData, false, 33, 0.0, false},
        {4.2, cmsSigXYZData, false, 33, 0.0, false},
        {2.1, cmsSigLabData, false, 33, 0.0, false},
        {4.2, cmsSigLabData, false, 33, 0.0, false},
    };

    find_colorants();
    for (size_t i = 0; i < sizeof recipes / sizeof recipes[0]; i++)
        check_recipe(&recipes[i], i < 2 ? 5e-4 : 2e-3);
}
END_TEST

/* A table without colour has no primaries: ROMM's are used, and grey stays grey. */
START_TEST(test_table_without_colour)
{
    static struct recipe recipe = {4.2, cmsSigXYZData, true, 9, 0.0, true};
    const double codes[6] = {0.317, 0.317, 0.317, 1.0, 1.0, 1.0};
    float planes[3][2];
    float *const out[3] = {planes[0], planes[1], planes[2]};
    struct qs_linear *linear;

    find_colorants();
    make_rgb_profile(&recipe);
    linear = opened(QS_SAMPLE_F64, 3);
    qs_linear_decode(linear, codes, 2, out, NULL);
    for (int c = 0; c < 3; c++) {
        ck_assert_double_eq_tol((double)planes[c][0], pow(0.317, GAMMA), 3e-4);
        ck_assert_double_eq_tol((double)planes[c][1], 1.0, 1e-6);
    }
    qs_linear_free(linear);
}
END_TEST

/* Outside the table light goes on: below black negative, above white more than 1. */
START_TEST(test_outside_the_table)
{
    static struct recipe recipe = {4.2, cmsSigXYZData, true, 9, 0.0, false};
    const double codes[15] = {-0.1, 0.4, 0.4, 1.2, 1.2, 1.2, 0.4,     0.4,
                              3.5,  NAN, 0.4, 0.4, 0.4, 0.4, HUGE_VAL};
    float planes[3][5];
    float *const out[3] = {planes[0], planes[1], planes[2]};
    struct qs_linear *linear;

    find_colorants();
    make_rgb_profile(&recipe);
    linear = opened(QS_SAMPLE_F64, 3);
    qs_linear_decode(linear, codes, 5, out, NULL);
    ck_assert_double_eq_tol((double)planes[0][0], -pow(0.1, GAMMA), 4e-4);
    ck_assert_double_eq_tol((double)planes[1][0], pow(0.4, GAMMA), 4e-4);
    for (int c = 0; c < 3; c++)
        ck_assert_double_eq_tol((double)planes[c][1], 2.0 - pow(0.8, GAMMA), 4e-4);
    ck_assert_double_eq_tol((double)planes[2][2], 1.0 + 2.5, 1e-3);
    ck_assert(isnan(planes[0][3]));
    ck_assert(!(planes[2][4] < 1e6F));
    qs_linear_free(linear);
}
END_TEST

/* The table comes first where a profile has both, as ICC.1 says. */
START_TEST(test_table_before_curves)
{
    static struct recipe recipe = {4.2, cmsSigXYZData, true, 9, 0.0, false};
    static const cmsCIExyYTRIPLE wrong = {
        {0.68, 0.32, 1.0}, {0.265, 0.69, 1.0}, {0.15, 0.06, 1.0}};
    static const cmsCIExyY white = {0.3127, 0.3290, 1.0};
    cmsToneCurve *curve = cmsBuildGamma(NULL, 3.0);
    cmsToneCurve *curves[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &wrong, curves);
    cmsPipeline *pipeline;
    const double code[3] = {0.5, 0.5, 0.5};
    float r, g, b;
    float *const out[3] = {&r, &g, &b};
    struct qs_linear *linear;

    find_colorants();
    pipeline = make_table(&recipe);
    ck_assert(cmsWriteTag(profile, cmsSigAToB0Tag, pipeline));
    cmsPipelineFree(pipeline);
    save(profile);
    cmsFreeToneCurve(curve);
    linear = opened(QS_SAMPLE_F64, 3);
    qs_linear_decode(linear, code, 1, out, NULL);
    ck_assert_double_eq_tol((double)g, pow(0.5, GAMMA), 3e-4);
    qs_linear_free(linear);
}
END_TEST

/* Whole numbers read a table as floats do, and the detour by fractions agrees. */
START_TEST(test_sample_types_of_tables)
{
    static struct recipe recipe = {2.1, cmsSigXYZData, true, 9, 0.0, false};
    static uint16_t codes[3 * COUNT];
    static float straight[3][COUNT], detour[3][COUNT];
    float *const out[3] = {straight[0], straight[1], straight[2]};
    float *const way[3] = {detour[0], detour[1], detour[2]};
    uint8_t ends[COUNT];
    struct qs_linear *linear;

    find_colorants();
    make_rgb_profile(&recipe);
    linear = opened(QS_SAMPLE_U16, 3);
    for (int i = 0; i < 3 * COUNT; i++)
        codes[i] = (uint16_t)(i * 16787);
    qs_linear_decode(linear, codes, COUNT, out, ends);
    qs_linear_fractions(linear, codes, COUNT, way);
    qs_linear_from_fractions(linear, (const float *const *)way, COUNT, way);
    for (int i = 0; i < 3 * COUNT; i++) {
        ck_assert(fabsf(straight[i % 3][i / 3] - detour[i % 3][i / 3]) < 1e-6F);
        ck_assert_double_eq_tol((double)straight[i % 3][i / 3],
                                pow(codes[i] / 65535.0, GAMMA), 3e-4);
    }
    ck_assert_int_eq(ends[0], 1);
    ck_assert_int_eq(ends[1], 0);
    qs_linear_free(linear);
}
END_TEST

/*
 * There and back: every code of 16 bits that the table tells from its neighbours comes
 * back.  Floats of light are known to 6e-8 of white, so the code is known to that over
 * the curve's slope, which at a fraction f is 1.9 f^0.9: 0.5 code at f = 0.01 and less
 * above; a straight table (curves before it) is asked at 0.02, a bent one from its
 * first points on, 1/32.
 */
START_TEST(test_there_and_back)
{
    static struct recipe recipes[] = {
        {2.1, cmsSigXYZData, true, 9, 0.0, false},
        {4.2, cmsSigXYZData, true, 9, 0.0317, false},
        {2.1, cmsSigXYZData, false, 33, 0.0, false},
        {2.1, cmsSigLabData, false, 33, 0.0, false},
        {4.2, cmsSigLabData, false, 33, 0.0, false},
    };

    find_colorants();
    for (size_t r = 0; r < sizeof recipes / sizeof recipes[0]; r++) {
        static float codes[3 * COUNT];
        static float light[QS_QUAD * COUNT], back[QS_QUAD * COUNT];
        struct qs_linear *linear;
        struct qs_encoder *encoder;

        make_rgb_profile(&recipes[r]);
        linear = opened(QS_SAMPLE_F32, 3);
        fill_codes(codes);
        ck_assert_int_eq(qs_encoder_new(linear, &encoder, NULL), QS_OK);
        qs_linear_decode_quads(linear, codes, COUNT, light);
        qs_encode(encoder, light, COUNT, QS_QUAD, back);
        for (int i = 0; i < 3 * COUNT; i++) {
            double got = (double)back[QS_QUAD * (i / 3) + i % 3];
            double want = 65535.0 * (double)codes[i];

            if (codes[i] < 1.0F / 32.0F && codes[i] > 0.0F)
                continue;
            ck_assert_msg(fabs(got - want) < 0.5, "%zu: %d: %.3f not %.3f", r, i, got,
                          want);
        }
        qs_encoder_free(encoder);
        qs_linear_free(linear);
    }
}
END_TEST

struct share {
    const struct qs_linear *linear;
    const float *codes;
    float planes[3][COUNT];
};

static void *
decode_often(void *argument)
{
    struct share *share = argument;
    float *const out[3] = {share->planes[0], share->planes[1], share->planes[2]};

    for (int i = 0; i < 20; i++)
        qs_linear_decode(share->linear, share->codes, COUNT, out, NULL);
    return NULL;
}

/* One table shared by threads gives every thread the same light to the bit. */
START_TEST(test_threads_share_a_table)
{
    static struct recipe recipe = {4.2, cmsSigLabData, false, 9, 0.0, false};
    static struct share shares[THREADS + 1];
    static float codes[3 * COUNT];
    pthread_t threads[THREADS];
    struct qs_linear *linear;

    find_colorants();
    make_rgb_profile(&recipe);
    linear = opened(QS_SAMPLE_F32, 3);
    fill_codes(codes);
    for (int i = 0; i <= THREADS; i++)
        shares[i] = (struct share){.linear = linear, .codes = codes};
    (void)decode_often(&shares[THREADS]);
    for (int i = 0; i < THREADS; i++)
        ck_assert_int_eq(pthread_create(&threads[i], NULL, decode_often, &shares[i]),
                         0);
    for (int i = 0; i < THREADS; i++) {
        ck_assert_int_eq(pthread_join(threads[i], NULL), 0);
        ck_assert_mem_eq(shares[i].planes, shares[THREADS].planes,
                         sizeof shares[i].planes);
    }
    qs_linear_free(linear);
}
END_TEST

static void
make_grey_profile(double version, cmsColorSpaceSignature connection,
                  const cmsToneCurve *curve)
{
    cmsHPROFILE profile = start_profile(version, cmsSigGrayData, connection);

    ck_assert(cmsWriteTag(profile, cmsSigGrayTRCTag, curve));
    save(profile);
}

static double
grey_light(double code)
{
    struct qs_linear *linear = opened(QS_SAMPLE_F64, 1);
    float light;
    float *const out[3] = {&light, NULL, NULL};

    qs_linear_decode(linear, &code, 1, out, NULL);
    qs_linear_free(linear);
    return (double)light;
}

/* v2 keeps a gamma in 8.8 fixed point: 1.9 becomes 486/256.  v4 has 16.16. */
START_TEST(test_grey_formulas)
{
    cmsToneCurve *curve = cmsBuildGamma(NULL, GAMMA);

    make_grey_profile(2.1, cmsSigXYZData, curve);
    ck_assert_double_eq_tol(grey_light(0.317), pow(0.317, 486.0 / 256.0), 1e-6);
    ck_assert_double_eq_tol(grey_light(-0.317), -pow(0.317, 486.0 / 256.0), 1e-6);
    make_grey_profile(4.2, cmsSigXYZData, curve);
    ck_assert_double_eq_tol(grey_light(0.317), pow(0.317, GAMMA), 4e-6);
    ck_assert_double_eq_tol(grey_light(1.317), pow(1.317, GAMMA), 1e-5);
    cmsFreeToneCurve(curve);
}
END_TEST

/* Into Lab a grey curve gives L*: CIE 15, Y = ((L* + 16) / 116)^3 or 27 L* / 24389. */
START_TEST(test_grey_into_lab)
{
    static const double versions[2] = {2.1, 4.2};
    cmsToneCurve *curve = cmsBuildGamma(NULL, 1.0);

    for (int i = 0; i < 2; i++) {
        make_grey_profile(versions[i], cmsSigLabData, curve);
        ck_assert_double_eq_tol(grey_light(0.5), 0.184187, 6e-7); /* L* 50 */
        ck_assert_double_eq_tol(grey_light(0.494961), 0.18, 6e-7);
        ck_assert_double_eq_tol(grey_light(0.0317), 3.17 * 27.0 / 24389.0, 1e-7);
        ck_assert_double_eq_tol(grey_light(1.0), 1.0, 1e-7);
    }
    cmsFreeToneCurve(curve);
}
END_TEST

/*
 * Tables are interpolated in double.  With three points the light is known by hand;
 * Little CMS would round to 1/65535, which a step of 1/100 of that shows.
 */
START_TEST(test_grey_table_is_not_rounded)
{
    static const cmsUInt16Number points[3] = {0, 9830, 65535};
    cmsToneCurve *curve = cmsBuildTabulatedToneCurve16(NULL, 3, points);
    const double rise = 9830.0 / 65535.0;

    make_grey_profile(2.1, cmsSigXYZData, curve);
    ck_assert_double_eq_tol(grey_light(0.25), rise / 2.0, 1e-8);
    ck_assert_double_eq_tol(grey_light(0.25 + 1.5e-7), (0.25 + 1.5e-7) * 2.0 * rise,
                            1e-8);
    ck_assert_double_eq_tol(grey_light(-0.1), -0.2 * rise, 1e-8);
    ck_assert_double_eq_tol(grey_light(1.1), 1.0 + 0.2 * (1.0 - rise), 2e-7);
    cmsFreeToneCurve(curve);
}
END_TEST

/* A curve that does not rise from black to white cannot be made linear. */
START_TEST(test_curves_that_lead_nowhere)
{
    static const cmsUInt16Number flat[2] = {20000, 20000}, falling[2] = {65535, 0};
    cmsToneCurve *curves[2] = {cmsBuildTabulatedToneCurve16(NULL, 2, flat),
                               cmsBuildTabulatedToneCurve16(NULL, 2, falling)};

    for (int i = 0; i < 2; i++) {
        struct qs_image_info info;
        struct qs_error err = {0};
        struct qs_linear *linear;

        make_grey_profile(2.1, cmsSigXYZData, curves[i]);
        info = info_of(QS_SAMPLE_U8, 1);
        ck_assert_int_eq(qs_linear_new(&info, NULL, &linear, &err), QS_ERR_PROFILE);
        ck_assert_ptr_nonnull(strstr(err.text, "--encoding"));
        cmsFreeToneCurve(curves[i]);
    }
}
END_TEST

/* A grey A2B table: one curve in front of a two-point table, to XYZ. */
START_TEST(test_grey_table_to_xyz)
{
    static const cmsUInt16Number ends[6] = {0, 0, 0, 31595, 32768, 27030};
    cmsHPROFILE profile = start_profile(4.2, cmsSigGrayData, cmsSigXYZData);
    cmsPipeline *pipeline = cmsPipelineAlloc(NULL, 1, 3);
    cmsToneCurve *gamma = cmsBuildGamma(NULL, GAMMA);
    cmsToneCurve *straight = cmsBuildGamma(NULL, 1.0);

    ck_assert(cmsPipelineInsertStage(pipeline, cmsAT_END,
                                     cmsStageAllocToneCurves(NULL, 1, &gamma)));
    ck_assert(cmsPipelineInsertStage(pipeline, cmsAT_END,
                                     cmsStageAllocCLut16bit(NULL, 2, 1, 3, ends)));
    insert_curves(pipeline, straight);
    ck_assert(cmsWriteTag(profile, cmsSigAToB0Tag, pipeline));
    save(profile);
    /* the table's 16 bits: steps of 1/32768 */
    ck_assert_double_eq_tol(grey_light(0.317), pow(0.317, GAMMA), 5e-5);
    ck_assert_double_eq_tol(grey_light(1.0), 1.0, 1e-7);
    ck_assert(grey_light(-0.317) < -0.1 && grey_light(1.317) > 1.5);
    cmsPipelineFree(pipeline);
    cmsFreeToneCurve(gamma);
    cmsFreeToneCurve(straight);
}
END_TEST

/* Names are shown as they are meant, without what could upset a terminal. */
START_TEST(test_names)
{
    cmsHPROFILE profile = start_profile(4.2, cmsSigGrayData, cmsSigXYZData);
    cmsToneCurve *curve = cmsBuildGamma(NULL, GAMMA);
    cmsMLU *text = cmsMLUalloc(NULL, 1);
    struct qs_linear *linear;

    ck_assert(cmsMLUsetWide(text, "en", "US", L"  Gr\u00E4u\x1B[31m \u20AC\n"));
    ck_assert(cmsWriteTag(profile, cmsSigProfileDescriptionTag, text));
    ck_assert(cmsWriteTag(profile, cmsSigGrayTRCTag, curve));
    save(profile);
    cmsMLUfree(text);
    cmsFreeToneCurve(curve);
    linear = opened(QS_SAMPLE_U16, 1);
    ck_assert_str_eq(qs_linear_encoding(linear)->name, "Gr\xC3\xA4u[31m \xE2\x82\xAC");
    qs_linear_free(linear);
}
END_TEST

/* Cut at many lengths a table profile is refused, or still means something. */
START_TEST(test_truncated_table)
{
    static struct recipe recipe = {4.2, cmsSigXYZData, true, 9, 0.0, false};
    cmsUInt32Number whole;

    find_colorants();
    make_rgb_profile(&recipe);
    whole = size;
    for (cmsUInt32Number cut = 0; cut < whole; cut += cut < 400 ? 1 : 7) {
        struct qs_image_info info;
        struct qs_linear *linear;
        enum qs_status status;

        size = cut;
        info = info_of(QS_SAMPLE_U8, 3);
        status = qs_linear_new(&info, NULL, &linear, NULL);
        ck_assert(status == QS_OK || status == QS_ERR_PROFILE);
        qs_linear_free(linear);
    }
}
END_TEST

QS_TEST_MAIN("profile_tables", test_straight_tables, test_black_is_taken_off,
             test_bent_tables, test_table_without_colour, test_outside_the_table,
             test_table_before_curves, test_sample_types_of_tables, test_there_and_back,
             test_threads_share_a_table, test_grey_formulas, test_grey_into_lab,
             test_grey_table_is_not_rounded, test_curves_that_lead_nowhere,
             test_grey_table_to_xyz, test_names, test_truncated_table)
