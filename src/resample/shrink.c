/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "resample/shrink.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/lanes.h"
#include "base/memory.h"

int
qs_shrink_span(const struct qs_weights *weights, int inside, int inside_length,
               int reach, int reach_length, int *first)
{
    double scale = weights->scale;
    int from = (int)ceil(inside / scale - 1e-9);
    int end = (int)floor((inside + inside_length) / scale + 1e-9);

    if (from < weights->whole_first)
        from = weights->whole_first;
    if (end > weights->whole_end)
        end = weights->whole_end;
    while (from < end && weights->first[from] < reach)
        from++;
    while (from < end &&
           weights->first[end - 1] + weights->count[end - 1] > reach + reach_length)
        end--;
    *first = from;
    return end > from ? end - from : 0;
}

/* row += weight from */
QS_CLONES static void
add_weighted(const float *from, float weight, int count, float *restrict row)
{
    for (int x = 0; x < count; x++)
        row[x] += weight * from[x];
}

/*
 * One row of the vertical pass: the weighted sum of the source rows it sees, in columns
 * from .. to - 1.
 */
static void
shrink_down(const struct qs_plane *source, int source_y, const struct qs_weights *down,
            int out_y, int from, int to, float *row)
{
    const float *weight = down->weight + (ptrdiff_t)out_y * down->taps;
    int first = down->first[out_y] - source_y;

    assert(first >= 0 && first + down->count[out_y] <= source->height);
    memset(row + from, 0, (size_t)(to - from) * sizeof *row);
    for (int n = 0; n < down->count[out_y]; n++)
        add_weighted(qs_plane_row(source, first + n) + from, weight[n], to - from,
                     row + from);
}

static void
shrink_across(const float *row, int source_x, const struct qs_weights *across,
              int out_x, int count, float *out)
{
    for (int i = 0; i < count; i++) {
        const float *weight = across->weight + (ptrdiff_t)(out_x + i) * across->taps;
        const float *from = row + across->first[out_x + i] - source_x;
        float sum = 0.0f;

        for (int n = 0; n < across->count[out_x + i]; n++)
            sum += weight[n] * from[n];
        out[i] = sum;
    }
}

enum qs_status
qs_shrink(const struct qs_plane *source, int source_x, int source_y,
          const struct qs_weights *across, const struct qs_weights *down,
          struct qs_box out_box, struct qs_plane *out, struct qs_error *err)
{
    float *row = qs_alloc((size_t)source->width, sizeof *row);
    const int last = out_box.x + out_box.width - 1;
    int from = 0, to = 0; /* columns that the delivered pixels see */

    assert(out_box.width < 1 || (across->first[out_box.x] >= source_x &&
                                 across->first[out_box.x + out_box.width - 1] +
                                         across->count[out_box.x + out_box.width - 1] <=
                                     source_x + source->width));
    if (row == NULL)
        return qs_fail_memory(err);
    if (out_box.width > 0) {
        from = across->first[out_box.x] - source_x;
        to = across->first[last] + across->count[last] - source_x;
    }
    for (int y = 0; y < out_box.height; y++) {
        shrink_down(source, source_y, down, out_box.y + y, from, to, row);
        shrink_across(row, source_x, across, out_box.x, out_box.width,
                      qs_plane_row(out, y));
    }
    qs_free(row);
    return QS_OK;
}
