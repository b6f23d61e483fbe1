/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Camera sheets: put together, written, read back to the same bits, and refused in
 * words where they are damaged.  The form itself is held against its JSON Schema by
 * tests/cli/sheet.sh.
 */
#include "sheet/sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/random.h"
#include "check_main.h"
#include "sheet/sheet_json.h"

static char path[] = "/tmp/quietsize-sheet-XXXXXX";

static struct qs_spectrum
some_spectrum(struct qs_random *random)
{
    struct qs_spectrum spectrum = {.pixel = {{0.0}}};

    for (int j = 0; j < (int)QS_SPECTRUM_NODES; j++) {
        for (int i = 0; i < (int)QS_SPECTRUM_NODES; i++)
            spectrum.pixel[j][i] = 1e-5 * (1.0 + 0.1 * qs_random_normal(random));
        spectrum.row[j] = 1e-8 * qs_random_normal(random);
    }
    return spectrum;
}

/* Patches of one ISO in some order: order[i] is a place in the list. */
static void
add_patches(struct qs_sheet *sheet, double iso, const int order[30])
{
    struct qs_sheet_iso *into = qs_sheet_iso_at(sheet, iso);

    ck_assert_ptr_nonnull(into);
    for (int i = 0; i < 30; i++) {
        struct qs_random random;
        double tone = 0.18 * exp2(-5.0 + 0.2 * order[i]);
        struct qs_sheet_point point = {.tone = tone, .mean = tone, .patches = 1};
        struct qs_spectrum spectrum;

        qs_random_seed(&random, (uint64_t)(order[i] + 1));
        spectrum = some_spectrum(&random);
        point.kind = order[i] % 3 == 0 ? QS_POINT_FIXED : QS_POINT_RANDOM;
        point.variance = point.kind == QS_POINT_FIXED ? 2.5e-5 * tone * tone
                                                      : 1e-7 + iso * 2e-7 * tone;
        point.variance *= 1.0 + 0.005 * qs_random_normal(&random);
        point.freedom = 1e5;
        point.se = 1e-8;
        for (int s = qs_sheet_first(sheet); s < qs_sheet_end(sheet); s++) {
            ck_assert_int_eq(qs_sheet_add_point(&into->signals[s], &point, NULL),
                             QS_OK);
            qs_sheet_add_spectrum(&into->signals[s], tone,
                                  (struct qs_sheet_ground){1e4, 100.0, 100.0},
                                  &spectrum);
        }
    }
}

static struct qs_sheet
some_sheet(bool backwards)
{
    struct qs_sheet sheet = {.width = 6000, .height = 4000, .channels = 3};
    struct qs_sheet_frame frame = {.exposure_s = 0.008, .f_number = 2.8, .patches = 30};
    int order[30];

    for (int i = 0; i < 30; i++)
        order[i] = backwards ? 29 - i : i;
    strcpy(sheet.camera, "Halden Q48");
    strcpy(sheet.encoding, "sRGB");
    add_patches(&sheet, backwards ? 3200.0 : 100.0, order);
    add_patches(&sheet, backwards ? 100.0 : 3200.0, order);
    ck_assert_int_eq(qs_sheet_add_frame(&sheet.isos[0], &frame, "kiln \"1\".tif",
                                        "banding textured", NULL),
                     QS_OK);
    ck_assert_int_eq(qs_sheet_refuse(&sheet, "sm\xF6kig.tif", "No flat patch.", NULL),
                     QS_OK);
    ck_assert_int_eq(qs_sheet_finish(&sheet, NULL), QS_OK);
    return sheet;
}

static char *
text_of(const struct qs_sheet *sheet)
{
    FILE *file = tmpfile();
    char *text;
    long size;

    ck_assert_ptr_nonnull(file);
    ck_assert_int_eq(qs_sheet_write(file, sheet, NULL), QS_OK);
    size = ftell(file);
    text = calloc((size_t)size + 1, 1);
    rewind(file);
    ck_assert_int_eq((long)fread(text, 1, (size_t)size, file), size);
    (void)fclose(file);
    return text;
}

static void
put_file(const char *text)
{
    FILE *file = fopen(path, "w");

    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(text, file), 0);
    (void)fclose(file);
}

static void
check_same(const struct qs_sheet_point *a, const struct qs_sheet_point *b)
{
    ck_assert_int_eq((int)a->kind, (int)b->kind);
    ck_assert_double_eq(a->tone, b->tone);
    ck_assert_double_eq(a->mean, b->mean);
    ck_assert_double_eq(a->variance, b->variance);
    ck_assert_double_eq(a->freedom, b->freedom);
    ck_assert_double_eq(a->se, b->se);
    ck_assert_int_eq(a->patches, b->patches);
}

START_TEST(test_round_trip)
{
    struct qs_sheet sheet = some_sheet(false), back;
    struct qs_error err = {QS_OK, ""};
    char *text = text_of(&sheet), *again;

    put_file(text);
    ck_assert_msg(qs_sheet_read(path, &back, &err) == QS_OK, "%s", err.text);
    again = text_of(&back);
    ck_assert_str_eq(text, again);
    for (int s = 0; s < (int)QS_SIGNALS; s++) {
        const struct qs_sheet_signal *a = &sheet.isos[1].signals[s];
        const struct qs_sheet_signal *b = &back.isos[1].signals[s];

        ck_assert_int_eq(a->point_count, b->point_count);
        for (int i = 0; i < a->point_count; i++)
            check_same(&a->points[i], &b->points[i]);
        ck_assert_int_eq(memcmp(a->model.value, b->model.value, sizeof a->model.value),
                         0);
        ck_assert_int_eq(memcmp(a->model.covariance, b->model.covariance,
                                sizeof a->model.covariance),
                         0);
        ck_assert_int_eq(memcmp(&a->zones[0].spectrum, &b->zones[0].spectrum,
                                sizeof a->zones[0].spectrum),
                         0);
    }
    /* finished once more, it stays as it is */
    ck_assert_int_eq(qs_sheet_finish(&back, NULL), QS_OK);
    free(again);
    again = text_of(&back);
    ck_assert_str_eq(text, again);
    free(text);
    free(again);
    qs_sheet_clear(&sheet);
    qs_sheet_clear(&back);
}
END_TEST

/* All but rounding in the averages of spectra is free of the frames' order; what was
   measured is so to the bit. */
START_TEST(test_order)
{
    struct qs_sheet a = some_sheet(false), b = some_sheet(true);

    for (int i = 0; i < 2; i++) {
        ck_assert_double_eq(a.isos[i].iso, b.isos[i].iso);
        for (int p = 0; p < (int)QS_MODEL_PARTS; p++)
            ck_assert_double_eq(a.isos[i].signals[QS_Y].model.value[p],
                                b.isos[i].signals[QS_Y].model.value[p]);
        ck_assert_int_eq(a.isos[i].signals[QS_Y].point_count,
                         b.isos[i].signals[QS_Y].point_count);
        ck_assert_double_eq_tol(a.isos[i].signals[QS_Y].zones[1].spectrum.pixel[3][3],
                                b.isos[i].signals[QS_Y].zones[1].spectrum.pixel[3][3],
                                1.1e-4);
    }
    qs_sheet_clear(&a);
    qs_sheet_clear(&b);
}
END_TEST

/* Patches of about one tone come together without taking tone for scatter. */
START_TEST(test_merging)
{
    struct qs_sheet sheet = {.width = 100, .height = 100, .channels = 1};
    struct qs_sheet_iso *iso = qs_sheet_iso_at(&sheet, 100.0);
    const struct qs_sheet_signal *y = &iso->signals[QS_Y];
    double freedom = 0.0;

    for (int i = 0; i < 64; i++) {
        double tone = 0.01 * exp2(i / 16.0);
        struct qs_sheet_point point = {.kind = QS_POINT_TOTAL,
                                       .tone = tone,
                                       .mean = tone,
                                       .variance = 1e-6 + 1e-4 * tone,
                                       .freedom = 1e6,
                                       .patches = 1};

        ck_assert_int_eq(qs_sheet_add_point(&iso->signals[QS_Y], &point, NULL), QS_OK);
    }
    ck_assert_int_eq(qs_sheet_finish(&sheet, NULL), QS_OK);
    ck_assert_int_ge(y->point_count, 16);
    ck_assert_int_le(y->point_count, 17);
    for (int i = 0; i < y->point_count; i++)
        freedom += y->points[i].freedom;
    ck_assert_double_eq_tol(freedom, 64e6, 1.0);
    ck_assert_double_eq_tol(y->model.value[QS_MODEL_GAIN], 1e-4, 1e-9);
    ck_assert_double_eq_tol(iso->tone_low, 0.01, 0.002);
    qs_sheet_clear(&sheet);
}
END_TEST

/* Replaces the first `from` in the sheet's text, reads it, and gives the sentence. */
static enum qs_status
read_with(const char *from, const char *to, struct qs_error *err)
{
    struct qs_sheet sheet = some_sheet(false), back;
    char *text = text_of(&sheet), *at = strstr(text, from);
    FILE *file = fopen(path, "w");
    enum qs_status status;

    ck_assert_msg(at != NULL, "%s", from);
    ck_assert_ptr_nonnull(file);
    *at = '\0';
    (void)fprintf(file, "%s%s%s", text, to, at + strlen(from));
    (void)fclose(file);
    qs_error_clear(err);
    status = qs_sheet_read(path, &back, err);
    if (status == QS_OK)
        qs_sheet_clear(&back);
    free(text);
    qs_sheet_clear(&sheet);
    return status;
}

START_TEST(test_damaged)
{
    static const struct {
        const char *from, *to, *says;
        enum qs_status status;
    } rows[] = {
        {"\"camera-sheet\"", "\"shopping-list\"", "no camera sheet", QS_ERR_READ},
        {"\"format\": 1", "\"format\": 2", "newer", QS_ERR_UNSUPPORTED},
        {"\"width\": 6000", "\"width\": \"6000\"", "\"width\"", QS_ERR_READ},
        {"\"channels\": 3", "\"channels\": 2", "\"channels\"", QS_ERR_READ},
        {"\"gain\": ", "\"gein\": ", "\"gain\" of ISO 100, r", QS_ERR_READ},
        {"\"random\"", "\"rundom\"", "\"kind\"", QS_ERR_READ},
        {"\"isos\": [", "\"isos\": {", "line", QS_ERR_READ},
        {"\"iso\": 3200.0", "\"iso\": 100.0", "different ISO", QS_ERR_READ},
        {"0.015625", "0.02", "spectrum_cpp", QS_ERR_READ},
        {"\"verdict\": \"fit\"", "\"verdict\": \"fine\"", "verdict", QS_ERR_READ},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct qs_error err;

        ck_assert_int_eq(read_with(rows[i].from, rows[i].to, &err), rows[i].status);
        ck_assert_msg(strstr(err.text, rows[i].says) != NULL, "%s: %s", rows[i].to,
                      err.text);
    }
}
END_TEST

START_TEST(test_cut_short)
{
    struct qs_sheet sheet = some_sheet(false), back;
    char *text = text_of(&sheet);
    size_t size = strlen(text);

    for (int i = 0; i < 50; i++) {
        char keep = text[size * (size_t)i / 50];

        text[size * (size_t)i / 50] = '\0';
        put_file(text);
        ck_assert_int_eq(qs_sheet_read(path, &back, NULL), QS_ERR_READ);
        text[size * (size_t)i / 50] = keep;
    }
    ck_assert_int_eq(qs_sheet_read("/nowhere/sheet.json", &back, NULL), QS_ERR_OPEN);
    free(text);
    qs_sheet_clear(&sheet);
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {test_round_trip, test_order, test_merging,
                                  test_damaged, test_cut_short};
    int handle = mkstemp(path), result;

    if (handle < 0)
        return EXIT_FAILURE;
    (void)close(handle);
    result = qs_run_tests("sheet", tests, sizeof tests / sizeof tests[0]);
    (void)unlink(path);
    return result;
}
