/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What was done to a file, on frames of real cameras that nobody here made.
 *
 * Source: QS_SHARED_DATA/SOURCES.tsv names the origin of each.  exposure-ladder: a
 * chart through narrow filters at 25 to 3916 ms and pairs of dark frames, raw mosaic of
 * 8 bits whose black is cut at 0.  real-chart: a raw chart of 14 bits, as the mosaic
 * and binned 2 x 2.  clean-photos: 8-bit pictures.
 */
#include "check_main.h"

#include <math.h>
#include <stdio.h>
#include <tiffio.h>
#include <unistd.h>

#include "frame/frame.h"
#include "frame/warnings.h"

#define LADDER QS_SHARED_DATA "/exposure-ladder/"

enum {
    WIDTH = 408, /* of the ladder's frames */
    HEIGHT = 342,
    SIDE = 32, /* of the squares they are cut into, side by side */
    COLUMNS = WIDTH / SIDE,
    SQUARES = COLUMNS * (HEIGHT / SIDE)
};

static const int exposures_ms[] = {25, 50, 100, 250, 500, 2000, 3916};

#define STEPS (sizeof exposures_ms / sizeof exposures_ms[0])

static struct qs_box squares[SQUARES];

static void
cut_into_squares(void)
{
    for (int i = 0; i < SQUARES; i++)
        squares[i] =
            (struct qs_box){i % COLUMNS * SIDE, i / COLUMNS * SIDE, SIDE, SIDE};
}

static void
measure(const char *path, struct qs_frame_options options, struct qs_frame *frame)
{
    static const struct qs_size half = {.kind = QS_SIZE_SHARE, .a = 0.5, .text = "50%"};
    static const enum qs_filter area = QS_FILTER_AREA;
    struct qs_error err = {0};
    struct qs_pool *pool;
    enum qs_status status;

    options.sizes = &half;
    options.size_count = 1;
    options.filters = &area;
    options.filter_count = 1;
    ck_assert(qs_pool_new(1, &pool, &err) == QS_OK);
    status = qs_frame_measure(path, &options, pool, NULL, NULL, frame, &err);
    qs_pool_free(pool);
    ck_assert_msg(status == QS_OK, "%s: %s", path, err.text);
}

static void
measure_squares(const char *path, struct qs_frame *frame)
{
    const struct qs_frame_options options = {
        .patches = squares, .patch_count = SQUARES, .encoding = {.name = "linear"}};

    measure(path, options, frame);
    ck_assert_int_eq(frame->patch_count, SQUARES);
}

/* Share of a square's codes that are `code`, by libtiff alone. */
static double
plain_share(uint8_t px[HEIGHT][WIDTH], struct qs_box box, int code)
{
    int count = 0;

    for (int y = box.y; y < box.y + box.height; y++)
        for (int x = box.x; x < box.x + box.width; x++)
            count += px[y][x] == code;
    return (double)count / ((double)box.width * box.height);
}

static void
read_plainly(const char *path, uint8_t px[HEIGHT][WIDTH])
{
    TIFF *tiff = TIFFOpen(path, "r");

    ck_assert_ptr_nonnull(tiff);
    ck_assert_int_eq((int)TIFFScanlineSize(tiff), WIDTH);
    for (uint32_t y = 0; y < HEIGHT; y++)
        ck_assert_int_eq(TIFFReadScanline(tiff, px[y], y, 0), 1);
    TIFFClose(tiff);
}

/* The most that any square holds of a code, and whether each square's share is right.
 */
static double
compare_shares(const struct qs_frame *frame, uint8_t px[HEIGHT][WIDTH], bool high)
{
    double most = 0.0;

    for (int p = 0; p < SQUARES; p++) {
        const struct qs_patch_channel *y = &frame->patches[p].channel[QS_Y];
        double share = plain_share(px, squares[p], high ? 255 : 0);

        ck_assert_double_eq_tol(high ? y->clipped_high : y->clipped_low, share, 1e-12);
        if (share > 0.00135) /* what a normal distribution has beyond 3 sd */
            ck_assert(high ? y->near_high : y->near_low);
        most = fmax(most, share);
    }
    return most;
}

static bool
open_ladder(const char *kind, int exposure_ms, int number, char path[1024])
{
    (void)snprintf(path, 1024, LADDER "%s_%dms_%04d.tif", kind, exposure_ms, number);
    return access(path, R_OK) == 0;
}

/* Clipping is said exactly where 0.2 % of a patch or more is clipped. */
static void
check_ladder_frame(const char *path, bool dark)
{
    static uint8_t px[HEIGHT][WIDTH];
    struct qs_frame frame;
    double black, white;

    read_plainly(path, px);
    measure_squares(path, &frame);
    black = compare_shares(&frame, px, false);
    white = compare_shares(&frame, px, true);
    ck_assert_msg(qs_is_warned(&frame, QS_WARN_CLIPPED_BLACK) == (black >= 0.002), "%s",
                  path);
    ck_assert_msg(qs_is_warned(&frame, QS_WARN_CLIPPED_WHITE) || white < 0.002, "%s",
                  path);
    ck_assert_msg(qs_is_warned(&frame, QS_WARN_EIGHT_BIT), "%s", path);
    if (dark) {
        ck_assert_double_gt(black, 0.99); /* their means are 0.001 to 0.006 codes */
        ck_assert_int_eq(frame.verdict.level, QS_VERDICT_UNUSABLE);
    }
    qs_frame_clear(&frame);
}

/* Frames with the lens closed hold no patch; that they are clipped is said all the
 * same. */
START_TEST(dark_frames_are_flagged_without_patches)
{
    const struct qs_frame_options options = {.encoding = {.name = "linear"}};
    char path[1024];

    for (size_t i = 0; i < STEPS; i++) {
        struct qs_frame frame;

        if (!open_ladder("dark", exposures_ms[i], 3, path))
            continue;
        measure(path, options, &frame);
        ck_assert_int_eq(frame.patch_count, 0);
        ck_assert(qs_is_warned(&frame, QS_WARN_CLIPPED_BLACK));
        ck_assert(!qs_is_warned(&frame, QS_WARN_CLIPPED_WHITE));
        qs_frame_clear(&frame);
    }
}
END_TEST

START_TEST(the_ladder_is_flagged_where_it_is_clipped)
{
    char path[1024];

    for (size_t i = 0; i < STEPS; i++) {
        for (int number = 3; number <= 4; number++)
            if (open_ladder("dark", exposures_ms[i], number, path))
                check_ladder_frame(path, true);
        if (open_ladder("chart_550nm", exposures_ms[i], 4, path))
            check_ladder_frame(path, false);
        if (open_ladder("chart_650nm", exposures_ms[i], 4, path))
            check_ladder_frame(path, false);
    }
}
END_TEST

/* Means of all squares in codes, the dark frame's taken off. */
static bool
load_means(const char *kind, int exposure_ms, double mean[SQUARES], bool cut[SQUARES])
{
    struct qs_frame frame, dark;
    char path[1024], dark_path[1024];

    if (!open_ladder(kind, exposure_ms, 4, path) ||
        !open_ladder("dark", exposure_ms, 4, dark_path))
        return false;
    measure_squares(path, &frame);
    measure_squares(dark_path, &dark);
    for (int p = 0; p < SQUARES; p++) {
        const struct qs_patch_channel *y = &frame.patches[p].channel[QS_Y];

        mean[p] = 255.0 * (y->noise.mean - dark.patches[p].channel[QS_Y].noise.mean);
        cut[p] = y->near_high;
    }
    qs_frame_clear(&frame);
    qs_frame_clear(&dark);
    return true;
}

static int
compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* Light that grows may not shrink; returns the median of its growth over `expected`. */
static double
median_growth(const double before[SQUARES], const double after[SQUARES],
              const bool cut[SQUARES], double expected, int *count)
{
    double growth[SQUARES];

    *count = 0;
    for (int p = 0; p < SQUARES; p++) {
        if (before[p] < 8.0)
            continue;
        /* what clips falls short of it, never beyond; 0.5 / 8 is rounding's most */
        ck_assert_double_lt(after[p] / before[p], 1.08 * expected);
        if (!cut[p])
            growth[(*count)++] = after[p] / before[p] / expected;
    }
    if (*count == 0)
        return 1.0;
    qsort(growth, (size_t)*count, sizeof *growth, compare);
    return growth[*count / 2];
}

/*
 * Twice the exposure, twice the mean: in squares 3 sd (of mosaic and noise together)
 * from the top.  Tolerance of the median: where a photosite's noise is below a step,
 * rounding moves its mean by up to half a code, one way or the other from square to
 * square; that is 6 % at most of the darkest squares taken, and half of it is left for
 * the median of 5 and more.  Chance moves a mean of 1024 pixels by 0.2 % (photons; a
 * full photosite holds some 10^4 electrons).  How true the shutter is nobody says.
 */
START_TEST(means_grow_with_exposure_until_they_clip)
{
    static const char *const kinds[] = {"chart_550nm", "chart_650nm"};
    int steps = 0;

    for (size_t k = 0; k < 2; k++) {
        double before[SQUARES], after[SQUARES];
        bool cut[SQUARES];

        if (!load_means(kinds[k], exposures_ms[0], before, cut))
            continue;
        for (size_t i = 1; i < STEPS; i++) {
            double expected = (double)exposures_ms[i] / exposures_ms[i - 1], median;
            int count;

            if (!load_means(kinds[k], exposures_ms[i], after, cut))
                break;
            median = median_growth(before, after, cut, expected, &count);
            if (count >= 5) {
                printf("%s, %d ms: growth / expected %.4f over %d squares\n", kinds[k],
                       exposures_ms[i], median, count);
                ck_assert_double_eq_tol(median, 1.0, 0.03);
                steps++;
            }
            for (int p = 0; p < SQUARES; p++)
                before[p] = after[p];
        }
    }
    ck_assert(steps == 0 || steps >= 6);
}
END_TEST

/*
 * 14 bits from a camera, no converter: whatever is assumed of its curve, it is not
 * smoothed, sharpened, of 8 bits or lossy.
 */
START_TEST(a_raw_chart_was_not_touched)
{
    static const char *const paths[] = {QS_SHARED_DATA
                                        "/real-chart/chart_rgb16_linear.tif",
                                        QS_SHARED_DATA "/real-chart/cfa16.png"};
    static const struct qs_encoding_choice choices[] = {
        {"linear", true, 2048.0, false, 0.0}, {.name = "linear"}, {.name = NULL}};

    for (size_t i = 0; i < 2; i++)
        for (size_t k = 0; k < sizeof choices / sizeof choices[0]; k++) {
            const struct qs_frame_options options = {.encoding = choices[k]};
            struct qs_frame frame;

            if (access(paths[i], R_OK) != 0)
                continue;
            measure(paths[i], options, &frame);
            ck_assert(!qs_is_warned(&frame, QS_WARN_NOISE_REDUCED));
            ck_assert(!qs_is_warned(&frame, QS_WARN_SHARPENED));
            ck_assert(!qs_is_warned(&frame, QS_WARN_EIGHT_BIT));
            ck_assert(!qs_is_warned(&frame, QS_WARN_LOSSY_BLOCKS));
            qs_frame_clear(&frame);
        }
}
END_TEST

/* Pictures of 8 bits are said to be, whatever else is found in them. */
START_TEST(eight_bit_pictures_are_told)
{
    static const char *const names[] = {"kodim03.png", "skimage_brick.png",
                                        "skimage_camera.png"};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const struct qs_frame_options options = {.patches = NULL};
        struct qs_frame frame;
        char path[1024];

        (void)snprintf(path, sizeof path, "%s/clean-photos/%s", QS_SHARED_DATA,
                       names[i]);
        if (access(path, R_OK) != 0)
            continue;
        measure(path, options, &frame);
        ck_assert(qs_is_warned(&frame, QS_WARN_EIGHT_BIT));
        ck_assert_int_ne(frame.verdict.level, QS_VERDICT_FIT);
        qs_frame_clear(&frame);
    }
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {the_ladder_is_flagged_where_it_is_clipped,
                                  dark_frames_are_flagged_without_patches,
                                  means_grow_with_exposure_until_they_clip,
                                  a_raw_chart_was_not_touched,
                                  eight_bit_pictures_are_told};

    if (access(QS_SHARED_DATA, R_OK) != 0)
        return QS_TEST_SKIPPED;
    cut_into_squares();
    return qs_run_tests("traces_real", tests, sizeof tests / sizeof tests[0]);
}
