/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Whole pictures shrunk strip by strip, against the kernels as written a second time
 * (kernel_reference.h) in double precision and the published formula of sRGB (IEC
 * 61966-2-1): within half a code of rounding and 0.15 of a code for single precision.
 */
#include "deliver/shrinker.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <tiffio.h>

#include "base/random.h"
#include "check_main.h"
#include "image_check.h"
#include "kernel_reference.h"
#include "srgb_reference.h"

/* A picture of noise with a bright and a black block in it, as a TIFF. */
struct source {
    char path[64];
    int width, height, channels;
    uint16_t *codes;
};

static struct source
source_of(int width, int height, int channels, uint64_t seed)
{
    struct source source = {.width = width, .height = height, .channels = channels};
    size_t line = (size_t)width * (size_t)channels;
    struct qs_random random;
    TIFF *tiff;

    scratch_file(source.path);
    source.codes = malloc(line * (size_t)height * sizeof *source.codes);
    qs_random_seed(&random, seed);
    for (size_t i = 0; i < line * (size_t)height; i++) {
        size_t x = i % line / (size_t)channels, y = i / line;

        source.codes[i] = (uint16_t)(qs_random_even(&random) * 65535.0);
        if (x < 12 && y < 9)
            source.codes[i] = 65535;
        else if (x < 24 && y < 9)
            source.codes[i] = 0;
    }
    tiff = TIFFOpen(source.path, "w");
    ck_assert_ptr_nonnull(tiff);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, channels);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
                 channels == 1 ? PHOTOMETRIC_MINISBLACK : PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 7);
    for (int y = 0; y < height; y++)
        ck_assert_int_eq(
            TIFFWriteScanline(tiff, source.codes + (size_t)y * line, (uint32_t)y, 0),
            1);
    TIFFClose(tiff);
    return source;
}

static void
source_free(struct source *source)
{
    (void)unlink(source->path);
    free(source->codes);
}

/* Strips put together again. */
struct gathered {
    unsigned char *bytes;
    size_t strip_bytes, row_bytes;
    int next;
};

struct packed {
    unsigned char *bytes;
    size_t count;
};

static enum qs_status
pack(void *context, int index, void *codes, int rows, void **made, struct qs_error *err)
{
    struct gathered *into = context;
    struct packed *one = malloc(sizeof *one);

    (void)index;
    (void)err;
    one->count = (size_t)rows * into->row_bytes;
    one->bytes = malloc(one->count);
    memcpy(one->bytes, codes, one->count);
    *made = one;
    return QS_OK;
}

static void
drop(void *context, void *made)
{
    struct packed *one = made;

    (void)context;
    free(one->bytes);
    free(one);
}

static enum qs_status
put(void *context, int index, void *made, struct qs_error *err)
{
    struct gathered *into = context;
    struct packed *one = made;

    (void)err;
    ck_assert_int_eq(index, into->next++);
    memcpy(into->bytes + (size_t)index * into->strip_bytes, one->bytes, one->count);
    drop(context, made);
    return QS_OK;
}

struct setting {
    struct qs_box crop;
    int width, height;
    enum qs_filter filter;
    int bits, strip_rows, threads;
};

/* The delivered codes; the caller frees. */
static void *
shrunk(const struct source *source, struct setting set)
{
    const struct qs_encoding_choice srgb = {.name = "srgb"};
    struct gathered into = {.next = 0};
    struct qs_shrink_job job = {.crop = set.crop,
                                .out_width = set.width,
                                .out_height = set.height,
                                .filter = set.filter,
                                .bits = set.bits};
    struct qs_strip_sink sink = {&into, set.strip_rows, pack, put, drop};
    struct qs_linear *linear = NULL;
    struct qs_encoder *encoder = NULL;
    struct qs_error err = {QS_OK, ""};

    into.row_bytes =
        (size_t)set.width * (size_t)source->channels * (size_t)(set.bits / 8);
    into.strip_bytes = into.row_bytes * (size_t)set.strip_rows;
    into.bytes = calloc((size_t)set.height, into.row_bytes);
    ck_assert_int_eq(qs_image_open(source->path, &job.image, &err), QS_OK);
    ck_assert_int_eq(qs_linear_new(qs_image_info(job.image), &srgb, &linear, &err),
                     QS_OK);
    ck_assert_int_eq(qs_encoder_new(linear, &encoder, &err), QS_OK);
    ck_assert_int_eq(qs_pool_new(set.threads, &job.pool, &err), QS_OK);
    job.linear = linear;
    job.encoder = encoder;
    ck_assert_msg(qs_shrinker_run(&job, &sink, &err) == QS_OK, "%s", err.text);
    ck_assert_int_eq(into.next, (set.height + set.strip_rows - 1) / set.strip_rows);
    qs_pool_free(job.pool);
    qs_encoder_free(encoder);
    qs_linear_free(linear);
    qs_image_close(job.image);
    return into.bytes;
}

static double
code_of(double light)
{
    return 65535.0 * srgb_fraction(light);
}

/* Every delivered sample of a setting, worked out a second time. */
static void
check_all(const struct source *source, struct setting set)
{
    double *across = malloc((size_t)set.crop.width * sizeof *across);
    double *down = malloc((size_t)set.crop.height * sizeof *down);
    uint16_t *codes = shrunk(source, set);

    for (int y = 0; y < set.height; y++)
        for (int x = 0; x < set.width; x++) {
            reference_weights(set.filter, set.crop.width, set.width, x, across);
            reference_weights(set.filter, set.crop.height, set.height, y, down);
            for (int c = 0; c < source->channels; c++) {
                int at = (y * set.width + x) * source->channels + c;
                double sum = 0.0;

                for (int j = 0; j < set.crop.height; j++)
                    for (int i = 0; down[j] != 0.0 && i < set.crop.width; i++)
                        if (across[i] != 0.0)
                            sum += down[j] * across[i] *
                                   srgb_light(
                                       source->codes[((set.crop.y + j) * source->width +
                                                      set.crop.x + i) *
                                                         source->channels +
                                                     c] /
                                       65535.0);
                ck_assert_msg(fabs(codes[at] - code_of(sum)) < 0.65,
                              "%s to %d x %d: (%d, %d, %d) is %d instead of %.2f",
                              qs_filter_row(set.filter)->key, set.width, set.height, x,
                              y, c, codes[at], code_of(sum));
            }
        }
    free(codes);
    free(across);
    free(down);
}

START_TEST(test_every_filter)
{
    struct source rgb = source_of(61, 47, 3, 1), grey = source_of(50, 40, 1, 2);

    for (int f = 0; f < (int)QS_FILTERS; f++) {
        struct setting set = {{0, 0, 61, 47}, 37, 22, (enum qs_filter)f, 16, 5, 2};

        check_all(&rgb, set);
        set = (struct setting){{3, 5, 40, 30}, 13, 10, (enum qs_filter)f, 16, 16, 1};
        check_all(&grey, set);
    }
    source_free(&rgb);
    source_free(&grey);
}
END_TEST

/* One pixel, one row, full size: which gives the same codes back. */
START_TEST(test_odd_sizes)
{
    struct source rgb = source_of(61, 47, 3, 3);
    struct setting set = {{0, 0, 61, 47}, 1, 1, QS_FILTER_LANCZOS3, 16, 64, 2};
    uint16_t *codes;

    check_all(&rgb, set);
    set.width = 61;
    check_all(&rgb, set);
    set.height = 47;
    set.strip_rows = 1;
    codes = shrunk(&rgb, set);
    ck_assert_int_eq(memcmp(codes, rgb.codes, 61 * 47 * 3 * sizeof *codes), 0);
    free(codes);
    source_free(&rgb);
}
END_TEST

/* So many source rows to a delivered one that sums grow row by row: 47 rows become 2
   and 3 (taps 141 and 94), and 400 become 20 (120). */
START_TEST(test_much_smaller)
{
    struct source rgb = source_of(61, 47, 3, 6), tall = source_of(30, 400, 1, 7);
    struct setting set = {{0, 0, 61, 47}, 3, 2, QS_FILTER_LANCZOS3, 16, 64, 2};

    check_all(&rgb, set);
    set.height = 3;
    set.strip_rows = 1;
    check_all(&rgb, set);
    set = (struct setting){{0, 0, 30, 400}, 30, 20, QS_FILTER_LANCZOS3, 16, 7, 3};
    check_all(&tall, set);
    source_free(&rgb);
    source_free(&tall);
}
END_TEST

START_TEST(test_threads)
{
    struct source rgb = source_of(300, 400, 3, 4);
    struct setting set = {{0, 0, 300, 400}, 141, 188, QS_FILTER_MITCHELL, 16, 8, 1};
    uint16_t *one = shrunk(&rgb, set);

    for (int threads = 2; threads <= 8; threads += 3)
        for (int rows = 4; rows <= 64; rows *= 4) {
            uint16_t *other;

            set.threads = threads;
            set.strip_rows = rows;
            other = shrunk(&rgb, set);
            ck_assert_int_eq(memcmp(one, other, 141 * 188 * 3 * sizeof *one), 0);
            free(other);
        }
    free(one);
    source_free(&rgb);
}
END_TEST

/*
 * Eight bits: the mean of each row of a flat tone is kept (sd of a rounding by chance
 * is at most half a code, so 0.5 / sqrt(90000) of a mean), and neighbours don't hang
 * together.
 */
START_TEST(test_dither)
{
    struct source grey = source_of(600, 600, 1, 5);
    struct setting set = {{0, 0, 600, 600}, 300, 300, QS_FILTER_AREA, 8, 32, 2};
    struct setting fine = set;
    uint8_t *codes;
    uint16_t *exact;
    double off = 0.0, square = 0.0, beside = 0.0, below = 0.0;

    fine.bits = 16;
    codes = shrunk(&grey, set);
    exact = shrunk(&grey, fine);
    for (int i = 0; i < 299 * 300; i++) {
        double own = codes[i] - exact[i] / 257.0;

        ck_assert_double_lt(fabs(own), 1.0 + 1e-6);
        off += own;
        square += own * own;
        beside += own * (codes[i + 1] - exact[i + 1] / 257.0);
        below += own * (codes[i + 300] - exact[i + 300] / 257.0);
    }
    ck_assert_double_lt(fabs(off / 89700.0), 4.0 * 0.5 / 300.0);
    ck_assert_double_lt(fabs(beside / square), 4.0 / 300.0);
    ck_assert_double_lt(fabs(below / square), 4.0 / 300.0);
    free(codes);
    free(exact);
    source_free(&grey);
}
END_TEST

QS_TEST_MAIN("shrinker", test_every_filter, test_odd_sizes, test_much_smaller,
             test_threads, test_dither)
