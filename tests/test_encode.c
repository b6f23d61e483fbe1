/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Light back to codes: the inverse of the curves' published formulas (those of
 * qs_curve_fraction, which test_linear.c holds against the standards) to 0.03 of 65535
 * codes, and the way there and back for every code.
 */
#include "linear/encode.h"

#include <math.h>
#include <stdlib.h>

#include "check_main.h"
#include "linear/curve.h"

static const char *const names[] = {"srgb",     "linear",    "bt709",     "rec2020",
                                    "prophoto", "adobe1998", "gamma:1.8", "gamma:2.6"};

enum {
    NAMES = sizeof names / sizeof names[0],
    CODES = 65536
};

static struct qs_linear *
linear_of(const char *name, int channels)
{
    const struct qs_image_info info = {.width = 1,
                                       .height = 1,
                                       .channels = channels,
                                       .bits = 16,
                                       .sample = QS_SAMPLE_U16};
    const struct qs_encoding_choice choice = {.name = name};
    struct qs_linear *linear = NULL;

    ck_assert_int_eq(qs_linear_new(&info, &choice, &linear, NULL), QS_OK);
    return linear;
}

static struct qs_encoder *
encoder_of(const struct qs_linear *linear)
{
    struct qs_encoder *encoder = NULL;

    ck_assert_int_eq(qs_encoder_new(linear, &encoder, NULL), QS_OK);
    return encoder;
}

/* Between two codes light is taken to be straight, which the curves are not: a tenth of
   a code at code 1.5, and less further up.  What is below code 0.5 is rounded to 0. */
START_TEST(test_formulas)
{
    for (int n = 0; n < (int)NAMES; n++) {
        struct qs_linear *linear = linear_of(names[n], 1);
        struct qs_encoder *encoder = encoder_of(linear);
        struct qs_curve curve;

        ck_assert_int_eq(qs_curve_find(names[n], &curve, NULL), QS_OK);
        for (double light = 1e-12; light < 1.0; light *= 1.0007) {
            float quad[4] = {(float)light, 0.0f, 0.0f, 0.0f}, codes[4];
            double code = 65535.0 * qs_curve_fraction(&curve, (double)quad[0]);

            qs_encode(encoder, quad, 1, 4, codes);
            if (code > 1.0)
                ck_assert_msg(fabs((double)codes[0] - code) < 0.21 + 0.3 / code,
                              "%s at %g: %.3f instead of %.3f", names[n], light,
                              (double)codes[0], code);
            else
                ck_assert_double_le((double)codes[0], 1.001);
        }
        qs_encoder_free(encoder);
        qs_linear_free(linear);
    }
}
END_TEST

START_TEST(test_there_and_back)
{
    uint16_t *codes = malloc(CODES * 3 * sizeof *codes);
    float *quads = malloc(CODES * 4 * sizeof *quads);
    float *back = malloc(CODES * 4 * sizeof *back);

    for (int i = 0; i < CODES; i++)
        codes[3 * i] = codes[3 * i + 1] = codes[3 * i + 2] = (uint16_t)i;
    for (int n = 0; n < (int)NAMES; n++) {
        struct qs_linear *linear = linear_of(names[n], 3);
        struct qs_encoder *encoder = encoder_of(linear);

        qs_linear_decode_quads(linear, codes, CODES, quads);
        qs_encode(encoder, quads, CODES, 4, back);
        for (int i = 0; i < CODES; i++)
            for (int c = 0; c < 3; c++)
                /* BT.709's rounded constants leave 17 codes without light of their own
                 */
                ck_assert_msg(fabs((double)back[4 * i + c] - i) < 0.21 ||
                                  (i > 5300 && i < 5330 && n == 2),
                              "%s: code %d comes back as %.3f", names[n], i,
                              (double)back[4 * i + c]);
        qs_encoder_free(encoder);
        qs_linear_free(linear);
    }
    free(codes);
    free(quads);
    free(back);
}
END_TEST

/* Below black and beyond white is cut here. */
START_TEST(test_ends)
{
    struct qs_linear *linear = linear_of("srgb", 3);
    struct qs_encoder *encoder = encoder_of(linear);
    float quads[8] = {-0.5f, 0.0f, 1.0f, 0.0f, 7.0f, INFINITY, -INFINITY, 0.0f},
          codes[8];

    qs_encode(encoder, quads, 2, 4, codes);
    ck_assert_double_le((double)codes[0], 0.01);
    ck_assert_double_le((double)codes[1], 0.01);
    ck_assert_double_eq((double)codes[2], 65535.0);
    ck_assert_double_eq((double)codes[4], 65535.0);
    ck_assert_double_eq((double)codes[5], 65535.0);
    qs_encoder_free(encoder);
    qs_linear_free(linear);
}
END_TEST

QS_TEST_MAIN("encode", test_formulas, test_there_and_back, test_ends)
