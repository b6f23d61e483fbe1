/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What warnings make of a frame (frame/verdict.h), and drift from frame to frame
 * (frame/series.h).  Expected levels are those of the table in docs/method/traces.md.
 */
#include "check_main.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "frame/series.h"
#include "frame/verdict.h"

enum {
    PATCHES = 5,
    MOST_WARNINGS = 8
};

/* A frame that lies on the caller's stack; qs_frame_clear must not see it. */
struct sample {
    struct qs_frame frame;
    struct qs_patch patches[PATCHES];
    struct qs_warning warnings[MOST_WARNINGS];
};

/* Slope of the sRGB curve above its toe (IEC 61966-2-1). */
static double
srgb_slope(double light)
{
    return 1.055 / 2.4 * pow(light, 1.0 / 2.4 - 1.0);
}

static void
sample_init(struct sample *s)
{
    memset(s, 0, sizeof *s);
    s->frame = (struct qs_frame){.width = 900,
                                 .height = 700,
                                 .channels = 3,
                                 .first = QS_R,
                                 .patches = s->patches,
                                 .patch_count = PATCHES,
                                 .warnings = s->warnings};
    for (int p = 0; p < PATCHES; p++) {
        s->patches[p].box = (struct qs_box){20 + 170 * p, 40, 130, 130};
        for (int c = 0; c < QS_CHANNELS; c++) {
            s->patches[p].channel[c].noise.mean = 0.041 * (p + 1) + 0.003 * c;
            s->patches[p].channel[c].noise.sd = 0.013;
        }
    }
}

static void
add_warning(struct sample *s, enum qs_warning_code code)
{
    s->warnings[s->frame.warning_count++].code = code;
}

/* ---- verdict ---- */

/* Makes what a warning is about hold for the first so many patches. */
static void
mark(struct sample *s, enum qs_warning_code code, int patches)
{
    for (int p = 0; p < patches; p++) {
        struct qs_patch_channel *y = &s->patches[p].channel[QS_Y];

        if (code == QS_WARN_CLIPPED_BLACK)
            y->near_low = true;
        else if (code == QS_WARN_CLIPPED_WHITE)
            y->near_high = true;
        else if (code == QS_WARN_TEXTURED)
            s->patches[p].traces.texture.kind = QS_TEXTURE_SOFT;
        else if (code == QS_WARN_EIGHT_BIT)
            y->noise.sd = 0.49 / 255.0 / srgb_slope(y->noise.mean);
    }
}

static enum qs_verdict_level
level_of(enum qs_warning_code code, int marked)
{
    struct sample s;

    sample_init(&s);
    mark(&s, code, marked);
    add_warning(&s, code);
    qs_frame_judge(&s.frame);
    return s.frame.verdict.level;
}

START_TEST(each_warning_has_its_weight)
{
    static const struct {
        enum qs_verdict_level some; /* but one of the patches */
        enum qs_verdict_level all;
    } rows[QS_WARNINGS] = {
        [QS_WARN_NOISE_REDUCED] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE},
        [QS_WARN_SHARPENED] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE},
        [QS_WARN_LOSSY_BLOCKS] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE},
        [QS_WARN_NO_FLAT_PATCH] = {QS_VERDICT_UNUSABLE, QS_VERDICT_UNUSABLE},
        [QS_WARN_EIGHT_BIT] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE},
        [QS_WARN_CLIPPED_BLACK] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE},
        [QS_WARN_CLIPPED_WHITE] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE},
        [QS_WARN_TEXTURED] = {QS_VERDICT_CARE, QS_VERDICT_UNUSABLE},
        [QS_WARN_BANDING] = {QS_VERDICT_CARE, QS_VERDICT_CARE},
        [QS_WARN_ENCODING_ASSUMED] = {QS_VERDICT_CARE, QS_VERDICT_CARE},
        [QS_WARN_EXPOSURE_DRIFT] = {QS_VERDICT_CARE, QS_VERDICT_CARE},
        [QS_WARN_SMALL_PATCH] = {QS_VERDICT_FIT, QS_VERDICT_FIT},
        [QS_WARN_ISO_MISSING] = {QS_VERDICT_FIT, QS_VERDICT_FIT},
        [QS_WARN_UPSCALE_SKIPPED] = {QS_VERDICT_FIT, QS_VERDICT_FIT},
        [QS_WARN_ALPHA_IGNORED] = {QS_VERDICT_FIT, QS_VERDICT_FIT},
    };

    for (int code = 0; code < QS_WARNINGS; code++) {
        const char *key = qs_warning_key((enum qs_warning_code)code);

        ck_assert_msg(level_of((enum qs_warning_code)code, PATCHES - 1) ==
                          rows[code].some,
                      "%s, some patches", key);
        ck_assert_msg(level_of((enum qs_warning_code)code, PATCHES) == rows[code].all,
                      "%s, all patches", key);
    }
}
END_TEST

/* What holds for patches weighs nothing before it is said. */
START_TEST(marks_without_a_warning_change_nothing)
{
    struct sample s;

    sample_init(&s);
    mark(&s, QS_WARN_CLIPPED_BLACK, PATCHES);
    qs_frame_judge(&s.frame);
    ck_assert_int_eq(s.frame.verdict.level, QS_VERDICT_FIT);
    ck_assert_str_eq(qs_verdict_key(QS_VERDICT_FIT), "fit to use");
    ck_assert_ptr_nonnull(strstr(s.frame.verdict.text, "Fit to use"));
}
END_TEST

/* Half a step of 8 bits: the patches are one just below it and the others above. */
START_TEST(eight_bits_weigh_by_the_noise)
{
    struct sample s;
    struct qs_noise *noise;

    sample_init(&s);
    mark(&s, QS_WARN_EIGHT_BIT, PATCHES);
    noise = &s.patches[2].channel[QS_Y].noise;
    noise->sd = 0.51 / 255.0 / srgb_slope(noise->mean);
    add_warning(&s, QS_WARN_EIGHT_BIT);
    qs_frame_judge(&s.frame);
    ck_assert_int_eq(s.frame.verdict.level, QS_VERDICT_CARE);
}
END_TEST

/* The heaviest decides, the lighter ones are not named, and a sentence ends. */
START_TEST(the_heaviest_warnings_are_named)
{
    struct sample s;
    const char *text = s.frame.verdict.text;

    sample_init(&s);
    add_warning(&s, QS_WARN_BANDING);
    add_warning(&s, QS_WARN_ENCODING_ASSUMED);
    qs_frame_judge(&s.frame);
    ck_assert_ptr_eq(strstr(text, "Usable with care: "), text);
    ck_assert_ptr_nonnull(strstr(text, "stripes"));
    ck_assert_ptr_nonnull(strstr(text, "tone curve"));
    mark(&s, QS_WARN_CLIPPED_BLACK, PATCHES);
    mark(&s, QS_WARN_CLIPPED_WHITE, PATCHES);
    mark(&s, QS_WARN_EIGHT_BIT, PATCHES);
    mark(&s, QS_WARN_TEXTURED, PATCHES);
    add_warning(&s, QS_WARN_CLIPPED_BLACK);
    add_warning(&s, QS_WARN_CLIPPED_WHITE);
    add_warning(&s, QS_WARN_EIGHT_BIT);
    add_warning(&s, QS_WARN_TEXTURED);
    add_warning(&s, QS_WARN_LOSSY_BLOCKS);
    add_warning(&s, QS_WARN_NOISE_REDUCED);
    qs_frame_judge(&s.frame);
    ck_assert_ptr_eq(strstr(text, "Not usable"), text);
    ck_assert_ptr_nonnull(strstr(text, "smoothed"));
    ck_assert_ptr_nonnull(strstr(text, "lossy"));
    ck_assert_ptr_nonnull(strstr(text, "black"));
    ck_assert_ptr_null(strstr(text, "stripes"));
    ck_assert_int_eq(text[strlen(text) - 1], '.');
}
END_TEST

/* ---- series ---- */

static void
brighten(struct sample *s, double factor, double red)
{
    for (int p = 0; p < PATCHES; p++)
        for (int c = 0; c < QS_CHANNELS; c++)
            s->patches[p].channel[c].noise.mean *= factor * (c == QS_R ? red : 1.0);
}

/* How many drift warnings the second frame gets; both are cleared of theirs. */
static int
drifts(struct sample *first, struct sample *second)
{
    struct qs_series series = {.patches = NULL};
    struct qs_error err = {0};
    int count;

    second->frame.warnings = NULL; /* grown by qs_warn, on the heap */
    ck_assert_int_eq(qs_series_check(&series, &first->frame, &err), QS_OK);
    ck_assert_int_eq(first->frame.warning_count, 0);
    ck_assert_int_eq(qs_series_check(&series, &second->frame, &err), QS_OK);
    qs_series_clear(&series);
    count = second->frame.warning_count;
    for (int i = 0; i < count; i++)
        ck_assert_int_eq(second->frame.warnings[i].code, QS_WARN_EXPOSURE_DRIFT);
    ck_assert_int_eq(second->frame.verdict.level,
                     count > 0 ? QS_VERDICT_CARE : QS_VERDICT_FIT);
    return count;
}

static void
two_frames(struct sample *first, struct sample *second)
{
    sample_init(first);
    sample_init(second);
}

static void
done(struct sample *second)
{
    qs_free(second->frame.warnings);
}

START_TEST(brightness_that_exposure_does_not_explain_drifts)
{
    static const struct {
        double factor;                 /* of brightness */
        double shutter, iso, aperture; /* of the second over the first; 0 unknown */
        bool drifts;
    } rows[] = {
        {1.00, 1.0, 1.0, 1.0, false},    {1.05, 1.0, 1.0, 1.0, false}, /* 0.07 stop */
        {1.31, 1.0, 1.0, 1.0, true},     {0.77, 1.0, 1.0, 1.0, true},
        {2.00, 2.0, 1.0, 1.0, false},    /* as the shutter says */
        {2.00, 1.0, 2.0, 1.0, false},    /* as ISO says */
        {2.00, 1.0, 1.0, 0.7071, false}, /* as the aperture says */
        {1.00, 0.25, 4.0, 1.0, false},   /* one against the other */
        {1.00, 2.0, 1.0, 1.0, false},    /* light changed the other way */
        {1.41, 2.0, 1.0, 1.0, true},     /* half of what was promised */
        {2.00, 0.0, 1.0, 1.0, true}};    /* nothing was promised */

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sample first, second;

        two_frames(&first, &second);
        brighten(&second, rows[i].factor, 1.0);
        first.frame.shot.exposure_s = rows[i].shutter > 0.0 ? 0.021 : 0.0;
        second.frame.shot.exposure_s = 0.021 * rows[i].shutter;
        first.frame.shot.iso = 640.0;
        second.frame.shot.iso = 640.0 * rows[i].iso;
        first.frame.shot.f_number = 4.0;
        second.frame.shot.f_number = 4.0 * rows[i].aperture;
        ck_assert_msg((drifts(&first, &second) == 1) == rows[i].drifts, "row %d",
                      (int)i);
        done(&second);
    }
}
END_TEST

/* The sentence has the size, and the way: 2^0.37 brighter. */
START_TEST(drift_is_said_in_stops)
{
    struct sample first, second;

    two_frames(&first, &second);
    brighten(&second, exp2(0.37), 1.0);
    ck_assert_int_eq(drifts(&first, &second), 1);
    ck_assert_ptr_nonnull(strstr(second.frame.warnings[0].text, "0.37 stops brighter"));
    done(&second);
}
END_TEST

/* Red against green by 4 %: 0.057 stop; y's own share of it stays below 0.1 stop. */
START_TEST(white_balance_drifts_by_itself)
{
    struct sample first, second;

    two_frames(&first, &second);
    brighten(&second, 1.0, 1.04);
    ck_assert_int_eq(drifts(&first, &second), 1);
    ck_assert_ptr_nonnull(strstr(second.frame.warnings[0].text, "+4.0 %"));
    done(&second);
    two_frames(&first, &second);
    brighten(&second, 1.0, 1.015);
    ck_assert_int_eq(drifts(&first, &second), 0);
    done(&second);
    two_frames(&first, &second);
    brighten(&second, 1.5, 0.96);
    ck_assert_int_eq(drifts(&first, &second), 2);
    done(&second);
}
END_TEST

/* Grey frames have y alone: what r, g and b hold then means nothing. */
START_TEST(grey_frames_have_no_white_balance)
{
    struct sample first, second;

    two_frames(&first, &second);
    first.frame.channels = second.frame.channels = 1;
    first.frame.first = second.frame.first = QS_Y;
    for (int p = 0; p < PATCHES; p++)
        for (int c = QS_R; c < QS_Y; c++)
            first.patches[p].channel[c].noise.mean = 0.0;
    ck_assert_int_eq(drifts(&first, &second), 0);
    done(&second);
}
END_TEST

static void
shift(struct sample *s, int by_px)
{
    for (int p = 0; p < PATCHES; p++)
        s->patches[p].box.x += by_px;
}

START_TEST(other_scenes_and_places_are_left_alone)
{
    static const double factors[PATCHES] = {2.9, 0.31, 1.45, 0.62, 3.8};
    struct sample first, second;

    two_frames(&first, &second); /* patches that change apart from each other */
    for (int p = 0; p < PATCHES; p++)
        second.patches[p].channel[QS_Y].noise.mean *= factors[p];
    ck_assert_int_eq(drifts(&first, &second), 0);
    done(&second);
    two_frames(&first, &second); /* 130 px wide: 60 % in common, then 80 % */
    brighten(&second, 1.5, 1.0);
    shift(&second, 52);
    ck_assert_int_eq(drifts(&first, &second), 0);
    done(&second);
    two_frames(&first, &second);
    brighten(&second, 1.5, 1.0);
    shift(&second, 26);
    ck_assert_int_eq(drifts(&first, &second), 1);
    done(&second);
    two_frames(&first, &second); /* another size of frame */
    brighten(&second, 1.5, 1.0);
    second.frame.width++;
    ck_assert_int_eq(drifts(&first, &second), 0);
    done(&second);
}
END_TEST

/* Two found patches may agree by chance; a given one was meant. */
START_TEST(found_patches_must_be_three)
{
    for (int count = 1; count <= 3; count++)
        for (int found = 0; found < 2; found++) {
            struct sample first, second;

            two_frames(&first, &second);
            brighten(&second, 1.5, 1.0);
            first.frame.patch_count = second.frame.patch_count = count;
            for (int p = 0; p < PATCHES; p++)
                first.patches[p].found = second.patches[p].found = found;
            ck_assert_int_eq(drifts(&first, &second), !found || count == 3);
            done(&second);
        }
}
END_TEST

/* A frame without patches is not the first one, and short memory is said. */
START_TEST(the_first_frame_with_patches_is_remembered)
{
    struct sample empty, first;
    struct qs_series series = {.patches = NULL};
    struct qs_error err = {0};

    two_frames(&empty, &first);
    empty.frame.patch_count = 0;
    ck_assert_int_eq(qs_series_check(&series, &empty.frame, &err), QS_OK);
    ck_assert_int_eq(series.patch_count, 0);
    qs_alloc_fail_at(0);
    ck_assert_int_eq(qs_series_check(&series, &first.frame, &err), QS_ERR_MEMORY);
    qs_alloc_fail_at(-1);
    ck_assert_int_eq(series.patch_count, 0);
    ck_assert_int_eq(qs_series_check(&series, &first.frame, &err), QS_OK);
    ck_assert_int_eq(series.patch_count, PATCHES);
    qs_alloc_fail_at(0);
    ck_assert_int_eq(qs_series_check(&series, &first.frame, &err), QS_ERR_MEMORY);
    qs_alloc_fail_at(-1);
    qs_series_clear(&series);
    qs_series_clear(&series);
}
END_TEST

QS_TEST_MAIN("verdict", each_warning_has_its_weight,
             marks_without_a_warning_change_nothing, eight_bits_weigh_by_the_noise,
             the_heaviest_warnings_are_named,
             brightness_that_exposure_does_not_explain_drifts, drift_is_said_in_stops,
             white_balance_drifts_by_itself, grey_frames_have_no_white_balance,
             other_scenes_and_places_are_left_alone, found_patches_must_be_three,
             the_first_frame_with_patches_is_remembered)
