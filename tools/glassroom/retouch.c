/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "base/memory.h"
#include "base/random.h"
#include "frame_make.h"

/* A Gaussian cut at four sd, so that what is left out is below 1e-4 of it. */
enum {
    KERNEL_MAX = 81
};

struct kernel {
    int reach; /* taps on each side */
    float tap[KERNEL_MAX];
};

/* One channel of work, blurred along rows and then down columns. */
struct blurring {
    const struct kernel *kernel;
    int width;
    int height;
    float *from;
    float *to;
};

struct layers {
    float *work;
    float *spare;
    size_t count; /* values in each */
};

static struct kernel
gaussian(double sd_px)
{
    struct kernel k = {.reach = (int)ceil(4.0 * sd_px)};
    double weight[KERNEL_MAX], sum = 0.0;

    for (int i = 0; i <= k.reach; i++) {
        weight[i] = exp(-0.5 * (i / sd_px) * (i / sd_px));
        sum += i == 0 ? weight[i] : 2.0 * weight[i];
    }
    for (int i = 0; i <= k.reach; i++)
        k.tap[i] = (float)(weight[i] / sum);
    return k;
}

static int
held(int i, int size)
{
    return i < 0 ? 0 : i >= size ? size - 1 : i;
}

static void
blur_along(void *context, int y)
{
    const struct blurring *b = context;
    const float *in = b->from + (size_t)y * (size_t)b->width;
    float *out = b->to + (size_t)y * (size_t)b->width;

    for (int x = 0; x < b->width; x++) {
        float sum = b->kernel->tap[0] * in[x];

        for (int i = 1; i <= b->kernel->reach; i++)
            sum += b->kernel->tap[i] *
                   (in[held(x - i, b->width)] + in[held(x + i, b->width)]);
        out[x] = sum;
    }
}

static void
blur_down(void *context, int y)
{
    const struct blurring *b = context;
    size_t width = (size_t)b->width;
    const float *in = b->from + (size_t)y * width;
    float *out = b->to + (size_t)y * width;

    for (size_t x = 0; x < width; x++)
        out[x] = b->kernel->tap[0] * in[x];
    for (int i = 1; i <= b->kernel->reach; i++) {
        const float *over = b->from + (size_t)held(y - i, b->height) * width;
        const float *under = b->from + (size_t)held(y + i, b->height) * width;

        for (size_t x = 0; x < width; x++)
            out[x] += b->kernel->tap[i] * (over[x] + under[x]);
    }
}

/* Blurs layers->work in place. */
static void
blur(struct qs_pool *pool, const struct gr_picture *p, struct layers *layers,
     double sd_px)
{
    struct kernel kernel = gaussian(sd_px);
    struct blurring b = {&kernel, p->width, p->height, layers->work, layers->spare};

    qs_pool_run(pool, p->height, blur_along, &b);
    b.from = layers->spare;
    b.to = layers->work;
    qs_pool_run(pool, p->height, blur_down, &b);
}

static float
luma_of(const float *px, int channels)
{
    if (channels == 1)
        return px[0];
    return (float)gr_luma((struct gr_rgb){px[0], px[1], px[2]});
}

static void
load_luma(const struct gr_picture *p, struct layers *layers)
{
    for (size_t i = 0; i < layers->count; i++)
        layers->work[i] = luma_of(p->px + i * (size_t)p->channels, p->channels);
}

/* Adds `k` times (luminance - work) to every channel. */
static void
add_detail(struct gr_picture *p, const struct layers *layers, float k)
{
    for (size_t i = 0; i < layers->count; i++) {
        float *px = p->px + i * (size_t)p->channels;
        float detail = k * (luma_of(px, p->channels) - layers->work[i]);

        for (int c = 0; c < p->channels; c++)
            px[c] += detail;
    }
}

/* Blurs one colour less luminance, leaving the luminance alone. */
static void
smooth_colour(struct qs_pool *pool, struct gr_picture *p, struct layers *layers, int c,
              double sd_px, const float *luma)
{
    for (size_t i = 0; i < layers->count; i++)
        layers->work[i] = p->px[3 * i + (size_t)c] - luma[i];
    blur(pool, p, layers, sd_px);
    for (size_t i = 0; i < layers->count; i++)
        p->px[3 * i + (size_t)c] = luma[i] + layers->work[i];
}

static enum qs_status
smooth_chroma(struct qs_pool *pool, struct gr_picture *p, struct layers *layers,
              double sd_px, struct qs_error *err)
{
    float *luma = qs_alloc(layers->count, sizeof *luma);

    if (luma == NULL)
        return qs_fail_memory(err);
    for (size_t i = 0; i < layers->count; i++)
        luma[i] = luma_of(p->px + 3 * i, 3);
    for (int c = 0; c < 3; c++)
        smooth_colour(pool, p, layers, c, sd_px, luma);
    qs_free(luma);
    return QS_OK;
}

/* White noise, blurred, brought back to sd 1 by what the blur took, laid over by share.
 */
static void
lay_blotches(const struct gr_recipe *recipe, struct qs_pool *pool, struct gr_picture *p,
             struct layers *layers)
{
    struct kernel k = gaussian(recipe->retouch.blotch_px);
    double kept = (double)k.tap[0] * (double)k.tap[0];
    struct qs_random random;

    for (int i = 1; i <= k.reach; i++)
        kept += 2.0 * (double)k.tap[i] * (double)k.tap[i];
    qs_random_seed(&random, recipe->seed ^ UINT64_C(0x626c6f746368));
    for (size_t i = 0; i < layers->count; i++)
        layers->work[i] = (float)qs_random_normal(&random);
    blur(pool, p, layers, recipe->retouch.blotch_px);
    for (size_t i = 0; i < layers->count * (size_t)p->channels; i++)
        p->px[i] *= 1.0f + (float)(recipe->retouch.blotch / kept) *
                               layers->work[i / (size_t)p->channels];
}

static enum qs_status
retouch_with(const struct gr_recipe *recipe, struct qs_pool *pool, struct gr_picture *p,
             struct layers *layers, struct qs_error *err)
{
    const struct gr_retouch *t = &recipe->retouch;
    enum qs_status status = QS_OK;

    if (t->smooth_chroma_px > 0.0 && p->channels == 3)
        status = smooth_chroma(pool, p, layers, t->smooth_chroma_px, err);
    if (status != QS_OK)
        return status;
    if (t->smooth_luma_px > 0.0) {
        load_luma(p, layers);
        blur(pool, p, layers, t->smooth_luma_px);
        add_detail(p, layers, -1.0f);
    }
    if (t->sharpen > 0.0) {
        load_luma(p, layers);
        blur(pool, p, layers, t->sharpen_px);
        add_detail(p, layers, (float)t->sharpen);
    }
    if (t->blotch > 0.0)
        lay_blotches(recipe, pool, p, layers);
    return QS_OK;
}

enum qs_status
gr_retouch(const struct gr_recipe *recipe, struct qs_pool *pool,
           struct gr_picture *picture, struct qs_error *err)
{
    const struct gr_retouch *t = &recipe->retouch;
    struct layers layers = {.count = (size_t)picture->width * (size_t)picture->height};
    enum qs_status status;

    if (t->smooth_luma_px <= 0.0 && t->smooth_chroma_px <= 0.0 && t->sharpen <= 0.0 &&
        t->blotch <= 0.0)
        return QS_OK;
    layers.work = qs_alloc(layers.count, sizeof(float));
    layers.spare = qs_alloc(layers.count, sizeof(float));
    status = layers.work == NULL || layers.spare == NULL
                 ? qs_fail_memory(err)
                 : retouch_with(recipe, pool, picture, &layers, err);
    qs_free(layers.work);
    qs_free(layers.spare);
    return status;
}
