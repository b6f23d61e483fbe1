/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/slope_sums.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* Neighbouring differences hang together a little wherever colours were put together
 * from a mosaic: their sums scatter at least that much more. */
static const double LEAST_LINKED = 2.0;

/* Slopes say something of a shift where at least this share of them is no noise. */
static const double LEAST_CLEAN = 0.3;

/* Slope of b - a between two places, two steps apart. */
static double
difference_at(const struct qs_slope_strip *strip, ptrdiff_t to, ptrdiff_t from)
{
    return 0.5 * (((double)strip->b[to] - strip->a[to]) -
                  ((double)strip->b[from] - strip->a[from]));
}

static void
add_place(struct qs_slope_sums *sums, const struct qs_slope_strip *strip, ptrdiff_t at)
{
    const float *mean = strip->mean;
    ptrdiff_t stride = strip->stride;
    double right = difference_at(strip, at + 1, at - 1);
    double down = difference_at(strip, at + stride, at - stride);
    double m = mean[at], d = (double)strip->b[at] - strip->a[at];
    double x = 0.5 * ((double)mean[at + 1] - mean[at - 1]);
    double y = 0.5 * ((double)mean[at + stride] - mean[at - stride]);

    sums->count += 1.0;
    sums->m += m;
    sums->x += x;
    sums->y += y;
    sums->d += d;
    sums->mm += m * m;
    sums->mx += m * x;
    sums->my += m * y;
    sums->md += m * d;
    sums->xx += x * x;
    sums->xy += x * y;
    sums->xd += x * d;
    sums->yy += y * y;
    sums->yd += y * d;
    sums->dd += d * d;
    sums->slopes_d += right * right + down * down;
}

void
qs_slope_sums_add(struct qs_slope_sums *sums, const struct qs_slope_strip *strip,
                  int left, int side)
{
    int stride = strip->stride;

    for (int row = 1; row < strip->rows - 1; row++)
        for (int column = left + 1; column < left + side - 1; column++) {
            ptrdiff_t at = (ptrdiff_t)row * stride + column;
            const unsigned char *blind = strip->blind + at;

            if ((blind[0] | blind[1] | blind[-1] | blind[stride] | blind[-stride]) == 0)
                add_place(sums, strip, at);
        }
}

/* What is left of slopes and difference once constant and brightness are taken off. */
struct normal {
    bool usable;
    double xx, xy, yy; /* slopes */
    double xd, yd;
    double dd;
    double variance; /* of the difference, less what the slopes explain */
    double noise;    /* part of xx and of yy that is the mean's own noise */
};

/* Sum of products about the means. */
static double
about(double product, double a, double b, double count)
{
    return product - a * b / count;
}

/* Share of the difference that the slopes explain: b' A^-1 b. */
static double
explained(const struct normal *n)
{
    double det = n->xx * n->yy - n->xy * n->xy;

    if (det > 1e-9 * n->xx * n->yy)
        return (n->yy * n->xd * n->xd - 2.0 * n->xy * n->xd * n->yd +
                n->xx * n->yd * n->yd) /
               det;
    return n->xx + n->yy > 0.0 ? (n->xd * n->xd + n->yd * n->yd) / (n->xx + n->yy)
                               : 0.0;
}

static struct normal
normal_of(const struct qs_slope_sums *s, int frames)
{
    struct normal n = {.usable = s->count > 16.0};
    double mm, mx, my, md;

    if (!n.usable)
        return n;
    mm = about(s->mm, s->m, s->m, s->count);
    mx = about(s->mx, s->m, s->x, s->count);
    my = about(s->my, s->m, s->y, s->count);
    md = about(s->md, s->m, s->d, s->count);
    n.usable = mm > 0.0;
    if (!n.usable)
        return n;
    n.xx = about(s->xx, s->x, s->x, s->count) - mx * mx / mm;
    n.xy = about(s->xy, s->x, s->y, s->count) - mx * my / mm;
    n.yy = about(s->yy, s->y, s->y, s->count) - my * my / mm;
    n.xd = about(s->xd, s->x, s->d, s->count) - mx * md / mm;
    n.yd = about(s->yd, s->y, s->d, s->count) - my * md / mm;
    n.dd = about(s->dd, s->d, s->d, s->count) - md * md / mm;
    n.variance = (n.dd - explained(&n)) / (s->count - 4.0);
    n.usable = n.variance > 0.0 && n.xx > 0.0 && n.yy > 0.0;
    /* d has twice a frame's noise, the mean 1 / frames of it: seen in d's own slopes,
       which a shift makes larger, but never more than independent values have */
    n.noise =
        fmin(s->slopes_d / (4.0 * frames), s->count * n.variance / (4.0 * frames));
    return n;
}

/* One direction in which slopes may lie: the sums along it. */
struct direction {
    double x, y;
    double slopes;
    double product; /* of slopes and difference */
};

/* The two directions, across each other, whose slopes have nothing in common. */
static void
directions_of(const struct normal *n, struct direction out[2])
{
    double angle = 0.5 * atan2(2.0 * n->xy, n->xx - n->yy);
    double c = cos(angle), s = sin(angle);

    out[0] = (struct direction){.x = c, .y = s};
    out[1] = (struct direction){.x = -s, .y = c};
    for (int i = 0; i < 2; i++) {
        double x = out[i].x, y = out[i].y;

        out[i].slopes = n->xx * x * x + 2.0 * n->xy * x * y + n->yy * y * y;
        out[i].product = n->xd * x + n->yd * y;
    }
}

/*
 * R20: adds what one direction says of the shift, where its slopes stand out of the
 * noise; `spread` is the variance of the product.
 */
static void
add_direction(const struct direction *along, double noise, double spread,
              struct qs_slope *out)
{
    double clean = along->slopes - noise;
    double shift;

    if (clean < LEAST_CLEAN * along->slopes || spread <= 0.0)
        return;
    shift = -along->product / clean;
    out->x += shift * along->x;
    out->y += shift * along->y;
    out->sure += along->product * along->product / spread;
}

/* Variance of a slope's product, for slopes of 1. */
static double
spread_of(const struct normal *n, const struct qs_slope_chance *chance)
{
    return fmax(LEAST_LINKED, chance->linked) * n->variance + chance->lines;
}

void
qs_slope_sums_solve(const struct qs_slope_sums *sums,
                    const struct qs_slope_chance *chance, struct qs_slope *out)
{
    struct normal n = normal_of(sums, chance->frames);
    struct direction directions[2];

    *out = (struct qs_slope){0};
    if (!n.usable)
        return;
    directions_of(&n, directions);
    for (int i = 0; i < 2; i++)
        add_direction(&directions[i], n.noise,
                      spread_of(&n, chance) * directions[i].slopes, out);
    out->explained = explained(&n) / n.dd;
}

/* Sums over tiles, each weighted by 1 / its variance. */
static struct normal
pool_up(const struct qs_slope_sums *tiles, int count,
        const struct qs_slope_chance *chance)
{
    struct normal sum = {0};

    for (int t = 0; t < count; t++) {
        struct normal n = normal_of(&tiles[t], chance->frames);
        double weight = n.usable ? 1.0 / spread_of(&n, chance) : 0.0;

        if (!n.usable)
            continue;
        sum.xx += n.xx * weight;
        sum.xy += n.xy * weight;
        sum.yy += n.yy * weight;
        sum.xd += n.xd * weight;
        sum.yd += n.yd * weight;
        sum.noise += n.noise * weight;
    }
    return sum;
}

/* Variance of the product along a direction by how the tiles scatter about the shift.
 */
static double
scatter_of(const struct qs_slope_sums *tiles, int count,
           const struct qs_slope_chance *chance, const struct direction *along,
           double noise)
{
    double shift = -along->product / fmax(along->slopes - noise, 1e-30);
    double scatter = 0.0;

    for (int t = 0; t < count; t++) {
        struct normal n = normal_of(&tiles[t], chance->frames);
        double x = along->x, y = along->y, off;

        if (!n.usable)
            continue;
        off = (n.xd * x + n.yd * y) +
              (n.xx * x * x + 2.0 * n.xy * x * y + n.yy * y * y - n.noise) * shift;
        off /= spread_of(&n, chance);
        scatter += off * off;
    }
    return scatter;
}

void
qs_slope_sums_pool(const struct qs_slope_sums *tiles, int count,
                   const struct qs_slope_chance *chance, struct qs_slope *out)
{
    struct normal sum = pool_up(tiles, count, chance);
    struct direction directions[2];

    *out = (struct qs_slope){0};
    directions_of(&sum, directions);
    for (int i = 0; i < 2; i++) {
        double scatter = scatter_of(tiles, count, chance, &directions[i], sum.noise);

        /* the weights hold the variance: that of the product is the sum of slopes */
        add_direction(&directions[i], sum.noise, fmax(scatter, directions[i].slopes),
                      out);
    }
}

double
qs_slope_sums_variance(const struct qs_slope_sums *tiles, int count, int frames)
{
    double sum = 0.0;
    int used = 0;

    for (int t = 0; t < count; t++) {
        struct normal n = normal_of(&tiles[t], frames);

        if (!n.usable)
            continue;
        sum += n.variance;
        used++;
    }
    return used > 0 ? sum / used : 0.0;
}
