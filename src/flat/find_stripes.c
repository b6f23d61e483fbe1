/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_stripes.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum {
    REACH = 4, /* lines on each side that a line is held against */
    LEAST_LINES = 16
};

/* Stripes run from side to side: both halves of the frame must agree so well. */
static const double LEAST_AGREEMENT = 0.95;

/* A plane of cell values seen as lines across which stripes run. */
struct lines {
    int count;       /* lines */
    int length;      /* values in a line */
    ptrdiff_t next;  /* from a line to the next */
    ptrdiff_t along; /* from a value of a line to the next */
};

static struct lines
lines_of(const struct qs_cells *cells, bool rows)
{
    if (rows)
        return (struct lines){cells->rows, cells->columns, cells->columns, 1};
    return (struct lines){cells->columns, cells->rows, 1, cells->columns};
}

static int
by_value(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;

    return (x > y) - (x < y);
}

/* Median, over part of a line, of its values less those of the lines around it. */
static float
step_of(const float *plane, struct lines lines, int line, int from, int to, float *room)
{
    int first = line > REACH ? line - REACH : 0;
    int last = line + REACH < lines.count ? line + REACH : lines.count - 1;

    for (int k = from; k < to; k++) {
        const float *value = plane + (ptrdiff_t)k * lines.along;
        float around = 0.0f;

        for (int i = first; i <= last; i++)
            around += i == line ? 0.0f : value[(ptrdiff_t)i * lines.next];
        room[k - from] =
            value[(ptrdiff_t)line * lines.next] - around / (float)(last - first);
    }
    qsort(room, (size_t)(to - from), sizeof *room, by_value);
    return room[(to - from) / 2];
}

/* Correlation of the steps that the two halves of the frame show. */
static double
agreement(const float *plane, struct lines lines, float *room)
{
    double xx = 0.0, yy = 0.0, xy = 0.0;

    for (int i = 0; i < lines.count; i++) {
        double x = step_of(plane, lines, i, 0, lines.length / 2, room);
        double y = step_of(plane, lines, i, lines.length / 2, lines.length, room);

        xx += x * x;
        yy += y * y;
        xy += x * y;
    }
    return xx > 0.0 && yy > 0.0 ? xy / sqrt(xx * yy) : 0.0;
}

/*
 * Largest correlation, by size, of the lines' steps with those one to four lines on.
 * Rows of noise are independent of each other; rows of knitting, bricks or boards
 * keep a beat.
 */
static double
beat(const float *plane, struct lines lines, float *steps, float *room)
{
    double square = 0.0, largest = 0.0;

    for (int i = 0; i < lines.count; i++) {
        steps[i] = step_of(plane, lines, i, 0, lines.length, room);
        square += (double)steps[i] * steps[i];
    }
    for (int lag = 1; lag <= REACH; lag++) {
        double sum = 0.0;

        for (int i = 0; i + lag < lines.count; i++)
            sum += (double)steps[i] * steps[i + lag];
        largest = fmax(largest, fabs(sum / square));
    }
    return largest;
}

/* Takes off every line what it shares; a variance stays above a tenth of itself. */
static void
take_off(float *plane, struct lines lines, bool variance, float *steps, float *room)
{
    for (int i = 0; i < lines.count; i++)
        steps[i] = step_of(plane, lines, i, 0, lines.length, room);
    for (int i = 0; i < lines.count; i++)
        for (int k = 0; k < lines.length; k++) {
            float *value =
                plane + (ptrdiff_t)i * lines.next + (ptrdiff_t)k * lines.along;
            float calm = *value - steps[i];

            *value = variance ? fmaxf(calm, 0.1f * *value) : calm;
        }
}

/*
 * Most beat that independent lines show: what taking off the eight lines around each
 * leaves, 1/4, and three standard errors of a correlation.
 */
static double
most_beat(int lines)
{
    return 0.25 + 3.0 / sqrt(lines);
}

static enum qs_status
copy_cells(const struct qs_cells *cells, struct qs_cells *calm, struct qs_error *err)
{
    size_t count = (size_t)cells->columns * (size_t)cells->rows;
    bool ready;

    *calm = *cells;
    memset(calm->mean, 0, sizeof calm->mean);
    memset(calm->variance, 0, sizeof calm->variance);
    calm->clipped = qs_alloc(count, 1);
    ready = calm->clipped != NULL;
    for (int c = (int)cells->first; ready && c < QS_CHANNELS; c++) {
        calm->mean[c] = qs_alloc(count, sizeof(float));
        calm->variance[c] = qs_alloc(count, sizeof(float));
        ready = calm->mean[c] != NULL && calm->variance[c] != NULL;
        if (ready) {
            memcpy(calm->mean[c], cells->mean[c], count * sizeof(float));
            memcpy(calm->variance[c], cells->variance[c], count * sizeof(float));
        }
    }
    if (ready) {
        memcpy(calm->clipped, cells->clipped, count);
        return QS_OK;
    }
    qs_cells_clear(calm);
    return qs_fail_memory(err);
}

/* Takes off what rows, or columns, share, where both halves of the frame agree. */
static bool
calm_lines(struct qs_cells *calm, bool rows, float *steps, float *room)
{
    struct lines lines = lines_of(calm, rows);

    if (lines.count < LEAST_LINES || lines.length < LEAST_LINES ||
        agreement(calm->mean[QS_Y], lines, room) < LEAST_AGREEMENT ||
        beat(calm->mean[QS_Y], lines, steps, room) > most_beat(lines.count))
        return false;
    for (int c = (int)calm->first; c < QS_CHANNELS; c++) {
        take_off(calm->mean[c], lines, false, steps, room);
        take_off(calm->variance[c], lines, true, steps, room);
    }
    return true;
}

enum qs_status
qs_stripes_calm(const struct qs_cells *cells, struct qs_cells *calm, bool *striped,
                struct qs_error *err)
{
    int longest = cells->rows > cells->columns ? cells->rows : cells->columns;
    float *room = qs_alloc(2 * (size_t)longest, sizeof *room);
    enum qs_status status;

    *striped = false;
    *calm = (struct qs_cells){0};
    if (room == NULL)
        return qs_fail_memory(err);
    status = copy_cells(cells, calm, err);
    if (status == QS_OK) {
        *striped = calm_lines(calm, true, room, room + longest);
        *striped |= calm_lines(calm, false, room, room + longest);
        if (!*striped)
            qs_cells_clear(calm);
    }
    qs_free(room);
    return status;
}
