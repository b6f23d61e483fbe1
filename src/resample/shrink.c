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

enum {
    ROWS = 8 /* delivered rows worked on side by side */
};

typedef float rows __attribute__((vector_size(ROWS * sizeof(float))));

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

/* Puts one row among ROWS: its column x to in[x][row]. */
static void
interleave(const float *row, int from, int to, int number, float (*in)[ROWS])
{
    for (int x = from; x < to; x++)
        in[x][number] = row[x];
}

/* The horizontal pass of ROWS rows at a time, each summed from its left. */
QS_CLONES static void
shrink_across(const float (*in)[ROWS], int source_x, const struct qs_weights *across,
              int out_x, int count, float (*out)[ROWS])
{
    for (int i = 0; i < count; i++) {
        const float *weight = across->weight + (ptrdiff_t)(out_x + i) * across->taps;
        const float(*from)[ROWS] = in + (across->first[out_x + i] - source_x);
        rows sum = {0.0f};

        for (int n = 0; n < across->count[out_x + i]; n++) {
            rows value;

            memcpy(&value, from[n], sizeof value);
            sum += weight[n] * value;
        }
        memcpy(out[i], &sum, sizeof sum);
    }
}

/* Room for the rows on their way. */
struct room {
    float *row;         /* one row after the vertical pass */
    float (*in)[ROWS];  /* ROWS of them */
    float (*out)[ROWS]; /* and after the horizontal pass */
};

static enum qs_status
room_init(struct room *room, int width, int out_width, struct qs_error *err)
{
    room->row = qs_alloc((size_t)width, sizeof *room->row);
    room->in = qs_alloc((size_t)width, sizeof *room->in);
    room->out = qs_alloc((size_t)out_width, sizeof *room->out);
    return room->row != NULL && room->in != NULL && room->out != NULL
               ? QS_OK
               : qs_fail_memory(err);
}

static void
room_clear(struct room *room)
{
    qs_free(room->row);
    qs_free(room->in);
    qs_free(room->out);
}

enum qs_status
qs_shrink(const struct qs_plane *source, int source_x, int source_y,
          const struct qs_weights *across, const struct qs_weights *down,
          struct qs_box out_box, struct qs_plane *out, struct qs_error *err)
{
    const int last = out_box.x + out_box.width - 1;
    struct room room;
    enum qs_status status = room_init(&room, source->width, out_box.width, err);

    assert(out_box.width < 1 ||
           (across->first[out_box.x] >= source_x &&
            across->first[last] + across->count[last] <= source_x + source->width));
    for (int y = 0; status == QS_OK && out_box.width > 0 && y < out_box.height;
         y += ROWS) {
        const int count = out_box.height - y < ROWS ? out_box.height - y : ROWS;
        /* the columns that the delivered pixels see */
        const int from = across->first[out_box.x] - source_x;
        const int to = across->first[last] + across->count[last] - source_x;

        for (int k = 0; k < count; k++) {
            shrink_down(source, source_y, down, out_box.y + y + k, from, to, room.row);
            interleave(room.row, from, to, k, room.in);
        }
        shrink_across((const float(*)[ROWS])room.in, source_x, across, out_box.x,
                      out_box.width, room.out);
        for (int k = 0; k < count; k++)
            for (int x = 0; x < out_box.width; x++)
                qs_plane_row(out, y + k)[x] = room.out[x][k];
    }
    room_clear(&room);
    return status;
}
