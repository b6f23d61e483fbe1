/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Expected values: the noise the frames were made with, and where their regions
 * are.  A pooled sd over N independent pixels scatters by 1 / sqrt(2 N); where noise
 * is correlated, N is divided by the sum of its squared correlation, 4 pi s^2 / 2 for
 * a Gaussian kernel of sd s px.
 */
#include "check_main.h"

#include "find_frames.h"

static void
check_boxes(const struct find_frame *f)
{
    const struct qs_box all = {0, 0, f->width, f->height};
    double last = -1e9;

    ck_assert_int_le(f->count, QS_FIND_MAX);
    for (int i = 0; i < f->count; i++) {
        const struct qs_box box = f->box[i];
        double mean = 0.0;

        ck_assert(qs_box_within(box, all));
        ck_assert_int_ge(box.width, 28);
        ck_assert_int_le(box.width, 256);
        ck_assert_int_eq(box.width, box.height);
        for (int j = 0; j < i; j++)
            ck_assert(!qs_box_overlap(box, f->box[j]));
        for (int y = 0; y < box.height; y++) {
            for (int x = 0; x < box.width; x++)
                mean += f->plane[QS_Y][find_at(f, box.x + x, box.y + y)];
        }
        mean /= (double)box.width * box.height;
        /* Darkest first; the margin left out may shift a mean a little. */
        ck_assert_double_ge(mean, last - 0.01 * fabs(mean));
        last = mean;
    }
}

static void
paint_flat(struct find_frame *f, double level)
{
    for (int y = 0; y < f->height; y++) {
        for (int x = 0; x < f->width; x++) {
            double light = level * (1.0 + 0.05 * x / f->width - 0.03 * y / f->height);

            find_paint(f, x, y, 0.83 * light, light, 0.71 * light);
        }
    }
}

START_TEST(test_plainly_flat)
{
    /* Kernel sd in px, stripes' sd, tolerance: four standard errors and, for blotches,
       what a surface of six terms takes from patches of 64 px and more. */
    static const double table[][3] = {{0.0, 0.0, 0.01},
                                      {0.7, 0.0, 0.015},
                                      {1.0, 0.0, 0.02},
                                      {4.0, 0.0, 0.10},
                                      {0.0, 0.5, 0.04}};

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct find_frame f = find_frame_new(640, 480, i % 2 == 0 ? QS_R : QS_Y);
        struct qs_random random;

        qs_random_seed(&random, 31 + i);
        paint_flat(&f, 0.317);
        find_add_noise(&f, 2e-3, 1e-5, table[i][0], table[i][1], &random);
        find_run(&f, NULL);
        check_boxes(&f);
        ck_assert_double_ge(find_covered(&f), 0.5);
        ck_assert_double_eq_tol(find_pooled(&f), 1.0, table[i][2]);
        find_frame_free(&f);
    }
}
END_TEST

/* Ten steps a third of a stop apart, no lines between them, light uneven by 8 %. */
static void
paint_wedge(struct find_frame *f)
{
    for (int y = 0; y < f->height; y++) {
        for (int x = 0; x < f->width; x++) {
            int step = x * 10 / f->width;
            double light = 0.8 * exp2(-step / 3.0) * (1.0 - 0.08 * y / f->height);

            find_paint(f, x, y, light, light, light);
            f->label[find_at(f, x, y)] = (unsigned short)step;
        }
    }
}

START_TEST(test_wedge)
{
    for (unsigned seed = 1; seed <= 4; seed++) {
        struct find_frame f = find_frame_new(900, 300, seed % 2 == 0 ? QS_R : QS_Y);
        struct qs_random random;
        bool met[10] = {false};

        qs_random_seed(&random, seed);
        paint_wedge(&f);
        find_add_noise(&f, 1.7e-3, 1e-5, seed < 3 ? 0.0 : 0.7, 0.0, &random);
        find_run(&f, NULL);
        check_boxes(&f);
        ck_assert_int_eq(find_across(&f), 0);
        for (int i = 0; i < f.count; i++)
            met[f.label[find_at(&f, f.box[i].x, f.box[i].y)]] = true;
        for (int step = 0; step < 10; step++)
            ck_assert_msg(met[step], "seed %u: no patch on step %d", seed, step);
        ck_assert_double_eq_tol(find_pooled(&f), 1.0, 0.02);
        find_frame_free(&f);
    }
}
END_TEST

/* Stones of px 9 with dark seams, a woven pattern, clouds of every size, ribs in rows.
 */
static void
paint_texture(struct find_frame *f, int kind, struct qs_random *random)
{
    float *fine = find_field(f->width, f->height, 2.5, 0.0, random);
    float *coarse = find_field(f->width, f->height, 9.0, 0.0, random);

    for (int y = 0; y < f->height; y++) {
        for (int x = 0; x < f->width; x++) {
            double n = fine[find_at(f, x, y)], m = coarse[find_at(f, x, y)], v;

            if (kind == 0)
                v = n > -0.3 ? 0.2 * exp(0.4 * m) : 0.04;
            else if (kind == 1)
                v = 0.25 *
                    (0.3 + fabs(sin(0.43 * x + 0.2 * n) * sin(0.31 * y + 0.2 * m)));
            else if (kind == 3)
                v = 0.2 * (0.5 + 0.4 * sin(0.57 * y)) * (1.0 + 0.06 * n);
            else
                v = 0.2 * exp((0.15 * n + 0.2 * m) * (0.4 + 0.3 * fabs(m)));
            find_paint(f, x, y, v, 0.8 * v, 0.5 * v);
        }
    }
    qs_free(fine);
    qs_free(coarse);
}

START_TEST(test_texture_gives_nothing)
{
    for (int kind = 0; kind < 4; kind++) {
        for (int level = 0; level < 2; level++) {
            struct find_frame f = find_frame_new(512, 512, kind == 1 ? QS_Y : QS_R);
            struct qs_random random;

            qs_random_seed(&random, 5 + (unsigned)kind);
            paint_texture(&f, kind, &random);
            find_add_noise(&f, level == 0 ? 2e-4 : 2e-3, 1e-6, 0.0, 0.0, &random);
            find_run(&f, NULL);
            ck_assert_msg(f.count == 0, "texture %d: %d patches", kind, f.count);
            find_frame_free(&f);
        }
    }
}
END_TEST

START_TEST(test_strong_stripes)
{
    /*
     * Rows with three times the pixels' own noise.  Their sd is that of some 400 rows,
     * good to 1 / sqrt(800) = 3.5 %; four times that.
     */
    struct find_frame f = find_frame_new(640, 480, QS_R);
    struct qs_random random;

    qs_random_seed(&random, 12);
    paint_flat(&f, 0.317);
    find_add_noise(&f, 2e-3, 1e-5, 0.0, 3.0, &random);
    find_run(&f, NULL);
    check_boxes(&f);
    ck_assert_double_ge(find_covered(&f), 0.3);
    ck_assert_double_eq_tol(find_pooled(&f), 1.0, 0.14);
    find_frame_free(&f);
}
END_TEST

START_TEST(test_half_flat)
{
    /* A smooth sky over rough ground: every patch in the sky, and right. */
    struct find_frame f = find_frame_new(640, 480, QS_R);
    struct qs_random random;

    qs_random_seed(&random, 77);
    paint_texture(&f, 0, &random);
    for (int y = 0; y < 230; y++) {
        for (int x = 0; x < f.width; x++) {
            double light = 0.2 + 0.3 * y / 230.0 + 0.02 * sin(x / 90.0);

            find_paint(&f, x, y, 0.6 * light, 0.8 * light, light);
            f.label[find_at(&f, x, y)] = 1;
        }
    }
    find_add_noise(&f, 2e-3, 1e-5, 0.0, 0.0, &random);
    find_run(&f, NULL);
    check_boxes(&f);
    ck_assert_int_ge(f.count, 3);
    ck_assert_int_eq(find_across(&f), 0);
    for (int i = 0; i < f.count; i++)
        ck_assert_int_eq(f.label[find_at(&f, f.box[i].x, f.box[i].y)], 1);
    ck_assert_double_eq_tol(find_pooled(&f), 1.0, 0.03);
    find_frame_free(&f);
}
END_TEST

START_TEST(test_not_chosen_for_quietness)
{
    /* Mean of 12 frames' pooled variance: 12 x 0.8 x 90000 pixels, error 0.1 %. */
    double sum = 0.0;

    for (unsigned seed = 0; seed < 12; seed++) {
        struct find_frame f = find_frame_new(300, 300, QS_Y);
        struct qs_random random;
        double ratio;

        qs_random_seed(&random, 900 + seed);
        paint_flat(&f, 0.2);
        find_add_noise(&f, 1e-3, 1e-5, 0.0, 0.0, &random);
        find_run(&f, NULL);
        ck_assert_int_ge(f.count, 1);
        ratio = find_pooled(&f);
        sum += ratio * ratio;
        find_frame_free(&f);
    }
    ck_assert_double_eq_tol(sum / 12.0, 1.0, 0.005);
}
END_TEST

START_TEST(test_ends_of_the_range)
{
    /* One code value, and black with its lower half cut off: whole frames of them. */
    struct find_frame f = find_frame_new(256, 192, QS_Y);
    unsigned char *ends = find_alloc(256 * 192, 1);
    struct qs_random random;

    memset(ends, 1, 256 * 192);
    find_run(&f, ends);
    ck_assert_int_ge(f.count, 1);
    qs_random_seed(&random, 4);
    for (int i = 0; i < 256 * 192; i++) {
        double value = 0.01 * qs_random_normal(&random);

        f.plane[QS_Y][i] = (float)fmax(value, 0.0);
        ends[i] = value <= 0.0;
    }
    find_run(&f, ends);
    ck_assert_int_ge(f.count, 1);
    /* The same beside a grey that is not clipped: the grey alone. */
    for (int y = 0; y < 192; y++) {
        for (int x = 128; x < 256; x++) {
            f.plane[QS_Y][y * 256 + x] =
                (float)(0.2 + 0.01 * qs_random_normal(&random));
            ends[y * 256 + x] = 0;
        }
    }
    find_run(&f, ends);
    ck_assert_int_ge(f.count, 1);
    for (int i = 0; i < f.count; i++)
        ck_assert_int_ge(f.box[i].x, 128);
    qs_free(ends);
    find_frame_free(&f);
}
END_TEST

START_TEST(test_small_frames)
{
    for (int side = 4; side < 120; side += 7) {
        struct find_frame f = find_frame_new(side, side, QS_R);
        struct qs_random random;

        qs_random_seed(&random, 8);
        paint_flat(&f, 0.317);
        find_add_noise(&f, 2e-3, 1e-5, 0.0, 0.0, &random);
        find_run(&f, NULL);
        check_boxes(&f);
        ck_assert(f.count >= 1 || side < 72);
        find_frame_free(&f);
    }
}
END_TEST

START_TEST(test_memory_runs_out)
{
    struct find_frame f = find_frame_new(200, 160, QS_R);
    struct qs_error err = {0};
    struct qs_random random;
    struct qs_cells cells;

    qs_random_seed(&random, 8);
    paint_flat(&f, 0.317);
    find_add_noise(&f, 2e-3, 1e-5, 0.0, 0.0, &random);
    ck_assert_int_eq(qs_cells_init(&cells, 200, 160, QS_R, &err), QS_OK);
    find_fill(&cells, &f, NULL);
    for (long n = 0;; n++) {
        enum qs_status status;

        qs_error_clear(&err);
        qs_alloc_fail_at(n);
        status = qs_find_flat(&cells, f.box, &f.count, &err);
        qs_alloc_fail_at(-1);
        if (status == QS_OK)
            break;
        ck_assert_int_eq(status, QS_ERR_MEMORY);
        ck_assert_int_eq(f.count, 0);
        ck_assert_int_lt(n, 40);
    }
    ck_assert_int_ge(f.count, 1);
    qs_cells_clear(&cells);
    find_frame_free(&f);
}
END_TEST

QS_TEST_MAIN("find", test_plainly_flat, test_strong_stripes, test_wedge,
             test_texture_gives_nothing, test_half_flat, test_not_chosen_for_quietness,
             test_ends_of_the_range, test_small_frames, test_memory_runs_out)
