/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_linear.c - named encodings, PNG colour chunks, black and white codes
 *
 * Expected values: IEC 61966-2-1 (sRGB), ISO 22028-2 (ROMM), ITU-R BT.709 and
 * BT.2020 with the exact constants, the Adobe RGB (1998) paper, ITU-T H.273.
 * Luminance weights were worked out apart from this code, with numpy, from the
 * published primaries.
 */
#include "linear/linear.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "check_main.h"
#include "linear/curve.h"

#define MANY_PX 1301 /* more than two chunks, and odd */

static struct qs_image_info
info_of(enum qs_sample sample, int channels)
{
    static const int bits[] = {8, 16, 32, 32, 64};
    struct qs_image_info info = {0};

    info.width = info.height = 1;
    info.channels = channels;
    info.sample = sample;
    info.bits = bits[sample];
    info.is_float = sample == QS_SAMPLE_F32 || sample == QS_SAMPLE_F64;
    return info;
}

static struct qs_linear *
prepared(const struct qs_image_info *info, const struct qs_encoding_choice *choice)
{
    struct qs_error err = {0};
    struct qs_linear *linear = NULL;

    ck_assert_msg(qs_linear_new(info, choice, &linear, &err) == QS_OK, "%s", err.text);
    return linear;
}

static struct qs_linear *
named(const struct qs_image_info *info, const char *name)
{
    const struct qs_encoding_choice choice = {.name = name};

    return prepared(info, &choice);
}

/* Light of one grey code of a 64-bit float file. */
static double
light_of(const struct qs_linear *linear, double code)
{
    float light;
    float *const out[3] = {&light, NULL, NULL};

    qs_linear_decode(linear, &code, 1, out, NULL);
    return (double)light;
}

/*
 * Code and light, by the formulas of the standards named above: light was chosen, the
 * code worked out in double and rounded to the digits here.
 */
static const struct {
    const char *name;
    double code;
    double light;
} published[] = {
    {"srgb", 0.461356129500442, 0.18}, /* also in colour-science's test_srgb.py */
    {"srgb", 0.01292, 0.001},          {"srgb", 0.0998529, 0.01},
    {"srgb", 0.2478005, 0.05},         {"srgb", 0.7353570, 0.5},
    {"srgb", 0.9546872, 0.9},          {"srgb", 0.5, 0.2140411},
    {"adobe1998", 0.4585295, 0.18},    {"gamma:2.2", 0.4586564, 0.18},
    {"prophoto", 0.3857114, 0.18}, /* also in colour-science's ROMM tests */
    {"prophoto", 0.016, 0.001},        {"bt709", 0.4090077, 0.18},
    {"rec2020", 0.408848108891, 0.18}, {"bt709", 0.045, 0.01},
    {"linear", 0.31337, 0.31337},
};

START_TEST(test_published_values)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_F64, 1);

    for (size_t i = 0; i < sizeof published / sizeof published[0]; i++) {
        struct qs_linear *linear = named(&info, published[i].name);

        /* half the last digit given, times slopes up to 2.4; float adds 6e-8 */
        ck_assert_double_eq_tol(light_of(linear, published[i].code), published[i].light,
                                2e-7);
        qs_linear_free(linear);
    }
}
END_TEST

/* Every curve of the table: black and white, rising, no step at the knee. */
START_TEST(test_every_curve_is_sound)
{
    for (int row = 0; qs_curve_row(row) != NULL; row++) {
        const struct qs_curve *curve = qs_curve_row(row);
        double before = qs_curve_light(curve, -0.317);

        ck_assert(qs_curve_light(curve, 0.0) == 0.0);
        ck_assert_double_eq_tol(qs_curve_light(curve, 1.0), 1.0, 1e-15);
        for (int i = -20000; i <= 131071; i++) {
            const double light = qs_curve_light(curve, i / 65535.0);
            /* BT.709 as published encodes nothing to 0.0810 ... 0.0813 */
            const bool gap = strcmp(curve->key, "bt709") == 0 && i > 5308 && i < 5325;

            if (i > -20000)
                ck_assert_msg(light > before || (gap && light == before),
                              "%s falls at %d", curve->key, i);
            ck_assert_msg(i == -20000 || light - before < 4e-4 * (1.0 + light),
                          "%s steps at %d", curve->key, i);
            before = light;
        }
    }
}
END_TEST

/*
 * Light to fraction undoes fraction to light at every 16-bit code, but for the gap of
 * BT.709; its steepness is that of a secant.  0.18 is 0.4613561 in sRGB (computed from
 * IEC 61966-2-1's formula by hand: 1.055 x 0.18^(1/2.4) - 0.055).
 */
START_TEST(test_light_to_fraction)
{
    ck_assert_double_eq_tol(qs_curve_fraction(qs_curve_srgb(), 0.18), 0.4613561, 1e-7);
    ck_assert_str_eq(qs_curve_srgb()->key, "srgb");
    for (int row = 0; qs_curve_row(row) != NULL; row++) {
        const struct qs_curve *curve = qs_curve_row(row);

        for (int code = -2000; code <= 80000; code++) {
            double fraction = code / 65535.0, light = qs_curve_light(curve, fraction);
            double gap = curve->slope > 0.0 && fraction > curve->knee ? 4e-4 : 1e-12;

            ck_assert_double_eq_tol(qs_curve_fraction(curve, light), fraction, gap);
        }
        for (double light = 0.05; light < 1.3; light += 0.07) {
            double step = 1e-6;
            double secant = (qs_curve_fraction(curve, light + step) -
                             qs_curve_fraction(curve, light - step)) /
                            (2.0 * step);

            ck_assert_double_eq_tol(qs_curve_steepness(curve, light) / secant, 1.0,
                                    1e-8);
        }
    }
}
END_TEST

/* Outside the range nothing is clamped: the toe goes on, a bare power is mirrored. */
START_TEST(test_outside_the_range)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_F64, 1);
    struct qs_linear *srgb = named(&info, "srgb");
    struct qs_linear *power = named(&info, "gamma:1.7");

    ck_assert_double_eq_tol(light_of(srgb, -0.317), -0.317 / 12.92, 1e-8);
    ck_assert_double_eq_tol(light_of(srgb, 1.317), pow((1.317 + 0.055) / 1.055, 2.4),
                            3e-7);
    ck_assert_double_eq_tol(light_of(power, -0.317), -pow(0.317, 1.7), 1e-7);
    ck_assert_double_eq_tol(light_of(power, 1.317), pow(1.317, 1.7), 2e-7);
    ck_assert(isnan(light_of(srgb, (double)NAN)));
    qs_linear_free(srgb);
    qs_linear_free(power);
}
END_TEST

START_TEST(test_encoding_names)
{
    static const char *const good[] = {
        "profile",   "linear",    "srgb",      "bt709",   "rec2020",  "prophoto",
        "adobe1998", "gamma:2.2", "gamma:0.2", "gamma:5", "gamma:.45"};
    static const char *const bad[] = {"",           "sRGB",        "gamma",
                                      "gamma:",     "gamma:nan",   "gamma:0.19",
                                      "gamma:5.01", "gamma:-2",    "gamma:0x2",
                                      "gamma:2.2x", "gamma:1.2.3", "gamma:."};

    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
        ck_assert_int_eq(qs_encoding_check(good[i], NULL), QS_OK);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct qs_error err = {0};

        ck_assert_msg(qs_encoding_check(bad[i], &err) == QS_ERR_USAGE, "%s", bad[i]);
        ck_assert_ptr_nonnull(strstr(err.text, "prophoto"));
    }
    for (int row = 0; qs_curve_row(row) != NULL; row++) {
        struct qs_error err = {0};

        ck_assert_int_eq(qs_encoding_check(qs_curve_row(row)->key, NULL), QS_OK);
        ck_assert_int_eq(qs_encoding_check("?", &err), QS_ERR_USAGE);
        ck_assert_ptr_nonnull(strstr(err.text, qs_curve_row(row)->key));
    }
}
END_TEST

static void
check_weights(const struct qs_linear *linear, double r, double g, double b)
{
    const double *weights = qs_linear_encoding(linear)->weights.luminance;

    ck_assert_double_eq_tol(weights[0], r, 6e-8);
    ck_assert_double_eq_tol(weights[1], g, 6e-8);
    ck_assert_double_eq_tol(weights[2], b, 6e-8);
}

START_TEST(test_weights_of_named_encodings)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_U16, 3);
    static const struct {
        const char *name;
        double weights[3];
    } rows[] = {
        {"srgb", {0.2126390, 0.7151687, 0.0721923}},
        {"bt709", {0.2126390, 0.7151687, 0.0721923}},
        {"gamma:1.9", {0.2126390, 0.7151687, 0.0721923}},
        {"rec2020", {0.2627002, 0.6779981, 0.0593017}},
        {"adobe1998", {0.2973450, 0.6273636, 0.0752915}},
        {"prophoto", {0.2880711, 0.7118432, 0.0000857}},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct qs_linear *linear = named(&info, rows[i].name);

        check_weights(linear, rows[i].weights[0], rows[i].weights[1],
                      rows[i].weights[2]);
        ck_assert_int_eq(qs_linear_encoding(linear)->from, QS_FROM_OPTION);
        qs_linear_free(linear);
    }
}
END_TEST

START_TEST(test_assumptions)
{
    struct qs_image_info info = info_of(QS_SAMPLE_U8, 3);
    struct qs_linear *whole = prepared(&info, NULL);
    struct qs_linear *real;

    info = info_of(QS_SAMPLE_F32, 1);
    real = prepared(&info, NULL);
    ck_assert_str_eq(qs_linear_encoding(whole)->name, "sRGB");
    ck_assert_int_eq(qs_linear_encoding(whole)->from, QS_FROM_ASSUMED);
    ck_assert(!qs_linear_encoding(whole)->is_linear);
    ck_assert_str_eq(qs_linear_encoding(real)->name, "linear");
    ck_assert_int_eq(qs_linear_encoding(real)->from, QS_FROM_ASSUMED);
    ck_assert(qs_linear_encoding(real)->is_linear);
    qs_linear_free(whole);
    qs_linear_free(real);
}
END_TEST

/* The table by code is the formula, for every code and both sample types. */
START_TEST(test_codes_follow_the_curve)
{
    static uint16_t codes[65536];
    static float light[65536];
    float *const out[3] = {light, NULL, NULL};
    struct qs_image_info info = info_of(QS_SAMPLE_U16, 1);
    struct qs_linear *linear = named(&info, "srgb");
    uint8_t bytes[256];

    for (int i = 0; i < 65536; i++)
        codes[i] = (uint16_t)i;
    qs_linear_decode(linear, codes, 65536, out, NULL);
    for (int i = 0; i < 65536; i++) {
        const double v = i / 65535.0;
        const double want = v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);

        ck_assert(fabs((double)light[i] - want) <= 6e-8 * want);
        ck_assert(i == 0 || light[i] > light[i - 1]);
    }
    qs_linear_free(linear);
    info = info_of(QS_SAMPLE_U8, 1);
    linear = named(&info, "adobe1998");
    for (int i = 0; i < 256; i++)
        bytes[i] = (uint8_t)i;
    qs_linear_decode(linear, bytes, 256, out, NULL);
    for (int i = 0; i < 256; i++)
        ck_assert_double_eq_tol((double)light[i], pow(i / 255.0, 563.0 / 256.0), 1e-7);
    qs_linear_free(linear);
}
END_TEST

START_TEST(test_black_and_white_codes)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_U16, 3);
    const struct qs_encoding_choice choice = {"linear", true, 511.5, true, 15871.25};
    struct qs_linear *linear = prepared(&info, &choice);
    const uint16_t codes[6] = {0, 511, 512, 8191, 15872, 65535};
    float planes[3][2], fractions[3][2];
    float *const out[3] = {planes[0], planes[1], planes[2]};
    float *const parts[3] = {fractions[0], fractions[1], fractions[2]};

    qs_linear_decode(linear, codes, 2, out, NULL);
    qs_linear_fractions(linear, codes, 2, parts);
    for (int i = 0; i < 6; i++) {
        const double want = (codes[i] - 511.5) / (15871.25 - 511.5);

        ck_assert_double_eq_tol((double)planes[i % 3][i / 3], want, 3e-7);
        ck_assert(planes[i % 3][i / 3] == fractions[i % 3][i / 3]);
    }
    ck_assert(qs_linear_encoding(linear)->is_linear);
    qs_linear_free(linear);
}
END_TEST

START_TEST(test_black_above_white_is_refused)
{
    struct qs_image_info info = info_of(QS_SAMPLE_U8, 1);
    static const struct qs_encoding_choice bad[] = {
        {NULL, true, 255.0, false, 0.0},      {NULL, true, 31.0, true, 17.0},
        {NULL, false, 0.0, true, 0.0},        {"srgb", false, 0.0, true, -3.17},
        {"srgb", true, HUGE_VAL, false, 0.0}, {"no-such-curve", false, 0.0, false, 0.0},
    };

    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct qs_linear *linear = (void *)&info;

        ck_assert_int_eq(qs_linear_new(&info, &bad[i], &linear, NULL), QS_ERR_USAGE);
        ck_assert_ptr_null(linear);
    }
}
END_TEST

/* Sample types, each read at thirds of its own range. */
START_TEST(test_sample_types)
{
    const uint8_t u8[3] = {0, 85, 255};
    const uint16_t u16[3] = {0, 21845, 65535};
    const uint32_t u32[3] = {0, 1431655765, 4294967295U};
    const float f32[3] = {0.0F, 1.0F / 3.0F, 1.0F};
    const double f64[3] = {0.0, 1.0 / 3.0, 1.0};
    const void *const codes[] = {u8, u16, u32, f32, f64};

    for (int s = QS_SAMPLE_U8; s <= QS_SAMPLE_F64; s++) {
        const struct qs_image_info info = info_of((enum qs_sample)s, 3);
        struct qs_linear *linear = named(&info, "prophoto");
        float r, g, b;
        float *const out[3] = {&r, &g, &b};
        uint8_t ends = 0xFF;

        qs_linear_decode(linear, codes[s], 1, out, &ends);
        ck_assert(r == 0.0F);
        ck_assert_double_eq_tol((double)g, pow(1.0 / 3.0, 1.8), 1e-8 + 1e-7 * 0.14);
        ck_assert(b == 1.0F);
        ck_assert_int_eq(ends, 1 | 4);
        qs_linear_free(linear);
    }
}
END_TEST

START_TEST(test_ends)
{
    const struct qs_image_info whole = info_of(QS_SAMPLE_U16, 3);
    const struct qs_image_info real = info_of(QS_SAMPLE_F32, 1);
    const struct qs_encoding_choice choice = {"srgb", true, 300.0, true, 60000.0};
    const uint16_t codes[9] = {0, 1, 65534, 65535, 65535, 0, 300, 60000, 100};
    const float reals[5] = {-0.1F, 0.0F, 1e-7F, 0.99999F, 1.0F};
    struct qs_linear *linear = prepared(&whole, &choice);
    float planes[3][5];
    float *const out[3] = {planes[0], planes[1], planes[2]};
    uint8_t ends[5];

    qs_linear_decode(linear, codes, 3, out, ends);
    ck_assert_int_eq(ends[0], 1);
    ck_assert_int_eq(ends[1], 7);
    ck_assert_int_eq(ends[2], 0); /* a given white is not an end of the sample type */
    qs_linear_free(linear);
    linear = prepared(&real, NULL);
    qs_linear_decode(linear, reals, 5, out, ends);
    ck_assert_mem_eq(ends, ((const uint8_t[5]){1, 1, 0, 0, 1}), 5);
    qs_linear_free(linear);
}
END_TEST

/* Fractions and then the curve is the same as decoding, whatever the curve. */
START_TEST(test_fractions_then_curve)
{
    static uint16_t codes[3 * MANY_PX];
    static float straight[3][MANY_PX], detour[3][MANY_PX];
    float *const out[3] = {straight[0], straight[1], straight[2]};
    float *const way[3] = {detour[0], detour[1], detour[2]};
    const struct qs_image_info info = info_of(QS_SAMPLE_U16, 3);

    for (int i = 0; i < 3 * MANY_PX; i++)
        codes[i] = (uint16_t)(i * 16787);
    for (int row = 0; qs_curve_row(row) != NULL; row++) {
        struct qs_linear *linear = named(&info, qs_curve_row(row)->key);

        qs_linear_decode(linear, codes, MANY_PX, out, NULL);
        qs_linear_fractions(linear, codes, MANY_PX, way);
        qs_linear_from_fractions(linear, (const float *const *)way, MANY_PX, way);
        for (int i = 0; i < 3 * MANY_PX; i++)
            ck_assert_double_eq_tol((double)detour[i % 3][i / 3],
                                    (double)straight[i % 3][i / 3], 1e-6);
        qs_linear_free(linear);
    }
}
END_TEST

START_TEST(test_luminance)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_F32, 3);
    struct qs_linear *linear = named(&info, "rec2020");
    float r[2] = {0.317F, 1.0F}, g[2] = {0.0271F, 1.0F}, b[2] = {-0.113F, 1.0F};

    qs_linear_luminance(linear, r, g, b, 2, g);
    ck_assert_double_eq_tol(
        (double)g[0], 0.2627002 * 0.317 + 0.6779981 * 0.0271 - 0.0593017 * 0.113, 1e-7);
    ck_assert_double_eq_tol((double)g[1], 1.0, 1e-7);
    qs_linear_free(linear);
}
END_TEST

static struct qs_image_info
cicp_info(uint8_t primaries, uint8_t transfer, uint8_t matrix, uint8_t full)
{
    struct qs_image_info info = info_of(QS_SAMPLE_U16, 3);

    info.colour.claim = QS_CLAIM_CICP;
    info.colour.cicp[0] = primaries;
    info.colour.cicp[1] = transfer;
    info.colour.cicp[2] = matrix;
    info.colour.cicp[3] = full;
    return info;
}

START_TEST(test_cicp)
{
    static const struct {
        uint8_t primaries, transfer;
        const char *name;
        double red; /* weight of red; P3 from EG 432-1, the rest as above */
    } rows[] = {
        {1, 13, "sRGB", 0.2126390},     {12, 13, "sRGB", 0.2289746},
        {9, 14, "BT.2020", 0.2627002},  {1, 6, "BT.709", 0.2126390},
        {1, 4, "gamma 2.2", 0.2126390}, {5, 5, "gamma 2.8", 0.2220043},
        {1, 8, "linear", 0.2126390},    {2, 13, "sRGB", 0.2126390},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct qs_image_info info =
            cicp_info(rows[i].primaries, rows[i].transfer, 0, 1);
        struct qs_linear *linear = prepared(&info, NULL);

        ck_assert_str_eq(qs_linear_encoding(linear)->name, rows[i].name);
        ck_assert_int_eq(qs_linear_encoding(linear)->from, QS_FROM_TAG);
        ck_assert_double_eq_tol(qs_linear_encoding(linear)->weights.luminance[0],
                                rows[i].red, 6e-8);
        qs_linear_free(linear);
    }
}
END_TEST

START_TEST(test_cicp_refused_or_unsaid)
{
    static const uint8_t bad[][4] = {{9, 16, 0, 1}, {9, 18, 0, 1}, {1, 9, 0, 1},
                                     {1, 13, 1, 1}, {3, 13, 0, 1}, {1, 0, 0, 1}};
    struct qs_image_info info;
    struct qs_linear *linear;

    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct qs_error err = {0};

        info = cicp_info(bad[i][0], bad[i][1], bad[i][2], bad[i][3]);
        ck_assert_int_eq(qs_linear_new(&info, NULL, &linear, &err), QS_ERR_PROFILE);
        ck_assert_ptr_nonnull(strstr(err.text, i < 2 ? "HDR" : "--encoding"));
    }
    info = cicp_info(9, 2, 0, 1);
    linear = prepared(&info, NULL);
    ck_assert_int_eq(qs_linear_encoding(linear)->from, QS_FROM_ASSUMED);
    check_weights(linear, 0.2627002, 0.6779981, 0.0593017);
    qs_linear_free(linear);
    info = cicp_info(9, 16, 0, 1); /* the user's word is good even here */
    linear = named(&info, "linear");
    check_weights(linear, 0.2627002, 0.6779981, 0.0593017);
    qs_linear_free(linear);
}
END_TEST

/* H.273: narrow range in 16 bits is 16 x 256 to 235 x 256. */
START_TEST(test_cicp_narrow_range)
{
    const struct qs_image_info info = cicp_info(1, 8, 0, 0);
    struct qs_linear *linear = prepared(&info, NULL);
    const uint16_t codes[3] = {4096, 60160, 0};
    float r, g, b;
    float *const out[3] = {&r, &g, &b};

    qs_linear_decode(linear, codes, 1, out, NULL);
    ck_assert(r == 0.0F);
    ck_assert(g == 1.0F);
    ck_assert_double_eq_tol((double)b, -16.0 / 219.0, 1e-8);
    qs_linear_free(linear);
}
END_TEST

START_TEST(test_gama_and_chrm)
{
    static const double bt2020[8] = {0.3127, 0.3290, 0.708, 0.292,
                                     0.170,  0.797,  0.131, 0.046};
    struct qs_image_info info = info_of(QS_SAMPLE_U8, 3);
    struct qs_linear *linear;

    info.colour.claim = QS_CLAIM_GAMA;
    info.colour.gama = 0.45455;
    linear = prepared(&info, NULL);
    ck_assert_str_eq(qs_linear_encoding(linear)->name, "gamma 2.2");
    check_weights(linear, 0.2126390, 0.7151687, 0.0721923);
    qs_linear_free(linear);
    info.colour.has_chromaticity = true;
    memcpy(info.colour.chromaticity, bt2020, sizeof bt2020);
    linear = named(&info, "srgb");
    check_weights(linear, 0.2627002, 0.6779981, 0.0593017);
    qs_linear_free(linear);
    memset(info.colour.chromaticity, 0, sizeof info.colour.chromaticity);
    info.colour.gama = 1.0;
    linear = prepared(&info, NULL);
    ck_assert(qs_linear_encoding(linear)->is_linear);
    check_weights(linear, 0.2126390, 0.7151687, 0.0721923);
    qs_linear_free(linear);
    info.colour.gama = 0.0;
    ck_assert_int_eq(qs_linear_new(&info, NULL, &linear, NULL), QS_ERR_PROFILE);
}
END_TEST

START_TEST(test_srgb_chunk)
{
    struct qs_image_info info = info_of(QS_SAMPLE_U8, 3);
    struct qs_linear *linear;

    info.colour.claim = QS_CLAIM_SRGB;
    linear = named(&info, "profile");
    ck_assert_str_eq(qs_linear_encoding(linear)->name, "sRGB");
    ck_assert_int_eq(qs_linear_encoding(linear)->from, QS_FROM_TAG);
    qs_linear_free(linear);
    linear = named(&info, "prophoto");
    check_weights(linear, 0.2126390, 0.7151687, 0.0721923);
    qs_linear_free(linear);
}
END_TEST

START_TEST(test_allocation_failures)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_U16, 3);
    struct qs_linear *linear;
    long n;

    for (n = 0; n < 100; n++) {
        enum qs_status status;

        qs_alloc_fail_at(n);
        status = qs_linear_new(&info, NULL, &linear, NULL);
        qs_alloc_fail_at(-1);
        if (status == QS_OK)
            break;
        ck_assert_int_eq(status, QS_ERR_MEMORY);
        ck_assert_ptr_null(linear);
    }
    ck_assert_int_eq(n, 2); /* the struct and the table by code */
    qs_linear_free(linear);
    qs_linear_free(NULL);
}
END_TEST

QS_TEST_MAIN("linear", test_published_values, test_every_curve_is_sound,
             test_light_to_fraction, test_outside_the_range, test_encoding_names,
             test_weights_of_named_encodings, test_assumptions,
             test_codes_follow_the_curve, test_black_and_white_codes,
             test_black_above_white_is_refused, test_sample_types, test_ends,
             test_fractions_then_curve, test_luminance, test_cicp,
             test_cicp_refused_or_unsaid, test_cicp_narrow_range, test_gama_and_chrm,
             test_srgb_chunk, test_allocation_failures)
