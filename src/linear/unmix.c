/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/unmix.h"

#include <math.h>
#include <stddef.h>

#include "base/memory.h"
#include "linear/encode.h"
#include "linear/matrix3.h"

enum {
    CHUNK_PX = 128,
    GREYS = 1024,    /* steps of the guess */
    ROUNDS_MOST = 40 /* of evaluations; 5 are usual */
};

static const double TOP = 65535.0;

/* A step below this ends the search: a thirtieth of a code. */
static const double STEP_LEAST = 0.5e-6;

/* No step is longer: curves bend. */
static const double STEP_MOST = 0.25;

/* Differences for slopes: small against the cells of a table, large against what
   floats can tell. */
static const float SLOPE_STEP = 1.0f / 2048.0f;

/* A column of slopes below this: the channel does nothing here. */
static const double SLOPE_LEAST = 1e-7;

struct qs_unmix {
    const struct qs_linear *linear;
    float grey[3][GREYS + 1]; /* light of each channel over equal fractions, rising */
};

/* One pixel on its way. */
struct seeker {
    double goal[3];
    double best[3];            /* fractions that come closest so far */
    double left[3];            /* goal less the light of `best` */
    double error;              /* the longest of these */
    double step[3];            /* from best to what is tried next */
    struct qs_matrix3 to_step; /* of light */
    bool is_done;
};

static void
light_at(const struct qs_unmix *unmix, float at[3][CHUNK_PX], int count,
         float light[3][CHUNK_PX])
{
    const float *const in[3] = {at[0], at[1], at[2]};
    float *const out[3] = {light[0], light[1], light[2]};

    qs_linear_from_fractions(unmix->linear, in, count, out);
}

/* The grey whose channel c has this light. */
static double
guess(const float *grey, double light)
{
    int low = 0, high = GREYS;
    double share;

    while (high - low > 1) {
        int middle = (low + high) / 2;

        if ((double)grey[middle] < light)
            low = middle;
        else
            high = middle;
    }
    share = (light - (double)grey[low]) / (double)(grey[high] - grey[low]);
    if (!(share > 0.0))
        share = 0.0;
    return (low + fmin(share, 1.0)) / GREYS;
}

/* Columns are brought to one length first: in shadows one channel may give a
   thousandth of another's light. */
static void
invert_slopes(const double slopes[3][3], struct qs_matrix3 *to_step)
{
    struct qs_matrix3 columns;
    double length[3];

    for (int c = 0; c < 3; c++) {
        length[c] = sqrt(slopes[0][c] * slopes[0][c] + slopes[1][c] * slopes[1][c] +
                         slopes[2][c] * slopes[2][c]);
        for (int i = 0; i < 3; i++)
            columns.at[i][c] = length[c] > SLOPE_LEAST ? slopes[i][c] / length[c]
                                                       : (i == c ? 1.0 : 0.0);
    }
    if (!qs_matrix3_invert(&columns, to_step)) { /* channels that do the same */
        const struct qs_matrix3 each_its_own = {
            {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}}};

        *to_step = each_its_own;
    }
    for (int c = 0; c < 3; c++)
        for (int i = 0; i < 3; i++)
            to_step->at[c][i] =
                length[c] > SLOPE_LEAST ? to_step->at[c][i] / length[c] : 0.0;
}

static double
longest(const double v[3])
{
    return fmax(fabs(v[0]), fmax(fabs(v[1]), fabs(v[2])));
}

static void
take_step(struct seeker *seeker)
{
    double length;

    qs_matrix3_apply(&seeker->to_step, seeker->left, seeker->step);
    length = longest(seeker->step);
    if (length > STEP_MOST)
        for (int c = 0; c < 3; c++)
            seeker->step[c] *= STEP_MOST / length;
    seeker->is_done = !(length > STEP_LEAST);
}

/* Slopes at the best place of each seeker, and the step they ask for. */
static void
find_slopes(const struct qs_unmix *unmix, struct seeker **seekers, int count)
{
    float at[3][CHUNK_PX], light[3][CHUNK_PX];
    static const int inward[2] = {1, -1};
    double slopes[CHUNK_PX][3][3];

    for (int c = 0; c < 3; c++) {
        for (int i = 0; i < count; i++) {
            for (int j = 0; j < 3; j++)
                at[j][i] = (float)seekers[i]->best[j];
            at[c][i] += SLOPE_STEP * (float)inward[at[c][i] > 0.5f];
        }
        light_at(unmix, at, count, light);
        for (int i = 0; i < count; i++)
            for (int j = 0; j < 3; j++) {
                double moved = (double)at[c][i] - seekers[i]->best[c];
                double before = seekers[i]->goal[j] - seekers[i]->left[j];

                slopes[i][j][c] = ((double)light[j][i] - before) / moved;
            }
    }
    for (int i = 0; i < count; i++) {
        invert_slopes(slopes[i], &seekers[i]->to_step);
        take_step(seekers[i]);
    }
}

/* Tries each seeker's step.  One that gets no closer goes half as far the next time;
   one that does goes on by the same slopes. */
static void
try_steps(const struct qs_unmix *unmix, struct seeker **seekers, int count)
{
    float at[3][CHUNK_PX], light[3][CHUNK_PX];

    for (int i = 0; i < count; i++)
        for (int j = 0; j < 3; j++)
            at[j][i] = (float)(seekers[i]->best[j] + seekers[i]->step[j]);
    light_at(unmix, at, count, light);
    for (int i = 0; i < count; i++) {
        struct seeker *own = seekers[i];
        double left[3], error;

        for (int j = 0; j < 3; j++)
            left[j] = own->goal[j] - (double)light[j][i];
        error = longest(left);
        if (error < own->error) {
            for (int j = 0; j < 3; j++) {
                own->best[j] = (double)at[j][i];
                own->left[j] = left[j];
            }
            own->error = error;
            take_step(own);
        } else {
            for (int j = 0; j < 3; j++)
                own->step[j] *= 0.5;
            own->is_done = !(longest(own->step) > STEP_LEAST);
        }
    }
}

static void
start(const struct qs_unmix *unmix, const float *light, int stride,
      struct seeker *seekers, int count)
{
    float at[3][CHUNK_PX], found[3][CHUNK_PX];

    for (int i = 0; i < count; i++)
        for (int c = 0; c < 3; c++) {
            seekers[i].goal[c] = (double)light[stride * i + c];
            at[c][i] = (float)guess(unmix->grey[c], seekers[i].goal[c]);
            seekers[i].best[c] = (double)at[c][i];
        }
    light_at(unmix, at, count, found);
    for (int i = 0; i < count; i++) {
        for (int c = 0; c < 3; c++)
            seekers[i].left[c] = seekers[i].goal[c] - (double)found[c][i];
        seekers[i].error = longest(seekers[i].left);
        seekers[i].is_done = !(seekers[i].error >= 0.0);
    }
}

/* Those that still seek. */
static int
gather(struct seeker *seekers, int count, struct seeker **into)
{
    int seeking = 0;

    for (int i = 0; i < count; i++)
        if (!seekers[i].is_done)
            into[seeking++] = &seekers[i];
    return seeking;
}

static void
unmix_chunk(const struct qs_unmix *unmix, const float *light, int count, int stride,
            float *codes)
{
    /* steps by the same slopes before they are found anew */
    enum {
        SAME_SLOPES = 3
    };
    struct seeker seekers[CHUNK_PX], *seeking[CHUNK_PX];
    int left;

    start(unmix, light, stride, seekers, count);
    left = gather(seekers, count, seeking);
    for (int round = 0; round < ROUNDS_MOST && left > 0; round++) {
        if (round % SAME_SLOPES == 0) {
            find_slopes(unmix, seeking, left);
            left = gather(seekers, count, seeking);
        }
        try_steps(unmix, seeking, left);
        left = gather(seekers, count, seeking);
    }
    for (int i = 0; i < count; i++)
        for (int c = 0; c < 3; c++)
            codes[stride * i + c] =
                (float)(TOP * fmin(fmax(seekers[i].best[c], 0.0), 1.0));
}

enum qs_status
qs_unmix_new(const struct qs_linear *linear, struct qs_unmix **out,
             struct qs_error *err)
{
    struct qs_unmix *unmix = qs_alloc(1, sizeof *unmix);

    *out = unmix;
    if (unmix == NULL)
        return qs_fail_memory(err);
    unmix->linear = linear;
    for (int first = 0; first <= GREYS; first += CHUNK_PX) {
        const int count = GREYS + 1 - first < CHUNK_PX ? GREYS + 1 - first : CHUNK_PX;
        float at[3][CHUNK_PX], light[3][CHUNK_PX];

        for (int i = 0; i < count; i++)
            at[0][i] = at[1][i] = at[2][i] = (float)(first + i) / GREYS;
        light_at(unmix, at, count, light);
        for (int c = 0; c < 3; c++)
            for (int i = 0; i < count; i++) {
                float before =
                    first + i > 0 ? unmix->grey[c][first + i - 1] : -INFINITY;

                unmix->grey[c][first + i] = fmaxf(light[c][i], before);
            }
    }
    return QS_OK;
}

void
qs_unmix_free(struct qs_unmix *unmix)
{
    qs_free(unmix);
}

void
qs_unmix(const struct qs_unmix *unmix, const float *light, int count, int stride,
         float *codes)
{
    for (int first = 0; first < count; first += CHUNK_PX) {
        const int some = count - first < CHUNK_PX ? count - first : CHUNK_PX;

        unmix_chunk(unmix, light + (ptrdiff_t)stride * first, some, stride,
                    codes + (ptrdiff_t)stride * first);
    }
}
