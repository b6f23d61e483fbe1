/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/stillness.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/memory.h"
#include "base/order.h"
#include "measure/cell_change.h"
#include "measure/line_shift.h"
#include "measure/shift.h"
#include "measure/slope_sums.h"
#include "measure/still_rows.h"

enum {
    BIN = QS_STILL_BIN,
    ROWS = QS_STILL_LINES, /* of binned values in a strip */
    TILE = 32,             /* binned values along a tile's side */
    WINDOW = 128,          /* the same of a window */
    WINDOWS_ACROSS = 3
};

/* A shift of the whole frame shorter than this does no harm to a noise figure. */
static const double WHOLE_PX = 0.1;

/* Certainty of it, as chi-square of 2 degrees of freedom: chance gives 40 once in 5e8.
 */
static const double WHOLE_SURE = 40.0;

/* A part of the frame has to show more, being one of thousands (R25). */
static const double PART_PX = 0.2;
static const double PART_SURE = 80.0; /* chi-square of 2 degrees of freedom */
static const double PART_SHARE = 0.1; /* of the difference's variance explained */

/* R28: where the differences hang together this far (blobs of 25 px across and nothing
 * finer), they are no noise of a camera. */
static const double MOST_LINKED = 400.0;

/* Nor are they, hanging together this far, where they keep that share over 128 px. */
static const double BROAD_LINKED = 100.0;
static const double MOST_BROAD = 0.4;

/* Nor where half of the brighter cells of 16 px differ by more than this share of their
 * light: with a grain of 2 px and an SNR of 1 in single pixels they differ by 0.12. */
static const double MOST_APART = 0.25;

/* Windows and slopes speak of the same shift (in binned values). */
static const double AGREEING = 0.6;

/* Median of the absolute value of a normal variable of sd 1. */
static const double MEDIAN_OF_NORMAL = 0.674489750196082;

/* Columns differ by chance by a little more than independent values would. */
static const double CHANCE = 2.0;

struct qs_stillness {
    int frames;
    int width; /* of the frame */
    int height;
    int columns; /* of binned values */
    int rows;
    int tiles_across;
    int tiles_down;
    struct qs_slope_sums *tiles; /* [frames - 1][tiles_down][tiles_across] */
    struct qs_cell_change *cells;
    int windows;
    int window_x[QS_STILL_WINDOWS]; /* in binned values */
    int window_y[QS_STILL_WINDOWS];
    float *window[QS_STILL_WINDOWS]; /* [frames][WINDOW][WINDOW] */
    struct qs_still_rows now;        /* the strip being added */
    double *column_sum; /* [frames - 1][columns]: of differences from the first frame */
    double *column_profile; /* [columns]: sums of the mean of the frames */
    double *row_level;      /* [frames][rows]: what was taken off each row */
    double *row_profile;    /* [rows]: means of the mean of the frames */
};

static enum qs_status
make_windows(struct qs_stillness *still, struct qs_error *err)
{
    int across = still->columns < WINDOWS_ACROSS * WINDOW ? still->columns / WINDOW
                                                          : WINDOWS_ACROSS;
    int down =
        still->rows < WINDOWS_ACROSS * WINDOW ? still->rows / WINDOW : WINDOWS_ACROSS;
    size_t values = (size_t)still->frames * WINDOW * WINDOW;

    for (int j = 0; j < down; j++)
        for (int i = 0; i < across; i++) {
            int w = still->windows;

            still->window_x[w] =
                (2 * i + 1) * still->columns / (2 * across) - WINDOW / 2;
            still->window_y[w] = (2 * j + 1) * still->rows / (2 * down) - WINDOW / 2;
            still->window[w] = qs_alloc(values, sizeof(float));
            if (still->window[w] == NULL)
                return qs_fail_memory(err);
            still->windows++;
        }
    return QS_OK;
}

static enum qs_status
lines_init(struct qs_stillness *still, struct qs_error *err)
{
    size_t frames = (size_t)still->frames, columns = (size_t)still->columns;
    size_t rows = (size_t)still->rows;

    still->column_sum = qs_alloc((frames - 1) * columns, sizeof(double));
    still->column_profile = qs_alloc(columns, sizeof(double));
    still->row_level = qs_alloc(frames * rows, sizeof(double));
    still->row_profile = qs_alloc(rows, sizeof(double));
    if (still->column_sum == NULL || still->column_profile == NULL ||
        still->row_level == NULL || still->row_profile == NULL)
        return qs_fail_memory(err);
    return QS_OK;
}

enum qs_status
qs_stillness_new(int frames, int width, int height, struct qs_stillness **out,
                 struct qs_error *err)
{
    struct qs_stillness *still = qs_alloc(1, sizeof *still);
    enum qs_status status;

    *out = NULL;
    if (still == NULL)
        return qs_fail_memory(err);
    *still = (struct qs_stillness){.frames = frames,
                                   .width = width,
                                   .height = height,
                                   .columns = width / BIN,
                                   .rows = height / QS_STILL_ROWS * ROWS};
    still->tiles_across = still->columns / TILE;
    still->tiles_down = (still->rows + TILE - 1) / TILE;
    still->tiles = qs_alloc((size_t)(frames - 1) * (size_t)still->tiles_across *
                                (size_t)still->tiles_down,
                            sizeof *still->tiles);
    status = still->tiles == NULL ? qs_fail_memory(err) : lines_init(still, err);
    if (status == QS_OK)
        status = qs_still_rows_init(&still->now, frames, width, err);
    if (status == QS_OK)
        status = qs_cell_change_new(frames, still->columns / ROWS, still->rows / ROWS,
                                    &still->cells, err);
    if (status == QS_OK)
        status = make_windows(still, err);
    if (status == QS_OK)
        *out = still;
    else
        qs_stillness_free(still);
    return status;
}

void
qs_stillness_free(struct qs_stillness *still)
{
    if (still == NULL)
        return;
    for (int w = 0; w < QS_STILL_WINDOWS; w++)
        qs_free(still->window[w]);
    qs_cell_change_free(still->cells);
    qs_still_rows_clear(&still->now);
    qs_free(still->tiles);
    qs_free(still->column_sum);
    qs_free(still->column_profile);
    qs_free(still->row_level);
    qs_free(still->row_profile);
    qs_free(still);
}

static void
keep_levels(struct qs_stillness *still, int row)
{
    for (int k = 0; k < still->frames; k++)
        for (int y = 0; y < ROWS; y++)
            still->row_level[(ptrdiff_t)k * still->rows + row + y] =
                still->now.level[k * ROWS + y];
}

/* What rows and columns are like, of the mean of the frames. */
static void
sum_profiles(struct qs_stillness *still, int row)
{
    int columns = still->columns;
    const float *mean = qs_still_rows_of(&still->now, still->frames);

    for (int y = 0; y < ROWS; y++)
        for (int x = 0; x < columns; x++) {
            double value = mean[y * columns + x];

            still->column_profile[x] += value / still->rows;
            still->row_profile[row + y] += value / columns;
        }
}

static void
sum_columns(struct qs_stillness *still)
{
    int columns = still->columns;
    const float *first = qs_still_rows_of(&still->now, 0);

    for (int k = 1; k < still->frames; k++) {
        const float *other = qs_still_rows_of(&still->now, k);
        double *sum = still->column_sum + (ptrdiff_t)(k - 1) * columns;

        for (int y = 0; y < ROWS; y++)
            for (int x = 0; x < columns; x++)
                sum[x] += ((double)other[y * columns + x] - first[y * columns + x]) /
                          still->rows;
    }
}

static void
keep_windows(struct qs_stillness *still, int row)
{
    for (int w = 0; w < still->windows; w++)
        for (int y = 0; y < ROWS; y++) {
            int at = row + y - still->window_y[w];

            for (int k = 0; at >= 0 && at < WINDOW && k < still->frames; k++)
                memcpy(still->window[w] + ((ptrdiff_t)k * WINDOW + at) * WINDOW,
                       qs_still_rows_of(&still->now, k) + y * still->columns +
                           still->window_x[w],
                       WINDOW * sizeof(float));
        }
}

static struct qs_slope_sums *
tile_of(const struct qs_stillness *still, int frame, int tile_x, int tile_y)
{
    return &still->tiles[((ptrdiff_t)(frame - 1) * still->tiles_down + tile_y) *
                             still->tiles_across +
                         tile_x];
}

static void
add_slopes(struct qs_stillness *still, int tile_y)
{
    for (int k = 1; k < still->frames; k++) {
        struct qs_slope_strip strip = {.mean =
                                           qs_still_rows_of(&still->now, still->frames),
                                       .a = qs_still_rows_of(&still->now, 0),
                                       .b = qs_still_rows_of(&still->now, k),
                                       .blind = still->now.blind,
                                       .stride = still->columns,
                                       .rows = ROWS};

        for (int t = 0; t < still->tiles_across; t++)
            qs_slope_sums_add(tile_of(still, k, t, tile_y), &strip, t * TILE, TILE);
    }
}

void
qs_stillness_add(struct qs_stillness *still, int y, const float *const *rows,
                 const unsigned char *const *ends)
{
    int row = y / BIN;

    if (row + ROWS > still->rows)
        return;
    qs_still_rows_fill(&still->now, rows, ends);
    keep_windows(still, row);
    qs_still_rows_level(&still->now);
    keep_levels(still, row);
    sum_columns(still);
    sum_profiles(still, row);
    qs_cell_change_add(still->cells, row / ROWS, qs_still_rows_of(&still->now, 0),
                       still->now.blind, still->columns);
    add_slopes(still, row / TILE);
}

/* The box of a tile, in pixels of the frame. */
static struct qs_box
tile_box(const struct qs_stillness *still, int tile_x, int tile_y)
{
    int side = TILE * BIN;
    int rest = still->height - tile_y * side;

    return (struct qs_box){tile_x * side, tile_y * side, side,
                           rest < side ? rest : side};
}

/*
 * R19: variance of the noise that whole columns share anew in each frame, times the
 * rows of a tile: as much as it can bring to a slope's product at most.  It is drawn
 * from how most neighbouring columns differ, so that edges that have moved don't count.
 */
static enum qs_status
lines_of(const struct qs_stillness *still, int frame, double *lines,
         struct qs_error *err)
{
    int count = still->columns - 1, tiles = still->tiles_across * still->tiles_down;
    const double *sum = still->column_sum + (ptrdiff_t)(frame - 1) * still->columns;
    double *steps;
    double typical, chance;

    *lines = 0.0;
    if (count < 1 || tiles == 0)
        return QS_OK;
    steps = qs_alloc((size_t)count, sizeof *steps);
    if (steps == NULL)
        return qs_fail_memory(err);
    for (int x = 0; x < count; x++)
        steps[x] = fabs(sum[x + 1] - sum[x]);
    typical = qs_median(steps, (size_t)count) / MEDIAN_OF_NORMAL;
    qs_free(steps);
    chance = qs_slope_sums_variance(tile_of(still, frame, 0, 0), tiles, still->frames) /
             still->rows;
    *lines = TILE * fmax(typical * typical / 2.0 - CHANCE * chance, 0.0);
    return QS_OK;
}

static enum qs_status
chance_of(const struct qs_stillness *still, int frame, struct qs_slope_chance *chance,
          struct qs_error *err)
{
    enum qs_status status = lines_of(still, frame, &chance->lines, err);

    chance->frames = still->frames;
    if (status == QS_OK)
        status = qs_cell_change_linked(still->cells, frame, &chance->linked, err);
    return status;
}

/* R21 to R23: what the windows say; a peak of 0 where there are none. */
static enum qs_status
correlate_windows(const struct qs_stillness *still, int frame, struct qs_shift *shift,
                  struct qs_error *err)
{
    const float *a[QS_STILL_WINDOWS], *b[QS_STILL_WINDOWS];

    *shift = (struct qs_shift){0};
    if (still->windows == 0)
        return QS_OK;
    for (int w = 0; w < still->windows; w++) {
        a[w] = still->window[w];
        b[w] = still->window[w] + (ptrdiff_t)frame * WINDOW * WINDOW;
    }
    return qs_shift_find(a, b, still->windows, WINDOW, shift, err);
}

static void
set_whole(struct qs_motion_found *out, double x, double y)
{
    out->kind = QS_MOTION_WHOLE;
    out->x = BIN * x;
    out->y = BIN * y;
}

/*
 * R20: all tiles together.  The windows know the shift better where they agree, and
 * where it is so long that slopes don't.
 */
static void
judge_slopes(const struct qs_stillness *still, int frame,
             const struct qs_slope_chance *chance, const struct qs_shift *windows,
             struct qs_motion_found *out)
{
    int count = still->tiles_across * still->tiles_down;
    struct qs_slope shift;

    if (count == 0)
        return;
    qs_slope_sums_pool(tile_of(still, frame, 0, 0), count, chance, &shift);
    if (BIN * hypot(shift.x, shift.y) < WHOLE_PX || shift.sure < WHOLE_SURE)
        return;
    if (qs_shift_is_named(windows) ||
        (qs_shift_is_seen(windows) &&
         hypot(windows->x - shift.x, windows->y - shift.y) < AGREEING))
        set_whole(out, windows->x, windows->y);
    else
        set_whole(out, shift.x, shift.y);
}

/* R24: shifts across stripes, which tiles and windows leave to the rows and columns. */
static enum qs_status
judge_stripes(const struct qs_stillness *still, int frame,
              const struct qs_shift *windows, struct qs_motion_found *out,
              struct qs_error *err)
{
    const double *columns = still->column_sum + (ptrdiff_t)(frame - 1) * still->columns;
    const double *level = still->row_level + (ptrdiff_t)frame * still->rows;
    double *rows = qs_alloc((size_t)still->rows, sizeof *rows);
    bool across = false, down = false;
    double x = 0.0, y = 0.0;
    enum qs_status status = rows == NULL ? qs_fail_memory(err) : QS_OK;

    for (int row = 0; status == QS_OK && row < still->rows; row++)
        rows[row] = level[row] - still->row_level[row];
    if (status == QS_OK)
        status = qs_line_shift(still->row_profile, rows, still->rows, &down, &y, err);
    if (status == QS_OK)
        status = qs_line_shift(still->column_profile, columns, still->columns, &across,
                               &x, err);
    qs_free(rows);
    if (status == QS_OK && (across || down) && qs_shift_is_named(windows))
        set_whole(out, windows->x, windows->y);
    else if (status == QS_OK && (across || down))
        set_whole(out, across ? x : 0.0, down ? y : 0.0);
    return status;
}

/* R25: the tile that is shifted most clearly, if any is. */
static void
judge_tiles(const struct qs_stillness *still, int frame,
            const struct qs_slope_chance *chance, struct qs_motion_found *out)
{
    double best = PART_SURE;

    for (int j = 0; j < still->tiles_down; j++)
        for (int i = 0; i < still->tiles_across; i++) {
            struct qs_slope shift;

            qs_slope_sums_solve(tile_of(still, frame, i, j), chance, &shift);
            if (shift.sure < best || shift.explained < PART_SHARE ||
                BIN * hypot(shift.x, shift.y) < PART_PX)
                continue;
            best = shift.sure;
            out->kind = QS_MOTION_PART;
            out->x = BIN * shift.x;
            out->y = BIN * shift.y;
            out->box = tile_box(still, i, j);
        }
}

static enum qs_status
judge_cells(const struct qs_stillness *still, int frame, struct qs_motion_found *out,
            struct qs_error *err)
{
    struct qs_box box;
    bool changed;
    enum qs_status status =
        qs_cell_change_judge(still->cells, frame, &changed, &box, err);

    if (status != QS_OK || !changed)
        return status;
    out->kind = QS_MOTION_CHANGE;
    out->box = (struct qs_box){box.x * QS_STILL_ROWS, box.y * QS_STILL_ROWS,
                               box.width * QS_STILL_ROWS, box.height * QS_STILL_ROWS};
    return QS_OK;
}

/* R28: another scene altogether, of which no part is the usual one. */
static enum qs_status
judge_all(const struct qs_stillness *still, int frame, double linked,
          struct qs_motion_found *out, struct qs_error *err)
{
    double broad = 0.0, apart = 0.0;
    enum qs_status status = qs_cell_change_broad(still->cells, frame, &broad, err);

    if (status == QS_OK)
        status = qs_cell_change_apart(still->cells, frame, &apart, err);
    if (status == QS_OK &&
        (linked > MOST_LINKED || (linked > BROAD_LINKED && broad > MOST_BROAD) ||
         apart > MOST_APART))
        out->kind = QS_MOTION_ALL;
    return status;
}

enum qs_status
qs_stillness_judge(const struct qs_stillness *still, int frame,
                   struct qs_motion_found *out, struct qs_error *err)
{
    struct qs_shift shift;
    struct qs_slope_chance chance = {0};
    enum qs_status status;

    *out = (struct qs_motion_found){.box = {0, 0, still->width, still->height}};
    status = correlate_windows(still, frame, &shift, err);
    if (status == QS_OK && qs_shift_is_sure(&shift))
        set_whole(out, shift.x, shift.y);
    if (status == QS_OK)
        status = chance_of(still, frame, &chance, err);
    if (status == QS_OK && out->kind == QS_MOTION_NONE)
        judge_slopes(still, frame, &chance, &shift, out);
    if (status == QS_OK && out->kind == QS_MOTION_NONE)
        status = judge_stripes(still, frame, &shift, out, err);
    if (status == QS_OK && out->kind == QS_MOTION_NONE)
        judge_tiles(still, frame, &chance, out);
    if (status == QS_OK && out->kind == QS_MOTION_NONE)
        status = judge_cells(still, frame, out, err);
    if (status == QS_OK && out->kind == QS_MOTION_NONE)
        status = judge_all(still, frame, chance.linked, out, err);
    return status;
}
