/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Files made by others: sound ones of every kind, and broken ones collected from
 * the test sets of other libraries.  A sound file is read whole or refused with a
 * sentence; a broken one gives a status.  Nothing crashes, hangs or prints.
 */
#include <dirent.h>
#include <math.h>
#include <stdint.h>
#include <sys/stat.h>
#include <time.h>

#include "check_main.h"
#include "image_check.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TIFFS QS_SHARED_DATA "/tiff-variants/"
#define PNGS QS_SHARED_DATA "/png-variants/"

/* Broken files are small; a second is many times what any of them may take. */
#define LONGEST_S 10.0

struct outcome {
    const char *path;
    int width; /* 0 = refused */
    int height;
    int channels;
    int bits;
    const char *word; /* in the sentence, where refused */
};

/*
 * Names say what most files hold; sizes from `file` and `tiffinfo`.  The "seq"
 * files hold 0, 1, 2 ... in reading order.
 */
static const struct outcome outcomes[] = {
    {TIFFS "libtiffpic/depth/flower-rgb-contig-08.tif", 73, 43, 3, 8, NULL},
    {TIFFS "libtiffpic/depth/flower-rgb-contig-16.tif", 73, 43, 3, 16, NULL},
    {TIFFS "libtiffpic/depth/flower-rgb-contig-32.tif", 73, 43, 3, 32, NULL},
    {TIFFS "libtiffpic/depth/flower-rgb-planar-16.tif", 73, 43, 3, 16, NULL},
    {TIFFS "libtiffpic/depth/flower-minisblack-32.tif", 73, 43, 1, 32, NULL},
    {TIFFS "libtiffpic/depth/flower-rgb-contig-02.tif", 0, 0, 0, 0, "2-bit"},
    {TIFFS "libtiffpic/depth/flower-rgb-planar-10.tif", 0, 0, 0, 0, "10-bit"},
    {TIFFS "libtiffpic/depth/flower-minisblack-12.tif", 0, 0, 0, 0, "12-bit"},
    {TIFFS "libtiffpic/depth/flower-rgb-contig-14.tif", 0, 0, 0, 0, "14-bit"},
    {TIFFS "libtiffpic/depth/flower-rgb-planar-24.tif", 0, 0, 0, 0, "24-bit"},
    {TIFFS "libtiffpic/depth/flower-palette-08.tif", 0, 0, 0, 0, "palette"},
    {TIFFS "libtiffpic/depth/flower-separated-contig-16.tif", 0, 0, 0, 0, "CMYK"},
    {TIFFS "libtiffpic/quad-tile.tif", 512, 384, 3, 8, NULL},
    {TIFFS "images/quad-tile.jpg.tiff", 0, 0, 0, 0, "YCbCr"},
    {TIFFS "images/tiled-jpeg-rgb-u8.tif", 374, 499, 3, 8, NULL},
    {TIFFS "images/cmyk-3c-32b-float.tiff", 0, 0, 0, 0, "CMYK"},
    {TIFFS "images/logluv-3c-16b.tiff", 0, 0, 0, 0, "LogLuv"},
    {TIFFS "images/int16_zstd.tif", 0, 0, 0, 0, "signed"},
    {TIFFS "images/fax4.tiff", 0, 0, 0, 0, "1 bit"},
    {TIFFS "images/gradient-1c-64b.tiff", 0, 0, 0, 0, "64-bit"},
    {TIFFS "images/gradient-1c-64b-float.tiff", 256, 1, 1, 64, NULL},
    {TIFFS "images/gradient-3c-32b-float.tiff", 256, 1, 3, 32, NULL},
    {TIFFS "images/predictor-3-rgb-f32.tif", 200, 200, 3, 32, NULL},
    {TIFFS "images/extra_bits_rgb_8b.tiff", 8, 8, 3, 8, NULL},
    {TIFFS "twelvemonkeys/jpeg-lossless-16bit-gray.tif", 0, 0, 0, 0, "lossless JPEG"},
    {TIFFS "twelvemonkeys/floatingpoint-16bit.tif", 151, 151, 3, 16, NULL},
    {TIFFS "twelvemonkeys/extra-channels.tif", 100, 100, 3, 8, NULL},
    {TIFFS "bigtiff-set/BigTIFFSubIFD8.tif", 64, 64, 3, 8, NULL},
    {TIFFS "subsubifds.tif", 32, 32, 1, 8, NULL},
    {PNGS "basn2c16.png", 32, 32, 3, 16, NULL},
    {PNGS "basn4a16.png", 32, 32, 1, 16, NULL},
    {PNGS "basn0g04.png", 0, 0, 0, 0, "4-bit"},
    {PNGS "basn3p08.png", 0, 0, 0, 0, "palette"},
    {PNGS "xc9n2c08.png", 0, 0, 0, 0, "damaged"},
    {PNGS "xdtn0g01.png", 0, 0, 0, 0, "damaged"},
    {PNGS "xhdn0g08.png", 0, 0, 0, 0, "damaged"},
    {PNGS "xlfn0g04.png", 0, 0, 0, 0, "damaged"},
};

static bool
is_there(const char *path)
{
    return access(path, R_OK) == 0;
}

/* Comes first: without the files nothing below means anything. */
START_TEST(needs_the_shared_files)
{
    if (!is_there(TIFFS) || !is_there(PNGS))
        exit(QS_TEST_SKIPPED);
}
END_TEST

static void
check_outcome(const struct outcome *row)
{
    struct picture picture;

    picture_read(row->path, &picture);
    if (row->width == 0) {
        ck_assert_msg(picture.status != QS_OK, "%s", row->path);
        ck_assert_msg(strstr(picture.err.text, row->word) != NULL, "%s: %s", row->path,
                      picture.err.text);
        return;
    }
    ck_assert_msg(picture.status == QS_OK, "%s: %s", row->path, picture.err.text);
    ck_assert_int_eq(picture.info.width, row->width);
    ck_assert_int_eq(picture.info.height, row->height);
    ck_assert_int_eq(picture.info.channels, row->channels);
    ck_assert_int_eq(picture.info.bits, row->bits);
    picture_clear(&picture);
}

START_TEST(known_files_as_expected)
{
    for (size_t i = 0; i < COUNT(outcomes); i++)
        if (is_there(outcomes[i].path))
            check_outcome(&outcomes[i]);
}
END_TEST

/* Files that hold the same picture in different ways, as their makers say. */
static const char *const alike[][4] = {
    {TIFFS "images/random-fp16.tiff", TIFFS "images/random-fp16-pred2.tiff",
     TIFFS "images/random-fp16-pred3.tiff", NULL},
    {TIFFS "images/white-fp16-pred2.tiff", TIFFS "images/white-fp16-pred3.tiff", NULL,
     NULL},
    {TIFFS "images/issue_69_lzw.tiff", TIFFS "images/issue_69_packbits.tiff", NULL,
     NULL},
    {TIFFS "libtiffpic/depth/flower-rgb-contig-16.tif",
     TIFFS "libtiffpic/depth/flower-rgb-planar-16.tif", NULL, NULL},
    {TIFFS "libtiffpic/depth/flower-rgb-contig-32.tif",
     TIFFS "libtiffpic/depth/flower-rgb-planar-32.tif", NULL, NULL},
    {TIFFS "pillow/16bit.cropped.tif", TIFFS "pillow/16bit.MM.cropped.tif",
     TIFFS "pillow/16bit.deflate.tif", TIFFS "pillow/16bit.MM.deflate.tif"},
    {TIFFS "bigtiff-set/Classic.tif", TIFFS "bigtiff-set/BigTIFFMotorolaLongStrips.tif",
     TIFFS "bigtiff-set/BigTIFFLong8Tiles.tif", TIFFS "bigtiff-set/BigTIFF.tif"},
    {TIFFS "images/seq/seq-3c-8b-bigendian-8743c999.tiff",
     TIFFS "images/seq/seq-3c-8b-multistrip-8743c999.tiff",
     TIFFS "images/seq/seq-3c-8b-tiled-8743c999.tiff", NULL},
    {TIFFS "images/seq/seq-1c-16b-deflate-68f373a0.tiff",
     TIFFS "images/seq/seq-1c-16b-lzw-68f373a0.tiff",
     TIFFS "images/seq/seq-1c-16b-tiled-68f373a0.tiff", NULL},
    {PNGS "basn2c16.png", PNGS "basi2c16.png", PNGS "oi9n2c16.png",
     PNGS "pp0n2c16.png"},
    {PNGS "basn0g16.png", PNGS "basi0g16.png", PNGS "oi4n0g16.png", NULL},
    {PNGS "basn6a16.png", PNGS "basi6a16.png", PNGS "bgan6a16.png",
     PNGS "bgyn6a16.png"},
    {PNGS "z00n2c08.png", PNGS "z03n2c08.png", PNGS "z09n2c08.png", NULL},
};

START_TEST(same_picture_different_file)
{
    for (size_t i = 0; i < COUNT(alike); i++) {
        struct picture first;

        if (!is_there(alike[i][0]))
            continue;
        picture_read(alike[i][0], &first);
        for (int j = 1; j < 4 && alike[i][j] != NULL; j++) {
            struct picture other;

            picture_read(alike[i][j], &other);
            ck_assert_msg(pictures_agree(&first, &other), "%s", alike[i][j]);
            picture_clear(&other);
        }
        picture_clear(&first);
    }
}
END_TEST

/* The maker's own copies of two of them, as PGM: 8-bit, and halves times 65535. */
START_TEST(same_values_as_pgm)
{
    size_t bytes;
    unsigned char *grey = read_bytes(TIFFS "images/minisblack-1c-8b.pgm", &bytes);
    struct picture picture;

    if (grey != NULL) {
        picture_read(TIFFS "images/minisblack-1c-8b.tiff", &picture);
        ck_assert_mem_eq(picture.rows, grey + bytes - picture_bytes(&picture),
                         picture_bytes(&picture));
        picture_clear(&picture);
    }
    free(grey);
    grey = read_bytes(TIFFS "images/random-fp16.pgm", &bytes);
    if (grey == NULL)
        return;
    picture_read(TIFFS "images/random-fp16.tiff", &picture);
    for (size_t i = 0; i < 256; i++) {
        const unsigned char *at = grey + bytes - 512 + 2 * i;
        float value;

        memcpy(&value, picture.rows + 4 * i, sizeof value);
        /* Rounded to whole numbers there: half a unit. */
        ck_assert_double_eq_tol((double)value * 65535.0, at[0] * 256.0 + at[1], 0.5001);
    }
    picture_clear(&picture);
    free(grey);
}
END_TEST

START_TEST(sequences_count_up)
{
    static const char path[] = TIFFS "images/seq/seq-3c-8b-tiled-8743c999.tiff";
    struct picture picture;

    if (!is_there(path))
        return;
    picture_read(path, &picture);
    for (size_t i = 0; i < 16 * 16 * 3; i++)
        ck_assert_uint_eq(picture.rows[i], i % 256);
    picture_clear(&picture);
}
END_TEST

/* Calls `check` for every file below `folder`; returns how many there were. */
static int
walk(const char *folder, void (*check)(const char *path))
{
    DIR *dir = opendir(folder);
    const struct dirent *item;
    int files = 0;

    if (dir == NULL)
        return 0;
    while ((item = readdir(dir)) != NULL) {
        char path[1024];
        struct stat about;

        if (item->d_name[0] == '.')
            continue;
        (void)snprintf(path, sizeof path, "%s/%s", folder, item->d_name);
        ck_assert_int_eq(stat(path, &about), 0);
        if (S_ISDIR(about.st_mode)) {
            files += walk(path, check);
        } else {
            check(path);
            files++;
        }
    }
    (void)closedir(dir);
    return files;
}

static double
seconds_now(void)
{
    struct timespec now;

    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void
check_survives(const char *path)
{
    double start_s = seconds_now();
    struct picture picture;

    picture_read(path, &picture);
    ck_assert_msg(seconds_now() - start_s < LONGEST_S, "%s", path);
    if (picture.status != QS_OK) {
        ck_assert_msg(strlen(picture.err.text) > 20, "%s", path);
        ck_assert_int_eq(picture.err.status, picture.status);
    }
    picture_clear(&picture);
}

/* Standard error goes to a file meanwhile, which must stay empty. */
START_TEST(any_file_gives_a_status_in_silence)
{
    static const char *const folders[] = {"tiff-broken", "png-broken", "tiff-variants",
                                          "png-variants"};
    char path[64];
    int kept = dup(STDERR_FILENO);
    struct stat about;

    scratch_file(path);
    (void)fflush(stderr);
    ck_assert_ptr_nonnull(freopen(path, "w", stderr));
    for (size_t i = 0; i < COUNT(folders); i++) {
        char folder[512];

        (void)snprintf(folder, sizeof folder, QS_SHARED_DATA "/%s", folders[i]);
        ck_assert_int_gt(walk(folder, check_survives), 0);
    }
    (void)fflush(stderr);
    (void)dup2(kept, STDERR_FILENO);
    (void)close(kept);
    ck_assert_int_eq(stat(path, &about), 0);
    ck_assert_int_eq(about.st_size, 0);
    (void)unlink(path);
}
END_TEST

static const char *const handful[] = {
    TIFFS "libtiffpic/depth/flower-rgb-planar-16.tif",
    TIFFS "libtiffpic/quad-tile.tif",
    TIFFS "pillow/hopper.iccprofile.tif",
    TIFFS "images/predictor-3-rgb-f32.tif",
    TIFFS "images/tiled-jpeg-rgb-u8.tif",
    TIFFS "bigtiff-set/BigTIFFLong8Tiles.tif",
    TIFFS "twelvemonkeys/floatingpoint-16bit.tif",
    TIFFS "pillow/16bit.deflate.tif",
    PNGS "basn2c16.png",
    PNGS "basi6a16.png",
    PNGS "invalid-iCCP-missing-adler32-checksum.png",
};

enum {
    CUTS = 50
};

/* What is cut short is refused, or what was cut off was not needed. */
START_TEST(cut_files_are_whole_or_refused)
{
    char path[64];

    scratch_file(path);
    for (size_t i = 0; i < COUNT(handful); i++) {
        size_t bytes;
        unsigned char *file = read_bytes(handful[i], &bytes);
        struct picture whole;

        if (file == NULL)
            continue;
        picture_read(handful[i], &whole);
        for (size_t cut = 0; cut < CUTS; cut++) {
            struct picture picture;

            write_bytes(path, file, bytes * cut / CUTS + cut % 7);
            picture_read(path, &picture);
            ck_assert_msg(picture.status == QS_OK || picture.status == QS_ERR_READ,
                          "%s: %s", handful[i], picture.err.text);
            if (picture.status == QS_OK)
                ck_assert_msg(pictures_agree(&whole, &picture), "%s", handful[i]);
            picture_clear(&picture);
        }
        picture_clear(&whole);
        free(file);
    }
    (void)unlink(path);
}
END_TEST

/* A flipped byte in PNG picture data is always seen: by zlib or by the checksum. */
START_TEST(png_checksum_is_checked)
{
    char path[64];
    size_t bytes;
    unsigned char *file = read_bytes(PNGS "basn2c16.png", &bytes);

    if (file == NULL)
        return;
    scratch_file(path);
    /* The file ends with the last 8 of IDAT's bytes, its checksum, and IEND's 12. */
    for (size_t back = 17; back < 25; back++) {
        struct picture picture;

        file[bytes - back] ^= 0x10;
        write_bytes(path, file, bytes);
        picture_read(path, &picture);
        ck_assert_int_eq(picture.status, QS_ERR_READ);
        file[bytes - back] ^= 0x10;
    }
    (void)unlink(path);
    free(file);
}
END_TEST

START_TEST(the_sound_part_can_be_read_again)
{
    char path[64];
    size_t bytes;
    unsigned char *file =
        read_bytes(QS_SHARED_DATA "/clean-photos/kodim03.png", &bytes);
    unsigned char *rows = malloc((size_t)768 * 512 * 3);
    struct qs_image *image;
    struct qs_error err;

    qs_error_clear(&err);
    if (file != NULL) {
        scratch_file(path);
        write_bytes(path, file, bytes / 2);
        ck_assert_int_eq(qs_image_open(path, &image, NULL), QS_OK);
        ck_assert_int_eq(qs_image_read(image, 512, rows, &err), QS_ERR_READ);
        ck_assert_ptr_null(strstr(err.text, "row 1 of"));
        ck_assert_ptr_nonnull(strstr(err.text, "of 512"));
        ck_assert_int_eq(qs_image_read(image, 512, rows, NULL), QS_ERR_READ);
        ck_assert_int_eq(qs_image_rewind(image, NULL), QS_OK);
        ck_assert_int_eq(qs_image_read(image, 100, rows, NULL), QS_OK);
        qs_image_close(image);
        (void)unlink(path);
    }
    free(rows);
    free(file);
}
END_TEST

static void
check_with_failing_memory(const char *path)
{
    struct picture whole;

    picture_read(path, &whole);
    for (long n = 0;; n++) {
        struct picture picture;
        bool reached;

        qs_alloc_fail_at(n);
        picture_read(path, &picture);
        reached = qs_alloc_count() > n;
        qs_alloc_fail_at(-1);
        if (reached)
            ck_assert_msg(picture.status == QS_ERR_MEMORY, "%s, allocation %ld: %d %s",
                          path, n, (int)picture.status, picture.err.text);
        else
            ck_assert(pictures_agree(&whole, &picture));
        picture_clear(&picture);
        if (!reached)
            break;
    }
    picture_clear(&whole);
}

START_TEST(each_failed_allocation_is_reported)
{
    for (size_t i = 0; i < COUNT(handful); i++)
        if (is_there(handful[i]))
            check_with_failing_memory(handful[i]);
}
END_TEST

QS_TEST_MAIN("image_files", needs_the_shared_files, known_files_as_expected,
             same_picture_different_file, same_values_as_pgm, sequences_count_up,
             any_file_gives_a_status_in_silence, cut_files_are_whole_or_refused,
             png_checksum_is_checked, the_sound_part_can_be_read_again,
             each_failed_allocation_is_reported)
