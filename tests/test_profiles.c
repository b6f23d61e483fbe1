/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_profiles.c - the compact ICC profiles, against Little CMS's own command
 *
 * The profiles are the public CC0 set in QS_SHARED_DATA/icc/compact.  transicc
 * (Debian liblcms2-utils) is run on ugly code triples where it is installed.  It
 * reads codes of 0 to 255 and writes XYZ times 100 with four decimals.
 */
#include <dirent.h>
#include <lcms2.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/random.h"
#include "check_main.h"
#include "linear/linear.h"

#define FOLDER QS_SHARED_DATA "/icc/compact"
#define BYTES_MAX 65536
#define TRIPLES 7

/* 8-bit units, from black to white and between codes. */
static const double triples[TRIPLES][3] = {{0.0, 0.0, 0.0},       {3.17, 1.0, 2.2},
                                           {17.3, 99.1, 201.7},   {254.9, 0.31, 61.7},
                                           {128.5, 127.3, 129.9}, {9.9, 231.7, 11.3},
                                           {255.0, 255.0, 255.0}};

struct file {
    char path[512];
    const char *name;
    uint8_t bytes[BYTES_MAX];
    size_t size;
};

static struct file file; /* the one being tested */

static bool
load(const char *name)
{
    FILE *stream;

    (void)snprintf(file.path, sizeof file.path, "%s/%s", FOLDER, name);
    file.name = name;
    stream = fopen(file.path, "rb");
    if (stream == NULL)
        return false;
    file.size = fread(file.bytes, 1, BYTES_MAX, stream);
    (void)fclose(stream);
    return file.size > 0 && file.size < BYTES_MAX;
}

/* Calls visit() with every profile of the folder loaded; returns their number. */
static int
for_each_profile(void (*visit)(void))
{
    DIR *folder = opendir(FOLDER);
    const struct dirent *entry;
    int count = 0;

    if (folder == NULL)
        return 0;
    while ((entry = readdir(folder)) != NULL) {
        if (strstr(entry->d_name, ".icc") == NULL)
            continue;
        ck_assert_msg(load(entry->d_name), "%s", entry->d_name);
        visit();
        count++;
    }
    (void)closedir(folder);
    return count;
}

static struct qs_image_info
info_of(enum qs_sample sample, int channels)
{
    struct qs_image_info info = {0};

    info.channels = channels;
    info.sample = sample;
    info.bits = sample == QS_SAMPLE_U16 ? 16 : 64;
    info.is_float = sample == QS_SAMPLE_F64;
    info.colour.claim = QS_CLAIM_ICC;
    info.colour.icc = file.bytes;
    info.colour.icc_size = file.size;
    return info;
}

static bool
is_cmyk(void)
{
    return strstr(file.name, "CGATS") != NULL;
}

static int
channels_of_file(void)
{
    return strstr(file.name, "Grey") != NULL ? 1 : 3;
}

static struct qs_linear *
opened(enum qs_sample sample)
{
    const struct qs_image_info info = info_of(sample, channels_of_file());
    struct qs_error err = {0};
    struct qs_linear *linear = NULL;

    ck_assert_msg(qs_linear_new(&info, NULL, &linear, &err) == QS_OK, "%s: %s",
                  file.name, err.text);
    return linear;
}

/* Light of triple t by the profile; grey files read its first number. */
static void
light_of_triple(const struct qs_linear *linear, int t, float rgb[3])
{
    const double codes[3] = {triples[t][0] / 255.0, triples[t][1] / 255.0,
                             triples[t][2] / 255.0};
    float *const out[3] = {&rgb[0], &rgb[1], &rgb[2]};

    qs_linear_decode(linear, codes, 1, out, NULL);
}

/* First: nothing here can run without the folder. */
START_TEST(test_skip_without_data)
{
    if (!load("sRGB-v4.icc"))
        exit(QS_TEST_SKIPPED);
}
END_TEST

static void
check_opens(void)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_U16, channels_of_file());
    struct qs_error err = {0};
    struct qs_linear *linear;

    if (is_cmyk()) {
        ck_assert_int_eq(qs_linear_new(&info, NULL, &linear, &err), QS_ERR_PROFILE);
        ck_assert_ptr_nonnull(strstr(err.text, "--encoding"));
        return;
    }
    linear = opened(QS_SAMPLE_U16);
    ck_assert_int_eq(qs_linear_encoding(linear)->from, QS_FROM_PROFILE);
    ck_assert(qs_linear_encoding(linear)->name[0] > ' ');
    ck_assert(qs_linear_encoding(linear)->is_linear ==
              (strstr(file.name, "scRGB") != NULL));
    qs_linear_free(linear);
}

START_TEST(test_all_open)
{
    ck_assert_int_gt(for_each_profile(check_opens), 0);
}
END_TEST

/* A profile for the other number of channels is refused, and named curves still work.
 */
static void
check_mismatch(void)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_U16, 4 - channels_of_file());
    const struct qs_encoding_choice choice = {.name = "srgb"};
    struct qs_linear *linear;

    ck_assert_int_eq(qs_linear_new(&info, NULL, &linear, NULL), QS_ERR_PROFILE);
    ck_assert_int_eq(qs_linear_new(&info, &choice, &linear, NULL), QS_OK);
    ck_assert_str_eq(qs_linear_encoding(linear)->name, "sRGB");
    qs_linear_free(linear);
}

START_TEST(test_mismatch)
{
    (void)for_each_profile(check_mismatch);
}
END_TEST

/* Names of files and the spaces they stand for; weights as in test_linear.c. */
static const struct {
    const char *prefix;
    double weights[3];
} spaces[] = {
    {"sRGB", {0.2126390, 0.7151687, 0.0721923}},
    {"scRGB", {0.2126390, 0.7151687, 0.0721923}},
    {"Rec709", {0.2126390, 0.7151687, 0.0721923}},
    {"Rec2020", {0.2627002, 0.6779981, 0.0593017}},
    {"DisplayP3", {0.2289746, 0.6917385, 0.0792869}},
    {"AdobeCompat", {0.2973450, 0.6273636, 0.0752915}},
    {"ProPhoto", {0.2880711, 0.7118432, 0.0000857}},
};

static void
check_weights(void)
{
    struct qs_linear *linear;
    const double *weights;

    if (is_cmyk())
        return;
    linear = opened(QS_SAMPLE_U16);
    weights = qs_linear_encoding(linear)->weights.luminance;
    if (channels_of_file() == 3)
        ck_assert_double_eq_tol(weights[0] + weights[1] + weights[2], 1.0, 1e-12);
    for (size_t i = 0; i < sizeof spaces / sizeof spaces[0]; i++) {
        if (strncmp(file.name, spaces[i].prefix, strlen(spaces[i].prefix)) != 0)
            continue;
        for (int c = 0; c < 3; c++)
            ck_assert_msg(fabs(weights[c] - spaces[i].weights[c]) < 6e-8, "%s %d: %.7f",
                          file.name, c, weights[c]);
    }
    qs_linear_free(linear);
}

START_TEST(test_weights_of_known_spaces)
{
    (void)for_each_profile(check_weights);
}
END_TEST

/* Runs transicc with `options` on the triples; false where it is not there. */
static bool
run_transicc(const char *options, double xyz[TRIPLES][3])
{
    char input[] = "/tmp/qs-triples-XXXXXX";
    char command[1200];
    const int descriptor = mkstemp(input);
    FILE *stream = descriptor >= 0 ? fdopen(descriptor, "w") : NULL;
    int read = 0;

    ck_assert_ptr_nonnull(stream);
    for (int t = 0; t < TRIPLES; t++)
        (void)fprintf(stream, "%g %g %g\n", triples[t][0], triples[t][1],
                      triples[t][2]);
    (void)fclose(stream);
    (void)snprintf(command, sizeof command,
                   "transicc -n -c0 %s -i'%s' '-o*XYZ' <'%s' 2>/dev/null", options,
                   file.path, input);
    stream = popen(command, "r");
    ck_assert_ptr_nonnull(stream);
    while (read < TRIPLES && fscanf(stream, "%lf %lf %lf", &xyz[read][0], &xyz[read][1],
                                    &xyz[read][2]) == 3)
        read++;
    (void)pclose(stream);
    (void)unlink(input);
    return read == TRIPLES;
}

/* The file's colorants as stored, in columns. */
static void
read_colorants(double columns[3][3], bool *is_formula)
{
    static const cmsTagSignature tags[3] = {
        cmsSigRedColorantTag, cmsSigGreenColorantTag, cmsSigBlueColorantTag};
    cmsHPROFILE profile = cmsOpenProfileFromMem(file.bytes, (cmsUInt32Number)file.size);

    for (int c = 0; c < 3; c++) {
        const cmsCIEXYZ *xyz = cmsReadTag(profile, tags[c]);

        columns[0][c] = xyz->X;
        columns[1][c] = xyz->Y;
        columns[2][c] = xyz->Z;
    }
    *is_formula =
        cmsGetToneCurveParametricType(cmsReadTag(profile, cmsSigRedTRCTag)) != 0;
    (void)cmsCloseProfile(profile);
}

/*
 * XYZ under D50, which is the colorants times light.  transicc rounds its output by
 * 5e-5; where the curve is a table it works in 16 bits before and after it, which is
 * half a step times the slope (up to 2.6 here) and half a step more: 2.8e-5 of full
 * scale in each channel, and up to 1.1 times that, times 100, in XYZ.
 */
static void
check_rgb_light(const double expected[TRIPLES][3])
{
    struct qs_linear *linear = opened(QS_SAMPLE_F64);
    double colorants[3][3];
    bool is_formula;

    read_colorants(colorants, &is_formula);
    for (int t = 0; t < TRIPLES; t++) {
        const double allowed = is_formula ? 1e-4 : 3.2e-3;
        float rgb[3];

        light_of_triple(linear, t, rgb);
        for (int i = 0; i < 3; i++) {
            const double got = 100.0 * (colorants[i][0] * (double)rgb[0] +
                                        colorants[i][1] * (double)rgb[1] +
                                        colorants[i][2] * (double)rgb[2]);

            ck_assert_msg(fabs(got - expected[t][i]) < allowed, "%s %d %d: %.5f %.5f",
                          file.name, t, i, got, expected[t][i]);
        }
    }
    qs_linear_free(linear);
}

static void
check_light(void)
{
    double expected[TRIPLES][3];

    if (is_cmyk() || channels_of_file() == 1 || !run_transicc("-t1", expected))
        return;
    check_rgb_light((const double(*)[3])expected);
}

START_TEST(test_light_against_transicc)
{
    (void)for_each_profile(check_light);
}
END_TEST

/*
 * Luminance under the space's own white: transicc's absolute intent with the
 * observer not adapted (-d0).  Weights come from the published primaries, the file
 * holds rounded ones: 1.5e-4 of white covers the rounding of chad and colorants.
 */
static void
check_luminance(void)
{
    double expected[TRIPLES][3];
    struct qs_linear *linear;

    if (is_cmyk() || channels_of_file() == 1 || !run_transicc("-t3 -d0", expected))
        return;
    linear = opened(QS_SAMPLE_F64);
    for (int t = 0; t < TRIPLES; t++) {
        float rgb[3];

        light_of_triple(linear, t, rgb);
        qs_linear_luminance(linear, &rgb[0], &rgb[1], &rgb[2], 1, &rgb[0]);
        ck_assert_msg(fabs((double)rgb[0] - expected[t][1] / 100.0) < 1.5e-4,
                      "%s %d: %.6f %.6f", file.name, t, (double)rgb[0],
                      expected[t][1] / 100.0);
    }
    qs_linear_free(linear);
}

START_TEST(test_luminance_against_transicc)
{
    (void)for_each_profile(check_luminance);
}
END_TEST

/* Grey: one number a line; Y alone.  The triples' first numbers are read. */
static void
check_grey(void)
{
    char command[1200];

    if (channels_of_file() == 3)
        return;
    for (int t = 0; t < TRIPLES; t++) {
        struct qs_linear *linear = opened(QS_SAMPLE_F64);
        double xyz[3];
        float rgb[3];
        FILE *stream;

        (void)snprintf(command, sizeof command,
                       "echo %g | transicc -n -c0 -t1 -i'%s' '-o*XYZ' 2>/dev/null",
                       triples[t][0], file.path);
        stream = popen(command, "r");
        ck_assert_ptr_nonnull(stream);
        light_of_triple(linear, t, rgb);
        if (fscanf(stream, "%lf %lf %lf", &xyz[0], &xyz[1], &xyz[2]) == 3)
            ck_assert_msg(fabs((double)rgb[0] - xyz[1] / 100.0) < 3.2e-5,
                          "%s %d: %.6f %.6f", file.name, t, (double)rgb[0],
                          xyz[1] / 100.0);
        (void)pclose(stream);
        qs_linear_free(linear);
    }
}

START_TEST(test_grey_against_transicc)
{
    (void)for_each_profile(check_grey);
}
END_TEST

/* The v2 tables and the v4 formula of one space stay near the named curve. */
START_TEST(test_srgb_profiles_are_srgb)
{
    static const struct {
        const char *name;
        double within; /* the file's own table: its author's figures of quality */
    } rows[] = {{"sRGB-v4.icc", 2e-5},
                {"sRGB-v2-magic.icc", 2e-4},
                {"sRGB-v2-micro.icc", 4e-4},
                {"sGrey-v4.icc", 2e-5}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0] && load(rows[i].name); i++) {
        struct qs_linear *linear = opened(QS_SAMPLE_F64);

        for (int t = 0; t < TRIPLES; t++) {
            const double v = triples[t][0] / 255.0;
            const double want =
                v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
            float rgb[3];

            light_of_triple(linear, t, rgb);
            ck_assert_msg(fabs((double)rgb[0] - want) < rows[i].within,
                          "%s %d: %.6f %.6f", rows[i].name, t, (double)rgb[0], want);
        }
        qs_linear_free(linear);
    }
}
END_TEST

/* A curve that the user names keeps the file's primaries; black and white still hold.
 */
START_TEST(test_option_over_profile)
{
    const struct qs_encoding_choice choice = {"gamma:1.9", true, 0.0317, true, 0.917};
    struct qs_image_info info;
    struct qs_linear *linear;
    const double codes[3] = {0.0317, 0.5, 1.1};
    float rgb[3];
    float *const out[3] = {&rgb[0], &rgb[1], &rgb[2]};

    if (!load("DisplayP3-v4.icc"))
        return;
    info = info_of(QS_SAMPLE_F64, 3);
    ck_assert_int_eq(qs_linear_new(&info, &choice, &linear, NULL), QS_OK);
    ck_assert_str_eq(qs_linear_encoding(linear)->name, "gamma 1.9");
    ck_assert_int_eq(qs_linear_encoding(linear)->from, QS_FROM_OPTION);
    ck_assert_double_eq_tol(qs_linear_encoding(linear)->weights.luminance[0], 0.2289746,
                            6e-8);
    qs_linear_decode(linear, codes, 1, out, NULL);
    ck_assert(rgb[0] == 0.0F);
    for (int c = 1; c < 3; c++)
        ck_assert_double_eq_tol((double)rgb[c],
                                pow((codes[c] - 0.0317) / (0.917 - 0.0317), 1.9), 2e-7);
    qs_linear_free(linear);
}
END_TEST

/*
 * Black and white codes feed the profile's curve: reading code v with black b and
 * white w is reading (v - b) / (w - b).  Below black it goes on, and is mirrored
 * where the curve has no straight toe.
 */
static void
check_range_and_outside(void)
{
    struct qs_image_info info = info_of(QS_SAMPLE_F64, channels_of_file());
    const struct qs_encoding_choice choice = {NULL, true, 0.1, true, 0.6};
    struct qs_linear *plain, *shifted;
    double codes[3] = {0.1 + 0.5 * 0.317, 0.1 + 0.5 * 0.317, 0.1 + 0.5 * 0.317};
    const double same[3] = {0.317, 0.317, 0.317}, below[3] = {-0.05, -0.05, -0.05};
    const double above[3] = {1.25, 1.25, 1.25};
    float a[3], b[3];
    float *const out_a[3] = {&a[0], &a[1], &a[2]}, *const out_b[3] = {&b[0], &b[1],
                                                                      &b[2]};

    if (is_cmyk())
        return;
    plain = opened(QS_SAMPLE_F64);
    ck_assert_int_eq(qs_linear_new(&info, &choice, &shifted, NULL), QS_OK);
    qs_linear_decode(plain, same, 1, out_a, NULL);
    qs_linear_decode(shifted, codes, 1, out_b, NULL);
    ck_assert_double_eq_tol((double)a[0], (double)b[0], 1e-7);
    qs_linear_decode(plain, below, 1, out_a, NULL);
    qs_linear_decode(plain, above, 1, out_b, NULL);
    ck_assert_msg(a[0] < 0.0F && b[0] > 1.0F, "%s: %g %g", file.name, (double)a[0],
                  (double)b[0]);
    qs_linear_free(plain);
    qs_linear_free(shifted);
}

START_TEST(test_range_and_outside)
{
    (void)for_each_profile(check_range_and_outside);
}
END_TEST

/* Fractions and then the curve is the same as decoding, and light rises with codes. */
static void
check_detour_and_rise(void)
{
    static uint16_t codes[3 * 4096];
    static float straight[3][4096], detour[3][4096];
    float *const out[3] = {straight[0], straight[1], straight[2]};
    float *const way[3] = {detour[0], detour[1], detour[2]};
    const int channels = is_cmyk() ? 0 : channels_of_file();
    struct qs_linear *linear;

    if (channels == 0)
        return;
    linear = opened(QS_SAMPLE_U16);
    for (int i = 0; i < channels * 4096; i++)
        codes[i] = (uint16_t)(i / channels * 16);
    qs_linear_decode(linear, codes, 4096, out, NULL);
    qs_linear_fractions(linear, codes, 4096, way);
    qs_linear_from_fractions(linear, (const float *const *)way, 4096, way);
    for (int c = 0; c < channels; c++) {
        for (int i = 0; i < 4096; i++) {
            ck_assert(fabsf(straight[c][i] - detour[c][i]) < 1e-6F);
            /* rounded formulas of v4 fall by up to 7e-5 where toe and power meet */
            ck_assert_msg(i == 0 || straight[c][i] > straight[c][i - 1] - 7e-5F,
                          "%s %d", file.name, i);
        }
    }
    qs_linear_free(linear);
}

START_TEST(test_detour_and_rise)
{
    (void)for_each_profile(check_detour_and_rise);
}
END_TEST

/* Opens what is in `file`, whatever it is, and reads a few codes by it. */
static void
try_damaged(void)
{
    static const uint16_t codes[6] = {0, 317, 31700, 65535, 1, 40000};
    struct qs_image_info info = info_of(QS_SAMPLE_U16, channels_of_file());
    float planes[3][6];
    float *const out[3] = {planes[0], planes[1], planes[2]};
    struct qs_error err = {0};
    struct qs_linear *linear;
    enum qs_status status;

    status = qs_linear_new(&info, NULL, &linear, &err);
    if (status == QS_OK)
        qs_linear_decode(linear, codes, 2, out, NULL);
    else
        ck_assert(status == QS_ERR_PROFILE && strstr(err.text, "--encoding") != NULL);
    qs_linear_free(linear);
}

static void
check_truncated(void)
{
    const size_t whole = file.size;

    for (size_t size = 0; size < whole; size += size < 600 ? 1 : 13) {
        file.size = size;
        try_damaged();
    }
}

START_TEST(test_truncated)
{
    static const char *const names[] = {"sRGB-v4.icc", "sRGB-v2-micro.icc",
                                        "sGrey-v4.icc", "sGrey-v2-nano.icc",
                                        "CGATS001Compat-v2-micro.icc"};

    for (size_t i = 0; i < sizeof names / sizeof names[0] && load(names[i]); i++)
        check_truncated();
}
END_TEST

START_TEST(test_damaged_bytes)
{
    static const char *const names[] = {"sRGB-v4.icc", "DisplayP3-v2-micro.icc",
                                        "sGrey-v2-nano.icc"};
    struct qs_random random;

    qs_random_seed(&random, 3170317);
    for (int round = 0; round < 3000; round++) {
        if (!load(names[round % 3]))
            return;
        for (int i = 0; i <= round % 4; i++)
            file.bytes[qs_random_bits(&random) % file.size] =
                (uint8_t)qs_random_bits(&random);
        try_damaged();
    }
}
END_TEST

/* Little CMS hands out short chad tags as they are: the size must be looked at. */
START_TEST(test_short_chad)
{
    static const uint8_t chad[4] = {'c', 'h', 'a', 'd'};

    if (!load("WideGamutCompat-v4.icc"))
        return;
    for (size_t at = 132; at + 12 <= file.size; at += 12) {
        if (memcmp(file.bytes + at, chad, 4) == 0) {
            file.bytes[at + 10] = 0; /* size: 16 bytes, two values */
            file.bytes[at + 11] = 16;
            try_damaged();
            return;
        }
    }
    ck_abort_msg("no chad tag in %s", file.name);
}
END_TEST

static void
check_allocation_failures(void)
{
    const struct qs_image_info info = info_of(QS_SAMPLE_U16, channels_of_file());
    const struct qs_encoding_choice named = {.name = "srgb"};

    for (int k = 0; k < 2; k++) {
        enum qs_status status = QS_ERR_MEMORY;

        for (long n = 0; status == QS_ERR_MEMORY; n++) {
            struct qs_linear *linear;

            qs_alloc_fail_at(n);
            status = qs_linear_new(&info, k == 0 ? NULL : &named, &linear, NULL);
            qs_alloc_fail_at(-1);
            qs_linear_free(linear);
            ck_assert_int_lt((int)n, 20);
        }
        ck_assert(status == QS_OK || is_cmyk());
    }
}

START_TEST(test_allocation_failures)
{
    (void)for_each_profile(check_allocation_failures);
}
END_TEST

QS_TEST_MAIN("profiles", test_skip_without_data, test_all_open, test_mismatch,
             test_weights_of_known_spaces, test_light_against_transicc,
             test_luminance_against_transicc, test_grey_against_transicc,
             test_srgb_profiles_are_srgb, test_option_over_profile,
             test_range_and_outside, test_detour_and_rise, test_truncated,
             test_damaged_bytes, test_short_chad, test_allocation_failures)
