/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_shrink.c - shrinking a plane, against a straightforward double-precision one
 *
 * The reference asks every source pixel for its weight by the published kernel
 * (kernel_reference.h) and adds up in double precision, row by row, then column
 * by column.  The library adds up in float: each of its two passes errs by at
 * most (taps + 2) units of 6e-8 of the largest value (0.9 here) times the sum of the
 * weights' sizes, which is below 1.5 for these kernels; the tolerance is that bound,
 * and errors are in fact far smaller.
 */
#include "resample/shrink.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "base/random.h"
#include "check_main.h"
#include "kernel_reference.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))
#define FLOAT_UNIT 6e-8

enum {
    IN_WIDTH = 317,
    IN_HEIGHT = 211,
    OUT_WIDTH = 123,
    OUT_HEIGHT = 97,
    STRIDE = 331
};

static float source_px[IN_HEIGHT * STRIDE];
static double between[IN_HEIGHT * IN_WIDTH];
static double expected[IN_HEIGHT * IN_WIDTH];
static float delivered_px[IN_HEIGHT * IN_WIDTH];

static const struct qs_plane source = {source_px, IN_WIDTH, IN_HEIGHT, STRIDE};

static void
fill_source(uint64_t seed)
{
    struct qs_random random;

    qs_random_seed(&random, seed);
    for (int i = 0; i < IN_HEIGHT * STRIDE; i++)
        source_px[i] = (float)(0.317 + 0.1 * qs_random_normal(&random));
}

/* expected[out_height][out_width], both passes in double precision. */
static void
shrink_reference(enum qs_filter filter, int out_width, int out_height)
{
    double weight[IN_WIDTH];

    for (int x = 0; x < out_width; x++) {
        reference_weights(filter, IN_WIDTH, out_width, x, weight);
        for (int y = 0; y < IN_HEIGHT; y++) {
            double sum = 0.0;

            for (int n = 0; n < IN_WIDTH; n++)
                sum += weight[n] * (double)source_px[y * STRIDE + n];
            between[y * out_width + x] = sum;
        }
    }
    for (int y = 0; y < out_height; y++) {
        reference_weights(filter, IN_HEIGHT, out_height, y, weight);
        for (int x = 0; x < out_width; x++) {
            double sum = 0.0;

            for (int n = 0; n < IN_HEIGHT; n++)
                sum += weight[n] * between[n * out_width + x];
            expected[y * out_width + x] = sum;
        }
    }
}

struct axes {
    struct qs_weights across, down;
};

static struct axes
axes_of(enum qs_filter filter, int out_width, int out_height)
{
    struct qs_error err = {QS_OK, ""};
    struct axes axes;

    ck_assert_int_eq(qs_weights_init(&axes.across, filter, IN_WIDTH, out_width, &err),
                     QS_OK);
    ck_assert_int_eq(qs_weights_init(&axes.down, filter, IN_HEIGHT, out_height, &err),
                     QS_OK);
    return axes;
}

static void
axes_clear(struct axes *axes)
{
    qs_weights_clear(&axes->across);
    qs_weights_clear(&axes->down);
}

static struct qs_plane
shrink_whole(const struct axes *axes)
{
    struct qs_box box = {0, 0, axes->across.out, axes->down.out};
    struct qs_plane out = {delivered_px, box.width, box.height, box.width};

    ck_assert_int_eq(
        qs_shrink(&source, 0, 0, &axes->across, &axes->down, box, &out, NULL), QS_OK);
    return out;
}

static double
worst_difference(int count)
{
    double worst = 0.0;

    for (int i = 0; i < count; i++)
        worst = fmax(worst, fabs((double)delivered_px[i] - expected[i]));
    return worst;
}

START_TEST(agrees_with_the_reference)
{
    static const int sizes[][2] = {{OUT_WIDTH, OUT_HEIGHT},
                                   {316, 210},
                                   {317, 97},
                                   {123, 211},
                                   {41, 19},
                                   {1, 1},
                                   {317, 211}};

    fill_source(1);
    for (int f = 0; f < QS_FILTERS; f++)
        for (size_t k = 0; k < COUNT(sizes); k++) {
            struct axes axes = axes_of((enum qs_filter)f, sizes[k][0], sizes[k][1]);
            double bound =
                1.5 * FLOAT_UNIT * (axes.across.taps + axes.down.taps + 4) * 0.9;

            shrink_reference((enum qs_filter)f, sizes[k][0], sizes[k][1]);
            (void)shrink_whole(&axes);
            ck_assert_msg(worst_difference(sizes[k][0] * sizes[k][1]) < bound,
                          "%s to %d x %d: %g apart",
                          qs_filter_row((enum qs_filter)f)->key, sizes[k][0],
                          sizes[k][1], worst_difference(sizes[k][0] * sizes[k][1]));
            axes_clear(&axes);
        }
}
END_TEST

/* A part of the delivery from just the source pixels it needs: the same bits. */
START_TEST(a_part_from_a_part)
{
    struct axes axes = axes_of(QS_FILTER_LANCZOS3, OUT_WIDTH, OUT_HEIGHT);
    struct qs_box box = {17, 23, 31, 13};
    static float part_px[13 * 31];
    struct qs_plane part = {part_px, box.width, box.height, box.width};
    int x = axes.across.first[box.x], y = axes.down.first[box.y];
    int last_x = box.x + box.width - 1, last_y = box.y + box.height - 1;
    struct qs_box needed = {x, y,
                            axes.across.first[last_x] + axes.across.count[last_x] - x,
                            axes.down.first[last_y] + axes.down.count[last_y] - y};
    struct qs_plane seen = qs_plane_part(&source, needed);

    fill_source(2);
    (void)shrink_whole(&axes);
    ck_assert_int_eq(qs_shrink(&seen, x, y, &axes.across, &axes.down, box, &part, NULL),
                     QS_OK);
    for (int j = 0; j < box.height; j++)
        for (int i = 0; i < box.width; i++)
            ck_assert(part_px[j * box.width + i] ==
                      delivered_px[(box.y + j) * OUT_WIDTH + box.x + i]);
    axes_clear(&axes);
}
END_TEST

/* Linear: the delivery of a sum is the sum of the deliveries, to rounding. */
START_TEST(linear)
{
    static double first[OUT_WIDTH * OUT_HEIGHT];
    static float kept[IN_HEIGHT * STRIDE];
    struct axes axes = axes_of(QS_FILTER_CATMULL_ROM, OUT_WIDTH, OUT_HEIGHT);
    double worst = 0.0;

    fill_source(3);
    (void)shrink_whole(&axes);
    for (int i = 0; i < OUT_WIDTH * OUT_HEIGHT; i++)
        first[i] = 2.5 * (double)delivered_px[i];
    for (int i = 0; i < IN_HEIGHT * STRIDE; i++)
        kept[i] = source_px[i];
    fill_source(4);
    (void)shrink_whole(&axes);
    for (int i = 0; i < OUT_WIDTH * OUT_HEIGHT; i++)
        first[i] -= 1.5 * (double)delivered_px[i];
    for (int i = 0; i < IN_HEIGHT * STRIDE; i++)
        source_px[i] = 2.5f * kept[i] - 1.5f * source_px[i];
    (void)shrink_whole(&axes);
    for (int i = 0; i < OUT_WIDTH * OUT_HEIGHT; i++)
        worst = fmax(worst, fabs((double)delivered_px[i] - first[i]));
    ck_assert_double_lt(worst, 4.0 * 1.5 * FLOAT_UNIT * (axes.across.taps * 2 + 4));
    axes_clear(&axes);
}
END_TEST

START_TEST(constant_stays)
{
    for (int i = 0; i < IN_HEIGHT * STRIDE; i++)
        source_px[i] = 0.7311f;
    for (int f = 0; f < QS_FILTERS; f++) {
        struct axes axes = axes_of((enum qs_filter)f, OUT_WIDTH, OUT_HEIGHT);
        double worst = 0.0;

        (void)shrink_whole(&axes);
        for (int i = 0; i < OUT_WIDTH * OUT_HEIGHT; i++)
            worst = fmax(worst, fabs((double)delivered_px[i] - (double)0.7311f));
        ck_assert_double_lt(worst, 1e-6);
        axes_clear(&axes);
    }
}
END_TEST

/* Area at any reduction keeps the mean of the whole plane. */
START_TEST(area_keeps_the_mean)
{
    struct axes axes = axes_of(QS_FILTER_AREA, OUT_WIDTH, OUT_HEIGHT);
    double before = 0.0, after = 0.0;

    fill_source(5);
    (void)shrink_whole(&axes);
    for (int y = 0; y < IN_HEIGHT; y++)
        for (int x = 0; x < IN_WIDTH; x++)
            before += (double)source_px[y * STRIDE + x] / (IN_WIDTH * IN_HEIGHT);
    for (int i = 0; i < OUT_WIDTH * OUT_HEIGHT; i++)
        after += (double)delivered_px[i] / (OUT_WIDTH * OUT_HEIGHT);
    ck_assert_double_eq_tol(after, before, 5e-7);
    axes_clear(&axes);
}
END_TEST

/*
 * qs_shrink_span by its contract, pixel by pixel: delivered pixel i covers source
 * pixels' edges from i scale to (i + 1) scale.
 */
static bool
belongs(const struct qs_weights *weights, int i, int inside, int length, int reach,
        int reach_length)
{
    double low = i * weights->scale, high = (i + 1) * weights->scale;

    return i >= weights->whole_first && i < weights->whole_end &&
           low >= inside - 1e-7 && high <= inside + length + 1e-7 &&
           weights->first[i] >= reach &&
           weights->first[i] + weights->count[i] <= reach + reach_length;
}

static void
check_span(const struct qs_weights *weights, int inside, int length, int margin)
{
    int first = -1, expected_first = 0, expected_count = 0;
    int count = qs_shrink_span(weights, inside, length, inside - margin,
                               length + 2 * margin, &first);

    for (int i = weights->out - 1; i >= 0; i--)
        if (belongs(weights, i, inside, length, inside - margin, length + 2 * margin)) {
            expected_first = i;
            expected_count++;
        }
    ck_assert_msg(count == expected_count && (count == 0 || first == expected_first),
                  "%d of %d, margin %d: %d from %d, should be %d from %d", length,
                  inside, margin, count, first, expected_count, expected_first);
}

START_TEST(span_by_contract)
{
    static const int outs[] = {317, 211, 158, 123, 97, 80, 40, 1};

    for (int f = 0; f < QS_FILTERS; f++)
        for (size_t k = 0; k < COUNT(outs); k++) {
            struct qs_weights weights;

            ck_assert_int_eq(
                qs_weights_init(&weights, (enum qs_filter)f, 317, outs[k], NULL),
                QS_OK);
            for (int inside = -29; inside < 340; inside += 13)
                for (int length = 1; length < 330; length += 41) {
                    check_span(&weights, inside, length, 0);
                    check_span(&weights, inside, length, 7);
                    check_span(&weights, inside, length, 400);
                }
            qs_weights_clear(&weights);
        }
}
END_TEST

START_TEST(memory_runs_out)
{
    struct axes axes = axes_of(QS_FILTER_AREA, OUT_WIDTH, OUT_HEIGHT);
    struct qs_box box = {0, 0, OUT_WIDTH, OUT_HEIGHT};
    struct qs_plane out = {delivered_px, box.width, box.height, box.width};

    qs_alloc_fail_at(0);
    ck_assert_int_eq(
        qs_shrink(&source, 0, 0, &axes.across, &axes.down, box, &out, NULL),
        QS_ERR_MEMORY);
    qs_alloc_fail_at(-1);
    axes_clear(&axes);
}
END_TEST

QS_TEST_MAIN("shrink", agrees_with_the_reference, a_part_from_a_part, linear,
             constant_stays, area_keeps_the_mean, span_by_contract, memory_runs_out)
