/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "resample/quads.h"

#include <stddef.h>

#include "base/processor.h"

enum {
    AT_ONCE = 4 /* rows that are added in one go: fewer trips to memory */
};

/* A piece of all rows, `values` floats from `from` on. */
struct piece {
    const float *const *rows;
    int from, values;
};

QS_CLONES_AVX2 static void
add_four(const struct piece *piece, int first, const float *weight, float *restrict out)
{
    const float *const *rows = piece->rows + first;
    const float *a = rows[0] + piece->from, *b = rows[1] + piece->from,
                *c = rows[2] + piece->from, *d = rows[3] + piece->from;
    const float wa = weight[0], wb = weight[1], wc = weight[2], wd = weight[3];

    for (int i = 0; i < piece->values; i++)
        out[i] = (((out[i] + wa * a[i]) + wb * b[i]) + wc * c[i]) + wd * d[i];
}

QS_CLONES_AVX2 static void
start_four(const struct piece *piece, const float *weight, float *restrict out)
{
    const float *const *rows = piece->rows;
    const float *a = rows[0] + piece->from, *b = rows[1] + piece->from,
                *c = rows[2] + piece->from, *d = rows[3] + piece->from;
    const float wa = weight[0], wb = weight[1], wc = weight[2], wd = weight[3];

    for (int i = 0; i < piece->values; i++)
        out[i] = ((wa * a[i] + wb * b[i]) + wc * c[i]) + wd * d[i];
}

QS_CLONES_AVX2 static void
add_one(const struct piece *piece, int first, float weight, float *restrict out)
{
    const float *row = piece->rows[first] + piece->from;

    for (int i = 0; i < piece->values; i++)
        out[i] += weight * row[i];
}

QS_CLONES_AVX2 static void
start_one(const struct piece *piece, float weight, float *restrict out)
{
    const float *row = piece->rows[0] + piece->from;

    for (int i = 0; i < piece->values; i++)
        out[i] = weight * row[i];
}

/* Floats that stay in the nearest cache while all rows are added. */
enum {
    PIECE = 1024
};

static void
down_piece(const struct piece *piece, const float *weight, int taps, float *out)
{
    int k;

    if (taps >= AT_ONCE) {
        start_four(piece, weight, out);
        k = AT_ONCE;
    } else {
        start_one(piece, weight[0], out);
        k = 1;
    }
    for (; k + AT_ONCE <= taps; k += AT_ONCE)
        add_four(piece, k, weight + k, out);
    for (; k < taps; k++)
        add_one(piece, k, weight[k], out);
}

void
qs_quads_down(const float *const *rows, const float *weight, int taps, int values,
              float *out)
{
    for (int from = 0; from < values; from += PIECE) {
        const int count = values - from < PIECE ? values - from : PIECE;
        const struct piece piece = {rows, from, count};

        down_piece(&piece, weight, taps, out + from);
    }
}

void
qs_quads_add(const float *row, float weight, int values, bool starts, float *out)
{
    const struct piece whole = {&row, 0, values};

    if (starts)
        start_one(&whole, weight, out);
    else
        add_one(&whole, 0, weight, out);
}

/* Two pixels as one value, where the compiler knows such; elsewhere one by one. */
#if defined(__has_builtin)
#if __has_builtin(__builtin_shufflevector)
#define QS_HAVE_TWO_QUADS
#endif
#endif

#ifdef QS_HAVE_TWO_QUADS
typedef float quad __attribute__((vector_size(16), aligned(4), may_alias));
typedef float two_quads __attribute__((vector_size(32), aligned(4), may_alias));

static inline quad
load(const float *from)
{
    return *(const quad *)(const void *)from;
}

/* One delivered pixel, four taps in one go. */
static inline void
across_one(const float *from, const float *weight, int taps, float *out)
{
    two_quads sum = {0.0f};
    quad one;
    int n = 0;

    for (; n + 4 <= taps; n += 4, from += 16) {
        const quad w = load(weight + n);

        sum += __builtin_shufflevector(w, w, 0, 0, 0, 0, 1, 1, 1, 1) *
               *(const two_quads *)(const void *)from;
        sum += __builtin_shufflevector(w, w, 2, 2, 2, 2, 3, 3, 3, 3) *
               *(const two_quads *)(const void *)(from + 8);
    }
    one = __builtin_shufflevector(sum, sum, 0, 1, 2, 3) +
          __builtin_shufflevector(sum, sum, 4, 5, 6, 7);
    for (; n < taps; n++, from += 4)
        one += weight[n] * load(from);
    *(quad *)(void *)out = one;
}
#else
static inline void
across_one(const float *from, const float *weight, int taps, float *out)
{
    for (int c = 0; c < 4; c++) {
        out[c] = 0.0f;
        for (int n = 0; n < taps; n++)
            out[c] += weight[n] * from[4 * n + c];
    }
}
#endif

/* Each pixel is written as a quad; the next one is written over what does not go on. */
QS_CLONES_AVX2 static void
across_close(const float *row, const struct qs_weights *across, int step, float *out)
{
    for (int i = 0; i < across->out; i++)
        across_one(row + (ptrdiff_t)4 * across->first[i],
                   across->weight + (ptrdiff_t)i * across->taps, across->count[i],
                   out + (ptrdiff_t)step * i);
}

void
qs_quads_across(const float *row, const struct qs_weights *across,
                enum qs_quad_part part, float *out)
{
    if (part != QS_QUAD_ENDS) {
        across_close(row, across, (int)part, out);
        return;
    }
    for (int i = 0; i < across->out; i++) {
        float whole[4];

        across_one(row + (ptrdiff_t)4 * across->first[i],
                   across->weight + (ptrdiff_t)i * across->taps, across->count[i],
                   whole);
        out[2 * i] = whole[0];
        out[2 * i + 1] = whole[3];
    }
}
