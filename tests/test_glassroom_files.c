/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the simulator writes is read back by the libraries others read it with. */
#include <lcms2.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <tiffio.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/pool.h"
#include "check_main.h"
#include "frame_write.h"
#include "glassroom_flat.h"

static char folder[] = "/tmp/test_glassroom_XXXXXX";

static const char *
inside(const char *name)
{
    static char path[256];

    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void
write_frame(const struct gr_recipe *r, const char *path)
{
    struct qs_pool *pool;
    struct qs_error err;

    qs_error_clear(&err);
    ck_assert_int_eq(qs_pool_new(2, &pool, NULL), QS_OK);
    ck_assert_msg(gr_frame_to_file(r, pool, path, &err) == QS_OK, "%s", err.text);
    qs_pool_free(pool);
}

START_TEST(test_exif_is_read_by_libtiff)
{
    struct gr_recipe r = plain_flat(32);
    toff_t exif = 0;
    uint16_t orientation = 0, count = 0, *iso = NULL;
    float exposure = 0, aperture = 0, bias = 0;
    char *model = NULL;
    TIFF *tif;

    r.orientation = 8;
    r.bias_stops = -1.25;
    r.f_number = 3.5;
    write_frame(&r, inside("exif.tif"));
    tif = TIFFOpen(inside("exif.tif"), "r");
    ck_assert_ptr_nonnull(tif);
    ck_assert_int_eq(TIFFGetField(tif, TIFFTAG_MODEL, &model), 1);
    ck_assert_str_eq(model, "Halden Q48");
    ck_assert_int_eq(TIFFGetField(tif, TIFFTAG_ORIENTATION, &orientation), 1);
    ck_assert_int_eq(orientation, 8);
    ck_assert_int_eq(TIFFGetField(tif, TIFFTAG_EXIFIFD, &exif), 1);
    ck_assert_int_eq(TIFFReadEXIFDirectory(tif, exif), 1);
    ck_assert_int_eq(TIFFGetField(tif, EXIFTAG_ISOSPEEDRATINGS, &count, &iso), 1);
    ck_assert_int_eq(iso[0], 3200);
    ck_assert_int_eq(TIFFGetField(tif, EXIFTAG_EXPOSURETIME, &exposure), 1);
    ck_assert_float_eq_tol(exposure, 1.0f / 64.0f, 1e-9f);
    ck_assert_int_eq(TIFFGetField(tif, EXIFTAG_FNUMBER, &aperture), 1);
    ck_assert_float_eq_tol(aperture, 3.5f, 1e-6f);
    ck_assert_int_eq(TIFFGetField(tif, EXIFTAG_EXPOSUREBIASVALUE, &bias), 1);
    ck_assert_float_eq_tol(bias, -1.25f, 1e-6f);
    TIFFClose(tif);
}
END_TEST

/* Luminance that the profile gives a code value, all channels the same. */
static double
profile_luminance(const void *icc, cmsUInt32Number size, int channels, double code)
{
    cmsHPROFILE from = cmsOpenProfileFromMem(icc, size), to = cmsCreateXYZProfile();
    cmsHTRANSFORM transform;
    double in[3] = {code, code, code};
    cmsCIEXYZ out = {0, 0, 0};

    ck_assert_ptr_nonnull(from);
    transform = cmsCreateTransform(from, channels == 1 ? TYPE_GRAY_DBL : TYPE_RGB_DBL,
                                   to, TYPE_XYZ_DBL, INTENT_RELATIVE_COLORIMETRIC,
                                   cmsFLAGS_NOOPTIMIZE);
    ck_assert_ptr_nonnull(transform);
    cmsDoTransform(transform, in, &out, 1);
    cmsDeleteTransform(transform);
    cmsCloseProfile(from);
    cmsCloseProfile(to);
    return out.Y;
}

START_TEST(test_profile_says_what_the_codes_mean)
{
    struct gr_recipe r = plain_flat(32);

    silence(&r.sensor);
    for (r.demosaic = gr_demosaics; r.demosaic->name != NULL; r.demosaic++)
        for (r.space = gr_spaces; r.space->name != NULL; r.space++) {
            uint16_t row[32 * 3];
            uint32_t size = 0;
            void *icc = NULL;
            TIFF *tif;

            write_frame(&r, inside("icc.tif"));
            tif = TIFFOpen(inside("icc.tif"), "r");
            ck_assert_ptr_nonnull(tif);
            ck_assert_int_eq(TIFFGetField(tif, TIFFTAG_ICCPROFILE, &size, &icc), 1);
            ck_assert_int_eq(TIFFReadScanline(tif, row, 0, 0), 1);
            /* mid grey; off by half a 14-bit and half a 16-bit code, and the profile's
               numbers are whole 1/65536 */
            ck_assert_double_eq_tol(
                profile_luminance(icc, size, r.demosaic->channels, row[0] / 65535.0),
                0.18, 1.5e-4);
            TIFFClose(tif);
        }
}
END_TEST

START_TEST(test_refusals_leave_nothing)
{
    struct gr_recipe r = plain_flat(32);
    struct qs_pool *pool;
    struct stat ignored;

    ck_assert_int_eq(qs_pool_new(1, &pool, NULL), QS_OK);
    ck_assert_int_eq(gr_frame_to_file(&r, pool, inside("frame.jpg"), NULL),
                     QS_ERR_USAGE);
    ck_assert_int_eq(gr_frame_to_file(&r, pool, inside("no/frame.tif"), NULL),
                     QS_ERR_WRITE);
    ck_assert_int_eq(gr_frame_to_file(&r, pool, inside("no/frame.png"), NULL),
                     QS_ERR_WRITE);
    r.depth = GR_DEPTH_32F;
    ck_assert_int_eq(gr_frame_to_file(&r, pool, inside("frame.png"), NULL),
                     QS_ERR_USAGE);
    r.pedestal_code = 100;
    ck_assert_int_eq(gr_frame_to_file(&r, pool, inside("frame.tif"), NULL),
                     QS_ERR_USAGE);
    r = plain_flat(32);
    r.sensor.read_e = -0.1;
    ck_assert_int_eq(gr_frame_to_file(&r, pool, inside("frame.tif"), NULL),
                     QS_ERR_USAGE);
    ck_assert_int_ne(stat(inside("frame.tif"), &ignored), 0);
    ck_assert_int_ne(stat(inside("frame.png"), &ignored), 0);
    qs_pool_free(pool);
}
END_TEST

START_TEST(test_short_memory_leaves_nothing)
{
    static const char *const names[] = {"short.tif", "short.png"};
    struct gr_recipe r = gr_recipe_default();
    struct qs_pool *pool;
    struct stat ignored;

    r.width = r.height = 32;
    r.retouch = (struct gr_retouch){0.6, 1.7, 0.5, 0.8, 0.02, 3.0};
    ck_assert_int_eq(qs_pool_new(1, &pool, NULL), QS_OK);
    for (int i = 0; i < 2; i++) {
        enum qs_status status = QS_ERR_MEMORY;

        for (long n = 0; status != QS_OK; n++) {
            ck_assert_int_eq(status, QS_ERR_MEMORY);
            ck_assert_int_ne(stat(inside(names[i]), &ignored), 0);
            qs_alloc_fail_at(n);
            status = gr_frame_to_file(&r, pool, inside(names[i]), NULL);
            qs_alloc_fail_at(-1);
        }
        ck_assert_int_eq(stat(inside(names[i]), &ignored), 0);
    }
    qs_pool_free(pool);
}
END_TEST

/* Bytes are promised where the tests run most: elsewhere libm and zlib may differ. */
#if defined(__linux__) && defined(__x86_64__)
START_TEST(test_testimages_are_made_anew)
{
    char command[1024];

    snprintf(command, sizeof command,
             "sh '%s/make-testimages' '%s' '%s' && for f in '%s'/*.*; do "
             "case $f in *.tif|*.png|*.json) cmp \"$f\" '%s'/\"${f##*/}\" || exit 1;; "
             "esac; done",
             GLASSROOM_TOOLS, GLASSROOM_PROGRAM, folder, QS_TESTIMAGES, folder);
    ck_assert_int_eq(system(command), 0);
}
END_TEST
#else
START_TEST(test_testimages_are_made_anew)
{
}
END_TEST
#endif

START_TEST(test_folder_is_made)
{
    TIFFSetErrorHandler(NULL);
    ck_assert_ptr_nonnull(mkdtemp(folder));
}
END_TEST

START_TEST(test_folder_is_removed)
{
    char command[128];

    snprintf(command, sizeof command, "rm -r '%s'", folder);
    ck_assert_int_eq(system(command), 0);
}
END_TEST

QS_TEST_MAIN("glassroom files", test_folder_is_made, test_exif_is_read_by_libtiff,
             test_profile_says_what_the_codes_mean, test_refusals_leave_nothing,
             test_short_memory_leaves_nothing, test_testimages_are_made_anew,
             test_folder_is_removed)
