/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_dct.h"

#include <fftw3.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "linear/curve.h"
#include "measure/fft_lock.h"

static const double PI = 3.14159265358979323846;

enum {
    BLOCK = 8,
    MOST_PX = 79, /* 9 x 9 blocks on each of 64 grids, of a larger patch */
    BINS = 512,   /* of a histogram of waves, half a code each; beyond, it wraps */
    SPAN = 256    /* codes of all bins */
};

/* Waves that are looked at: as many as are of use, over all sizes of steps. */
static const struct {
    int u;
    int v;
} waves[] = {{1, 2}, {2, 1}, {0, 3}, {3, 0}, {1, 4}, {4, 1}, {2, 3}, {3, 2},
             {0, 5}, {5, 0}, {1, 6}, {6, 1}, {2, 5}, {5, 2}, {3, 4}, {4, 3},
             {3, 6}, {6, 3}, {4, 5}, {5, 4}, {2, 7}, {7, 2}, {5, 6}, {6, 5}};

enum {
    WAVES = sizeof waves / sizeof waves[0]
};

/*
 * A step shows where the waves' sd is this share of it: at 0.6 a Gaussian without
 * steps has a characteristic function of exp(-2 pi^2 0.36) = 0.0008.
 */
static const double LEAST_SD = 0.6;

/* Steps under this many codes drown in the rounding of the pixels. */
static const double LEAST_STEP = 1.7;

/*
 * Of 4000 simulated 8-bit patches the best of 64 grids was at 2.7 sd in the middle and
 * at 5 in 7; the tail falls to a third every half sd: 7 is one in some 50 000.
 */
static const double SURE = 7.0;

/* One patch on its way. */
struct look {
    int width, height; /* of the middle that is looked at */
    int across, down;  /* places of a block in it */
    int frame_x, frame_y;
    double *luma;         /* [height][width], in codes of 8 bits */
    double *half;         /* [height][across]: one wave across */
    double *wave;         /* [down][across]: one wave of the block there */
    double *histogram;    /* [BINS] */
    fftw_complex *turned; /* [BINS / 2 + 1] */
    fftw_plan plan;
};

/* Luma as JFIF has it (ITU-T T.871). */
static void
fill_luma(const struct qs_plane *planes, int channels, struct look *look)
{
    static const double weight[3] = {0.299, 0.587, 0.114};
    int x0 = (planes[0].width - look->width) / 2;
    int y0 = (planes[0].height - look->height) / 2;

    look->frame_x += x0;
    look->frame_y += y0;
    for (int y = 0; y < look->height; y++)
        for (int x = 0; x < look->width; x++) {
            double sum = 0.0;

            for (int c = 0; c < channels; c++)
                sum +=
                    (channels == 1 ? 1.0 : weight[c]) * 255.0 *
                    qs_curve_fraction(qs_curve_srgb(),
                                      (double)qs_plane_row(&planes[c], y0 + y)[x0 + x]);
            look->luma[(ptrdiff_t)y * look->width + x] = sum;
        }
}

/* The orthonormal cosine transform's wave k over 8 samples. */
static void
basis(int k, double out[BLOCK])
{
    double scale = k == 0 ? sqrt(1.0 / BLOCK) : sqrt(2.0 / BLOCK);

    for (int i = 0; i < BLOCK; i++)
        out[i] = scale * cos((2 * i + 1) * k * PI / (2 * BLOCK));
}

/* T38: one wave of the blocks at every place. */
static void
transform(struct look *look, int u, int v)
{
    double across[BLOCK], down[BLOCK];

    basis(u, across);
    basis(v, down);
    for (int y = 0; y < look->height; y++)
        for (int x = 0; x < look->across; x++) {
            const double *from = look->luma + (ptrdiff_t)y * look->width + x;
            double sum = 0.0;

            for (int i = 0; i < BLOCK; i++)
                sum += across[i] * from[i];
            look->half[(ptrdiff_t)y * look->across + x] = sum;
        }
    for (int y = 0; y < look->down; y++)
        for (int x = 0; x < look->across; x++) {
            const double *from = look->half + (ptrdiff_t)y * look->across + x;
            double sum = 0.0;

            for (int i = 0; i < BLOCK; i++)
                sum += down[i] * from[(ptrdiff_t)i * look->across];
            look->wave[(ptrdiff_t)y * look->across + x] = sum;
        }
}

static double
wave_sd(const struct look *look)
{
    double sum = 0.0, count = (double)look->across * look->down;

    for (ptrdiff_t i = 0; i < (ptrdiff_t)look->across * look->down; i++)
        sum += look->wave[i] * look->wave[i];
    return sqrt(sum / count);
}

/* Fills the histogram of one grid; returns how many blocks it has. */
static int
fill_histogram(struct look *look, int grid_x, int grid_y)
{
    int count = 0;

    memset(look->histogram, 0, BINS * sizeof *look->histogram);
    for (int y = grid_y; y < look->down; y += BLOCK)
        for (int x = grid_x; x < look->across; x += BLOCK) {
            double at = look->wave[(ptrdiff_t)y * look->across + x] * BINS / SPAN;

            at = fmin(fmax(at, -1e6), 1e6);
            look->histogram[(int)floor(at + 0.5) & (BINS - 1)] += 1.0;
            count++;
        }
    return count;
}

/* T39: the strongest period of one wave on one grid, as power over that of chance. */
static double
strongest(struct look *look, int grid_x, int grid_y, int from, int to)
{
    int count = fill_histogram(look, grid_x, grid_y);
    double most = 0.0;

    fftw_execute(look->plan);
    for (int k = from; k <= to; k++) {
        double re = look->turned[k][0], im = look->turned[k][1];

        most = fmax(most, (re * re + im * im) / count);
    }
    return most;
}

static int
modulo(int value)
{
    return ((value % BLOCK) + BLOCK) % BLOCK;
}

static void
add_wave(struct look *look, double score[QS_DCT_GRIDS])
{
    double sd = wave_sd(look);
    int from = sd > 0.0 ? (int)ceil(LEAST_SD / sd * SPAN) : SPAN;
    int to = (int)(SPAN / LEAST_STEP);

    for (int y = 0; from <= to && y < BLOCK; y++)
        for (int x = 0; x < BLOCK; x++)
            score[modulo(look->frame_y + y) * BLOCK + modulo(look->frame_x + x)] +=
                strongest(look, x, y, from, to);
}

/* In sd of the other grids, without the best one. */
static bool
set_scale(double score[QS_DCT_GRIDS])
{
    double sum = 0.0, squares = 0.0, n = QS_DCT_GRIDS - 1, mean, sd;
    int best = 0;

    for (int i = 1; i < QS_DCT_GRIDS; i++)
        if (score[i] > score[best])
            best = i;
    for (int i = 0; i < QS_DCT_GRIDS; i++)
        if (i != best) {
            sum += score[i];
            squares += score[i] * score[i];
        }
    mean = sum / n;
    sd = sqrt(fmax(squares / n - mean * mean, 0.0));
    for (int i = 0; sd > 0.0 && i < QS_DCT_GRIDS; i++)
        score[i] = (score[i] - mean) / sd;
    return sd > 0.0;
}

static enum qs_status
look_init(struct look *look, const struct qs_plane *plane, struct qs_error *err)
{
    size_t pixels;

    look->width = plane->width < MOST_PX ? plane->width : MOST_PX;
    look->height = plane->height < MOST_PX ? plane->height : MOST_PX;
    look->across = look->width - BLOCK + 1;
    look->down = look->height - BLOCK + 1;
    pixels = (size_t)look->width * (size_t)look->height;
    look->luma = qs_alloc(pixels, sizeof(double));
    look->half = qs_alloc(pixels, sizeof(double));
    look->wave = qs_alloc(pixels, sizeof(double));
    look->histogram = qs_alloc(BINS, sizeof(double));
    look->turned = qs_alloc(BINS / 2 + 1, sizeof(fftw_complex));
    if (look->luma == NULL || look->half == NULL || look->wave == NULL ||
        look->histogram == NULL || look->turned == NULL)
        return qs_fail_memory(err);
    qs_fft_lock();
    look->plan =
        fftw_plan_dft_r2c_1d(BINS, look->histogram, look->turned, FFTW_ESTIMATE);
    qs_fft_unlock();
    return look->plan == NULL ? qs_fail_memory(err) : QS_OK;
}

static void
look_clear(struct look *look)
{
    if (look->plan != NULL) {
        qs_fft_lock();
        fftw_destroy_plan(look->plan);
        qs_fft_unlock();
    }
    qs_free(look->luma);
    qs_free(look->half);
    qs_free(look->wave);
    qs_free(look->histogram);
    qs_free(look->turned);
}

enum qs_status
qs_dct_steps_look(const struct qs_plane *planes, int channels, int frame_x, int frame_y,
                  struct qs_dct_steps *out, struct qs_error *err)
{
    struct look look = {.frame_x = frame_x, .frame_y = frame_y};
    enum qs_status status;

    *out = (struct qs_dct_steps){.known = false};
    if (planes[0].width < QS_DCT_LEAST_PX || planes[0].height < QS_DCT_LEAST_PX)
        return QS_OK;
    status = look_init(&look, &planes[0], err);
    if (status == QS_OK) {
        fill_luma(planes, channels, &look);
        for (int i = 0; i < WAVES; i++) {
            transform(&look, waves[i].u, waves[i].v);
            add_wave(&look, out->score);
        }
        out->known = set_scale(out->score);
    }
    look_clear(&look);
    return status;
}

/* T40: patches share their grid, if there is one. */
void
qs_dct_steps_judge(const struct qs_dct_steps *const *steps, int count,
                   struct qs_dct_answer *out)
{
    double score[QS_DCT_GRIDS] = {0.0};
    int known = 0, best = 0;

    *out = (struct qs_dct_answer){.seen = false};
    for (int p = 0; p < count; p++) {
        known += steps[p]->known;
        for (int i = 0; steps[p]->known && i < QS_DCT_GRIDS; i++)
            score[i] += steps[p]->score[i];
    }
    if (known == 0)
        return;
    for (int i = 1; i < QS_DCT_GRIDS; i++)
        if (score[i] > score[best])
            best = i;
    out->x = best % BLOCK;
    out->y = best / BLOCK;
    out->sure = score[best] / sqrt(known);
    out->seen = out->sure > SURE;
}
