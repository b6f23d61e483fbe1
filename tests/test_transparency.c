/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Pictures with alpha, delivered, against Porter and Duff's rule (Computer Graphics
 * 18:3, 1984, from memory: colours are summed multiplied by alpha) worked out in double
 * precision with the kernels as written a second time (kernel_reference.h) and the
 * published formula of sRGB (IEC 61966-2-1).
 */
#include <math.h>
#include <png.h>
#include <tiffio.h>

#include "base/random.h"
#include "check_main.h"
#include "deliver/picture.h"
#include "image_check.h"
#include "kernel_reference.h"
#include "srgb_reference.h"

enum {
    WIDTH = 45,
    HEIGHT = 38,
    OUT_WIDTH = 20,
    OUT_HEIGHT = 17,
    MOST = 4
};

struct source {
    char path[64];
    int channels;
    enum qs_alpha alpha;
    bool apart; /* each sample in a plane of its own */
    uint16_t codes[WIDTH * HEIGHT * MOST];
};

/* Noise, of which a block is see-through and another one opaque. */
static void
paint(struct source *source, uint64_t seed)
{
    const int samples = source->channels + 1;
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (int i = 0; i < WIDTH * HEIGHT; i++) {
        uint16_t *pixel = source->codes + (ptrdiff_t)i * samples;
        int x = i % WIDTH, y = i / WIDTH;
        double alpha = qs_random_even(&random);

        if (y < 14)
            alpha = x < 14 ? 0.0 : 1.0;
        for (int c = 0; c < source->channels; c++)
            pixel[c] = (uint16_t)(65535.0 * qs_random_even(&random) *
                                  (source->alpha == QS_ALPHA_MULTIPLIED ? alpha : 1.0));
        pixel[source->channels] = (uint16_t)lrint(65535.0 * alpha);
    }
}

static void
write_rows(TIFF *tiff, const struct source *source)
{
    const int samples = source->channels + 1;
    uint16_t line[WIDTH * MOST];

    for (int p = 0; p < (source->apart ? samples : 1); p++)
        for (int y = 0; y < HEIGHT; y++) {
            const uint16_t *row = source->codes + (ptrdiff_t)y * WIDTH * samples;

            for (int i = 0; i < (source->apart ? WIDTH : WIDTH * samples); i++)
                line[i] = source->apart ? row[i * samples + p] : row[i];
            ck_assert_int_eq(TIFFWriteScanline(tiff, line, (uint32_t)y, (uint16_t)p),
                             1);
        }
}

static void
write_source(struct source *source)
{
    static const uint16_t kinds[] = {0, EXTRASAMPLE_UNASSALPHA, EXTRASAMPLE_ASSOCALPHA,
                                     EXTRASAMPLE_UNSPECIFIED};
    TIFF *tiff;

    scratch_file(source->path);
    tiff = TIFFOpen(source->path, "w");
    ck_assert_ptr_nonnull(tiff);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)WIDTH);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)HEIGHT);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, source->channels + 1);
    TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &kinds[source->alpha]);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG,
                 source->apart ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
                 source->channels == 1 ? PHOTOMETRIC_MINISBLACK : PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 5);
    write_rows(tiff, source);
    TIFFClose(tiff);
}

/* What one source pixel gives: light times alpha, and alpha last. */
static void
given(const struct source *source, int x, int y, double out[MOST])
{
    const int samples = source->channels + 1;
    const uint16_t *pixel = source->codes + (ptrdiff_t)(y * WIDTH + x) * samples;
    double alpha = pixel[source->channels] / 65535.0;

    for (int c = 0; c < source->channels; c++) {
        double fraction = pixel[c] / 65535.0;

        if (source->alpha == QS_ALPHA_MULTIPLIED)
            fraction = alpha > 0.0 ? fraction / alpha : 0.0;
        out[c] = srgb_light(fraction) * (source->alpha == QS_ALPHA_MASK ? 1.0 : alpha);
    }
    out[source->channels] = alpha;
}

static void
sum_at(const struct source *source, int x, int y, double sum[MOST])
{
    double across[WIDTH], down[HEIGHT], one[MOST];

    reference_weights(QS_FILTER_LANCZOS3, WIDTH, OUT_WIDTH, x, across);
    reference_weights(QS_FILTER_LANCZOS3, HEIGHT, OUT_HEIGHT, y, down);
    for (int s = 0; s < MOST; s++)
        sum[s] = 0.0;
    for (int j = 0; j < HEIGHT; j++)
        for (int i = 0; i < WIDTH; i++) {
            given(source, i, j, one);
            for (int s = 0; s <= source->channels; s++)
                sum[s] += across[i] * down[j] * one[s];
        }
}

/*
 * Codes to 0.65, as without alpha; where alpha is small a colour is a quotient of two
 * small sums of floats, each known to some 1e-7, which a slope of 12.92 may stretch:
 * 0.15 code at alpha 1, and as much more as alpha is less.
 */
static void
check_pixel(const struct source *source, enum qs_file_format format,
            const uint16_t *pixel, const double sum[MOST])
{
    double raw = sum[source->channels], alpha = fmin(fmax(raw, 0.0), 1.0);
    bool is_mask = source->alpha == QS_ALPHA_MASK;
    bool multiplies = source->alpha == QS_ALPHA_MULTIPLIED && format == QS_FILE_TIFF;

    for (int c = 0; c < source->channels; c++) {
        double want = srgb_fraction(is_mask ? sum[c] : sum[c] / raw);

        if (!is_mask && alpha < 0.01)
            continue;
        if (multiplies)
            want *= alpha;
        ck_assert_msg(fabs(pixel[c] - 65535.0 * want) <
                          0.5 + 0.15 / (is_mask || multiplies ? 1.0 : alpha),
                      "%d: %d, not %.2f, alpha %.4f", c, pixel[c], 65535.0 * want, raw);
    }
    if (!is_mask || format == QS_FILE_TIFF)
        ck_assert_double_lt(fabs(pixel[source->channels] - 65535.0 * alpha), 0.65);
    else
        ck_assert_int_eq(pixel[source->channels], 0);
}

/* The delivered codes, read by libtiff or libpng: quads, 0 where there is no alpha. */
static void
read_tiff(const char *path, const struct source *source, uint16_t *into)
{
    const int samples = source->channels + 1;
    static const uint16_t kinds[] = {0, EXTRASAMPLE_UNASSALPHA, EXTRASAMPLE_ASSOCALPHA,
                                     EXTRASAMPLE_UNSPECIFIED};
    uint16_t count = 0, *extra = NULL, got = 0;
    TIFF *tiff = TIFFOpen(path, "r");

    ck_assert_ptr_nonnull(tiff);
    TIFFGetField(tiff, TIFFTAG_SAMPLESPERPIXEL, &got);
    ck_assert_int_eq(got, samples);
    TIFFGetField(tiff, TIFFTAG_EXTRASAMPLES, &count, &extra);
    ck_assert_int_eq(count, 1);
    ck_assert_int_eq(extra[0], kinds[source->alpha]);
    for (int y = 0; y < OUT_HEIGHT; y++)
        ck_assert_int_eq(TIFFReadScanline(tiff,
                                          into + (ptrdiff_t)y * OUT_WIDTH * samples,
                                          (uint32_t)y, 0),
                         1);
    TIFFClose(tiff);
}

static void
read_png(const char *path, const struct source *source, uint16_t *into)
{
    png_image about = {.version = PNG_IMAGE_VERSION};
    struct qs_image *image;
    const struct qs_image_info *info;
    uint16_t rows[OUT_WIDTH * OUT_HEIGHT * MOST];
    int samples;

    ck_assert_int_ne(png_image_begin_read_from_file(&about, path), 0);
    ck_assert_int_eq((about.format & PNG_FORMAT_FLAG_ALPHA) != 0,
                     source->alpha != QS_ALPHA_MASK);
    png_image_free(&about);
    ck_assert_int_eq(qs_image_open_with_alpha(path, &image, NULL), QS_OK);
    info = qs_image_info(image);
    samples = qs_image_samples(info);
    ck_assert_int_eq(qs_image_read(image, OUT_HEIGHT, rows, NULL), QS_OK);
    for (int i = 0; i < OUT_WIDTH * OUT_HEIGHT; i++)
        for (int s = 0; s <= source->channels; s++)
            into[i * (source->channels + 1) + s] =
                s < samples ? rows[i * samples + s] : 0;
    qs_image_close(image);
}

static void
deliver(const struct source *source, enum qs_file_format format, const char *path)
{
    const struct qs_encoding_choice srgb = {.name = "srgb"};
    struct qs_picture_order order = {.filter = QS_FILTER_LANCZOS3,
                                     .encoding = &srgb,
                                     .bits = 16,
                                     .format = format,
                                     .compression = QS_COMPRESS_DEFLATE};
    struct qs_picture_done done;
    struct qs_image *image;
    struct qs_pool *pool;
    struct qs_error err = {QS_OK, ""};

    ck_assert_int_eq(qs_size_parse("20x17", &order.size, NULL), QS_OK);
    ck_assert_int_eq(qs_pool_new(2, &pool, NULL), QS_OK);
    ck_assert_int_eq(qs_image_open_with_alpha(source->path, &image, NULL), QS_OK);
    ck_assert_int_eq(qs_image_info(image)->alpha, source->alpha);
    ck_assert_msg(
        qs_picture_deliver(image, &order, path, pool, NULL, NULL, &done, &err) == QS_OK,
        "%s", err.text);
    ck_assert_int_eq(done.sides.final_width, OUT_WIDTH);
    ck_assert_int_eq(done.sides.final_height, OUT_HEIGHT);
    qs_image_close(image);
    qs_pool_free(pool);
}

static void
check_source(struct source *source)
{
    static uint16_t got[2][OUT_WIDTH * OUT_HEIGHT * MOST];
    const int samples = source->channels + 1;
    char path[64];

    write_source(source);
    scratch_file(path);
    deliver(source, QS_FILE_TIFF, path);
    read_tiff(path, source, got[0]);
    deliver(source, QS_FILE_PNG, path);
    read_png(path, source, got[1]);
    for (int i = 0; i < OUT_WIDTH * OUT_HEIGHT; i++) {
        double sum[MOST];

        sum_at(source, i % OUT_WIDTH, i / OUT_WIDTH, sum);
        check_pixel(source, QS_FILE_TIFF, got[0] + (ptrdiff_t)i * samples, sum);
        check_pixel(source, QS_FILE_PNG, got[1] + (ptrdiff_t)i * samples, sum);
    }
    (void)unlink(path);
    (void)unlink(source->path);
}

START_TEST(test_kinds_of_alpha)
{
    static const enum qs_alpha kinds[] = {QS_ALPHA_STRAIGHT, QS_ALPHA_MULTIPLIED,
                                          QS_ALPHA_MASK};
    static struct source source;

    for (int channels = 1; channels <= 3; channels += 2)
        for (int k = 0; k < 3; k++) {
            source.channels = channels;
            source.alpha = kinds[k];
            source.apart = k == 1;
            paint(&source, (uint64_t)(7 * channels + k));
            check_source(&source);
        }
}
END_TEST

QS_TEST_MAIN("transparency", test_kinds_of_alpha)
