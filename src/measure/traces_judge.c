/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the patches of one frame say together of smoothing and sharpening.
 */
#include "measure/traces_sites.h"

#include <math.h>

/*
 * T12: the limits.  A real sensor's neighbours share a little (light that spills over,
 * readout): a few per cent each.  SMOOTHEST is 0.326 at most for bilinear and
 * gradient-corrected demosaicing whatever the colour matrix (T11); the rest of the way
 * is left to kinds not computed.
 */
static const double MISFIT = 0.05;
static const double NEAR_ABOVE = 0.15;
static const double NEAR_BELOW = 0.08; /* nothing in a sensor makes it negative */
static const double SURE_NEAR = 4.5;   /* sd; one number, not the worst of many */
static const double SMOOTHEST = 0.42;
static const double ROUGHEST = 0.13; /* 0.167 at least for the same kinds */
static const double MOSAIC = 0.02;   /* weakest that counts as demosaiced */
static const double SURE = 6.0;      /* sd beyond chance */

/* Blotches are not taken off wholly: about this share of them stays in what is left. */
static const double BLOTCH_LEAVES = 0.25;

/* Those left in wholly show at several lags. */
static const double SLOW_LEAVES = 1.5;

/*
 * Noise of photosites has a part that is independent from one to the next, in colour as
 * in brightness.  Where two of three mixtures are all but blotches, and the third is
 * not, the colours were smoothed over many pixels: a Gaussian of sd s leaves 1 / (4 pi
 * s^2) of what was independent, 1 % at 3 px.  (Blotches are found less surely in the
 * second mixture, which chance makes the weaker one.)  Stains of the scene would need
 * thrice the variance of the noise, in two colours, and no brightness of their own.
 */
static const double COLOURS_BLOTCHED = 0.75;
static const double BRIGHTNESS_NOT = 0.25;

/* Sums over patches, each weighted by its pixels. */
struct pool {
    double pixels;
    double mosaic, mosaic_var;
    struct qs_site_misfit plain, fit[QS_MOSAIC]; /* unsure, near_sd: squares of them */
    double smoothest, blotch, slow;
    double soft; /* share of pixels in patches with smoothed colours */
    bool thirds, grey;
};

static void
add_misfit(struct qs_site_misfit *to, const struct qs_site_misfit *from, double weight)
{
    to->excess += weight * from->excess;
    to->near += weight * from->near;
    to->unsure += weight * weight * from->unsure * from->unsure;
    to->near_sd += weight * weight * from->near_sd * from->near_sd;
}

static bool
has_soft_colours(const struct qs_sites *s)
{
    return s->smoothest > SMOOTHEST + SURE / sqrt(s->pixels) ||
           (s->blotch_second > COLOURS_BLOTCHED && s->blotch_least < BRIGHTNESS_NOT);
}

static void
add_patch(struct pool *pool, const struct qs_sites *s, double weight)
{
    pool->mosaic += weight * s->mosaic;
    pool->mosaic_var += weight * weight * s->mosaic_sd * s->mosaic_sd;
    pool->smoothest += weight * s->smoothest;
    pool->blotch += weight * s->blotch;
    pool->soft += has_soft_colours(s) ? weight : 0.0;
    pool->slow += weight * s->slow;
    pool->thirds |= s->thirds;
    pool->grey |= s->colours != 3;
    add_misfit(&pool->plain, &s->as_plain, weight);
    for (int red = 0; red < QS_MOSAIC; red++)
        add_misfit(&pool->fit[red], &s->as_mosaic[red], weight);
}

static struct pool
pool_up(const struct qs_sites *sites, int count)
{
    struct pool pool = {.pixels = 0.0};

    for (int i = 0; i < count; i++)
        if (sites[i].known)
            pool.pixels += sites[i].pixels;
    for (int i = 0; i < count; i++)
        if (sites[i].known)
            add_patch(&pool, &sites[i], sites[i].pixels / pool.pixels);
    return pool;
}

/* The misfit that counts: without a mosaic, or with red where it fits best. */
static const struct qs_site_misfit *
choose(const struct pool *pool, bool mosaic)
{
    const struct qs_site_misfit *best = &pool->fit[0];

    if (!mosaic)
        return &pool->plain;
    for (int red = 1; red < QS_MOSAIC; red++)
        if (pool->fit[red].excess < best->excess)
            best = &pool->fit[red];
    return best;
}

static bool
is_filtered(const struct qs_site_misfit *m, double misfit_limit, double leaves)
{
    double near_limit = (m->near < 0.0 ? NEAR_BELOW : NEAR_ABOVE) + 3.0 * leaves;

    if (m->excess > SURE * sqrt(m->unsure) && m->excess > misfit_limit * misfit_limit)
        return true;
    return fabs(m->near) > SURE_NEAR * sqrt(m->near_sd) && fabs(m->near) > near_limit;
}

/*
 * Which way: sharpening makes neighbours differ; after it the smoothest mixture is
 * rougher than any that demosaicing leaves.
 */
static bool
is_sharp(const struct qs_sites_answer *answer)
{
    return answer->near < 0.0 || (answer->mosaic && answer->smoothest < ROUGHEST);
}

void
qs_sites_judge(const struct qs_sites *sites, int count, struct qs_sites_answer *out)
{
    struct pool pool = pool_up(sites, count);
    double leaves = BLOTCH_LEAVES * pool.blotch / fmax(1.0 - pool.blotch, 0.01) +
                    SLOW_LEAVES * fmax(pool.slow, 0.0);
    const struct qs_site_misfit *misfit;

    *out = (struct qs_sites_answer){.misfit_limit = MISFIT + leaves,
                                    .smoothest_limit = SMOOTHEST + fmin(leaves, 0.2)};
    if (pool.pixels <= 0.0)
        return;
    out->mosaic = pool.mosaic > MOSAIC && pool.mosaic > SURE * sqrt(pool.mosaic_var);
    misfit = choose(&pool, out->mosaic);
    out->misfit = sqrt(fmax(misfit->excess, 0.0));
    out->near = misfit->near;
    out->smoothest = pool.smoothest;
    out->filtering = QS_FILTERED_NOT;
    if (out->smoothest > out->smoothest_limit + SURE / sqrt(pool.pixels) ||
        pool.soft > 0.5)
        out->filtering = QS_FILTERED_SMOOTH;
    else if (pool.thirds || (out->mosaic && pool.grey))
        out->filtering = QS_FILTERED_UNKNOWN;
    else if (is_filtered(misfit, out->misfit_limit, leaves))
        out->filtering = is_sharp(out) ? QS_FILTERED_SHARP : QS_FILTERED_SMOOTH;
}
