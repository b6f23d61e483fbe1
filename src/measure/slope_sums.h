/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * slope_sums.h - small shifts, from a difference that follows the slopes
 *
 * Where b shows what a shows, shifted by s, b - a is - s times the slope.  Sums over
 * the values of a tile are all that is kept.  A change of the tile's brightness
 * (a constant, and a share of the picture) is allowed for.
 *
 * Units: values of the planes given, as pixels; positive is right and down.
 * Threads: results depend on the arguments alone.
 * Method: docs/method/repeats.md, equations R19 and R20.
 */
#ifndef QS_MEASURE_SLOPE_SUMS_H
#define QS_MEASURE_SLOPE_SUMS_H

/* Sums of products of: 1, the mean m, its slopes in x and y, the difference d. */
struct qs_slope_sums {
    double count;
    double m, x, y, d;
    double mm, mx, my, md;
    double xx, xy, xd;
    double yy, yd;
    double dd;
    double slopes_d; /* squares of the difference's own slopes, both ways */
};

/* Rows of two frames, `stride` values each, one after the other. */
struct qs_slope_strip {
    const float *mean; /* of all frames */
    const float *a;
    const float *b;
    const unsigned char *blind; /* not 0 where nothing is known */
    int stride;
    int rows;
};

/*
 * Adds `side` columns of a strip from column `left` on; rim rows and columns are left
 * out, and places that are blind or have a blind neighbour.
 */
void
qs_slope_sums_add(struct qs_slope_sums *sums, const struct qs_slope_strip *strip,
                  int left, int side);

struct qs_slope {
    double x; /* shift of b against a, along the slopes that there are */
    double y;
    double sure; /* chi-square with up to 2 degrees of freedom; 0 = nothing is seen */
    double explained; /* of one tile: share of d's variance that goes with the shift */
};

/* How far the differences of two still frames may follow the slopes by chance. */
struct qs_slope_chance {
    int frames;    /* that went into `mean` */
    double linked; /* >= 1: sum of the noise's correlations, 1 for independent values */
    double lines; /* variance that columns of noise, common to a tile's rows, bring to a
                     slope's product at most */
};

/* The shift of one tile. */
void
qs_slope_sums_solve(const struct qs_slope_sums *sums,
                    const struct qs_slope_chance *chance, struct qs_slope *out);

/* One shift for `count` tiles together. */
void
qs_slope_sums_pool(const struct qs_slope_sums *tiles, int count,
                   const struct qs_slope_chance *chance, struct qs_slope *out);

/* Mean variance of the difference in the tiles, shifts aside. */
double
qs_slope_sums_variance(const struct qs_slope_sums *tiles, int count, int frames);

#endif
