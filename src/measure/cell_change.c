/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/cell_change.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/order.h"

enum {
    CELL_VALUES = QS_CHANGE_SIDE * QS_CHANGE_SIDE,
    TRIMMED = 2, /* largest, and smallest, differences of a cell that are left out */
    LEAST_CELLS = 32,             /* that a median of all is drawn from */
    FIELD = 8,                    /* cells along the side of a field, 128 px */
    LEAST_SEEN = CELL_VALUES - 2, /* next to what is clipped, the rest is a choice */
    BLOCK = 4, /* cells along the side of a block, which is judged as one */
    AS_BRIGHT =
        8 /* blocks a little darker and as many brighter that it is held against */
};

/* Share of its variance that 64 normal values keep without the 2 + 2 outermost: by
 * simulation, 2 million cells. */
static const double VARIANCE_KEPT = 0.729;

/* R28: a block has changed where its cells' means differ at least so many times more
 * than in most blocks ... */
static const double LEAST_TIMES = 8.0;

/* ... and by more than chance lets them, which the spread of the lower half of the
 * blocks tells, this many times over; blobs of noise as large as a block spread wide
 * ... */
static const double SPREADS = 5.0;

/* ... by at least this share of what single values differ ... */
static const double LEAST_SHARE = 0.5;

/* ... and by more than this share of the light, and of white. */
static const double LEAST_LIGHT = 1e-3;
static const double LEAST_WHITE = 2e-5;

/* Or where its values differ so many times more than those of blocks as bright. */
static const double MOST_INNER = 16.0;

/* Cells of less light (of white) differ by a large share of it for their noise alone.
 */
static const double BRIGHT = 0.1;

struct qs_cell_change {
    int frames;
    int columns;
    int rows;
    float *mean;  /* [frames][rows][columns] */
    float *inner; /* [frames][rows][columns]: variance of the values' differences from
                     the first frame, about the cell's own mean */
};

enum qs_status
qs_cell_change_new(int frames, int columns, int rows, struct qs_cell_change **out,
                   struct qs_error *err)
{
    struct qs_cell_change *change = qs_alloc(1, sizeof *change);
    size_t cells = (size_t)frames * (size_t)columns * (size_t)rows;

    *out = NULL;
    if (change == NULL)
        return qs_fail_memory(err);
    *change =
        (struct qs_cell_change){.frames = frames, .columns = columns, .rows = rows};
    change->mean = qs_alloc(cells, sizeof(float));
    change->inner = qs_alloc(cells, sizeof(float));
    if (change->mean == NULL || change->inner == NULL) {
        qs_cell_change_free(change);
        return qs_fail_memory(err);
    }
    *out = change;
    return QS_OK;
}

void
qs_cell_change_free(struct qs_cell_change *change)
{
    if (change == NULL)
        return;
    qs_free(change->mean);
    qs_free(change->inner);
    qs_free(change);
}

static ptrdiff_t
cell_at(const struct qs_cell_change *change, int frame, int column, int row)
{
    return ((ptrdiff_t)frame * change->rows + row) * change->columns + column;
}

/* What one cell shows. */
struct cell {
    double mean;
    double inner; /* 0 where too little of it can be seen */
};

/* The differences in a cell, and the mean of a; returns how many can be seen. */
static int
take_cell(const float *a, const float *b, const unsigned char *blind, int stride,
          double difference[CELL_VALUES], double *mean)
{
    double sum = 0.0;
    int count = 0;

    for (int y = 0; y < QS_CHANGE_SIDE; y++)
        for (int x = 0; x < QS_CHANGE_SIDE; x++) {
            int at = y * stride + x;

            if (blind[at] != 0)
                continue;
            sum += (double)a[at];
            difference[count++] = (double)b[at] - (double)a[at];
        }
    *mean = count > 0 ? sum / count : 0.0;
    return count;
}

/*
 * R26: the cell in b, and how its values differ from those in a, the largest and
 * smallest differences left out: hot pixels that come and go are no motion.
 */
static struct cell
cell_of(const float *a, const float *b, const unsigned char *blind, int stride)
{
    double difference[CELL_VALUES];
    struct cell cell = {0.0, 0.0};
    int count = take_cell(a, b, blind, stride, difference, &cell.mean);
    int kept = count - 2 * TRIMMED;
    double sum = 0.0, square = 0.0;

    if (count < LEAST_SEEN)
        return cell;
    qs_sort(difference, (size_t)count);
    for (int i = TRIMMED; i < count - TRIMMED; i++) {
        sum += difference[i];
        square += difference[i] * difference[i];
    }
    cell.mean += sum / kept;
    cell.inner = fmax(square - sum * sum / kept, 0.0) / kept / VARIANCE_KEPT;
    return cell;
}

void
qs_cell_change_add(struct qs_cell_change *change, int row, const float *values,
                   const unsigned char *blind, int stride)
{
    for (int k = 0; k < change->frames; k++)
        for (int c = 0; c < change->columns; c++) {
            ptrdiff_t from = (ptrdiff_t)c * QS_CHANGE_SIDE;
            const float *a = values + from;
            const float *b = a + (ptrdiff_t)k * QS_CHANGE_SIDE * stride;
            struct cell cell = cell_of(a, b, blind + from, stride);
            ptrdiff_t at = cell_at(change, k, c, row);

            change->mean[at] = (float)cell.mean;
            change->inner[at] = (float)cell.inner;
        }
}

/* A block of cells: mean squares of the means' differences, and of what they may be. */
struct block {
    double outer;
    double inner;
    double light;
    struct qs_box cells;
};

/* What is compared: how far each cell's mean is off, and blocks of them. */
struct blocks {
    int across;
    int count;
    struct block *list;
    double *sorted; /* room for one number a block, or for one a row of cells */
    double *column; /* what each column of cells is off by */
};

static enum qs_status
blocks_init(struct blocks *blocks, const struct qs_cell_change *change,
            struct qs_error *err)
{
    size_t room;

    blocks->across = change->columns / BLOCK;
    blocks->count = blocks->across * (change->rows / BLOCK);
    room = (size_t)(blocks->count > change->rows ? blocks->count : change->rows);
    blocks->list = qs_alloc((size_t)blocks->count, sizeof *blocks->list);
    blocks->sorted = qs_alloc(room, sizeof *blocks->sorted);
    blocks->column = qs_alloc((size_t)change->columns, sizeof *blocks->column);
    if (blocks->list == NULL || blocks->sorted == NULL || blocks->column == NULL)
        return qs_fail_memory(err);
    return QS_OK;
}

static void
blocks_clear(struct blocks *blocks)
{
    qs_free(blocks->list);
    qs_free(blocks->sorted);
    qs_free(blocks->column);
}

static double
off_at(const struct qs_cell_change *change, int frame, int column, int row)
{
    return (double)change->mean[cell_at(change, frame, column, row)] -
           (double)change->mean[cell_at(change, 0, column, row)];
}

/* R26: what most cells of a column are off by is noise of the column. */
static void
level_columns(const struct qs_cell_change *change, int frame, struct blocks *blocks)
{
    for (int c = 0; c < change->columns; c++) {
        for (int r = 0; r < change->rows; r++)
            blocks->sorted[r] = off_at(change, frame, c, r);
        blocks->column[c] = qs_median(blocks->sorted, (size_t)change->rows);
    }
}

/* Means over those cells of the block that can be seen. */
static void
fill_block(const struct qs_cell_change *change, int frame, const struct blocks *blocks,
           int index, struct block *out)
{
    int left = index % blocks->across * BLOCK, top = index / blocks->across * BLOCK;
    double seen = 0.0;

    *out = (struct block){.cells = {left, top, BLOCK, BLOCK}};
    for (int r = top; r < top + BLOCK; r++)
        for (int c = left; c < left + BLOCK; c++) {
            double inner = (double)change->inner[cell_at(change, frame, c, r)];
            double off = off_at(change, frame, c, r) - blocks->column[c];

            if (inner <= 0.0)
                continue;
            seen += 1.0;
            out->outer += off * off;
            out->inner += inner;
            out->light += (double)change->mean[cell_at(change, 0, c, r)];
        }
    if (seen == 0.0)
        return;
    out->outer /= seen;
    out->inner /= seen;
    out->light /= seen;
}

static void
fill_blocks(const struct qs_cell_change *change, int frame, struct blocks *blocks)
{
    level_columns(change, frame, blocks);
    for (int i = 0; i < blocks->count; i++)
        fill_block(change, frame, blocks, i, &blocks->list[i]);
}

/* R27: how much more a block's cells differ than independent values would let them. */
static double
times_of(const struct block *block)
{
    return block->outer * CELL_VALUES / block->inner;
}

/* What most blocks show, and how far that spreads downwards. */
struct usual {
    double times;
    double spread; /* median over lower quartile */
};

static struct usual
usual_of(struct blocks *blocks)
{
    struct usual usual = {1.0, 1.0};
    int count = 0;

    for (int i = 0; i < blocks->count; i++)
        if (blocks->list[i].inner > 0.0)
            blocks->sorted[count++] = times_of(&blocks->list[i]);
    if (count == 0)
        return usual;
    qs_sort(blocks->sorted, (size_t)count);
    usual.times = fmax(1.0, blocks->sorted[count / 2]);
    if (blocks->sorted[count / 4] > 0.0)
        usual.spread = blocks->sorted[count / 2] / blocks->sorted[count / 4];
    return usual;
}

static bool
has_changed(const struct block *block, const struct usual *usual)
{
    double least = LEAST_LIGHT * fabs(block->light) + LEAST_WHITE;
    double times = usual->times * fmax(LEAST_TIMES, pow(usual->spread, SPREADS));

    return block->inner > 0.0 && block->outer > least * least &&
           block->outer > LEAST_SHARE * block->inner && times_of(block) > times;
}

static void
find_most(struct blocks *blocks, bool *changed, struct qs_box *box)
{
    struct usual usual = usual_of(blocks);
    double most = 0.0;

    *changed = false;
    for (int i = 0; i < blocks->count; i++) {
        const struct block *block = &blocks->list[i];
        double size = block->outer / (block->inner + 1e-30);

        if (!has_changed(block, &usual) || size <= most)
            continue;
        most = size;
        *changed = true;
        *box = block->cells;
    }
}

static int
by_light(const void *a, const void *b)
{
    double x = ((const struct block *)a)->light, y = ((const struct block *)b)->light;

    return (x > y) - (x < y);
}

/* Median of how far values differ in the blocks about as bright as number `i`. */
static double
inner_as_bright(const struct blocks *blocks, int i)
{
    int count = 0;

    for (int k = i - AS_BRIGHT; k <= i + AS_BRIGHT; k++)
        if (k >= 0 && k < blocks->count && blocks->list[k].inner > 0.0)
            blocks->sorted[count++] = blocks->list[k].inner;
    return qs_median(blocks->sorted, (size_t)count);
}

/*
 * R29: fine detail that has moved leaves the cells' means as they were, but makes their
 * values differ; random noise would be alike where the light is.  Puts the blocks in
 * order of light.
 */
static void
find_restless(struct blocks *blocks, bool *changed, struct qs_box *box)
{
    double most = MOST_INNER;

    qsort(blocks->list, (size_t)blocks->count, sizeof *blocks->list, by_light);
    for (int i = 0; i < blocks->count; i++) {
        const struct block *block = &blocks->list[i];
        double least = LEAST_LIGHT * fabs(block->light) + LEAST_WHITE;
        double usual;

        if (block->inner <= 0.0)
            continue;
        usual = inner_as_bright(blocks, i);
        if (block->inner <= least * least || block->inner <= most * usual)
            continue;
        most = block->inner / usual;
        *changed = true;
        *box = block->cells;
    }
}

enum qs_status
qs_cell_change_apart(const struct qs_cell_change *change, int frame, double *apart,
                     struct qs_error *err)
{
    double *shares =
        qs_alloc((size_t)change->columns * (size_t)change->rows, sizeof *shares);
    int count = 0;

    *apart = 0.0;
    if (shares == NULL)
        return qs_fail_memory(err);
    for (int r = 0; r < change->rows; r++)
        for (int c = 0; c < change->columns; c++) {
            double a = (double)change->mean[cell_at(change, 0, c, r)];
            double b = (double)change->mean[cell_at(change, frame, c, r)];

            if (a + b > 2.0 * BRIGHT)
                shares[count++] = fabs(b - a) / (0.5 * (a + b));
        }
    if (count >= LEAST_CELLS) {
        *apart = qs_median(shares, (size_t)count);
    }
    qs_free(shares);
    return QS_OK;
}

/* Mean over a field of cells; adds the squares of those seen; false where none is. */
static bool
mean_of_field(const struct qs_cell_change *change, int frame,
              const struct blocks *blocks, int left, int top, double *mean,
              double *squares, double *seen)
{
    double sum = 0.0, count = 0.0;

    for (int r = top; r < top + FIELD; r++)
        for (int c = left; c < left + FIELD; c++) {
            double off = off_at(change, frame, c, r) - blocks->column[c];

            if (change->inner[cell_at(change, frame, c, r)] <= 0.0F)
                continue;
            count += 1.0;
            sum += off;
            *squares += off * off;
        }
    *seen += count;
    *mean = count > 0.0 ? sum / count : 0.0;
    return count > 0.0;
}

static double
broad_of(const struct qs_cell_change *change, int frame, const struct blocks *blocks)
{
    double squares = 0.0, seen = 0.0, broad = 0.0;
    int fields = 0;

    for (int r = 0; r + FIELD <= change->rows; r += FIELD)
        for (int c = 0; c + FIELD <= change->columns; c += FIELD) {
            double mean;

            if (!mean_of_field(change, frame, blocks, c, r, &mean, &squares, &seen))
                continue;
            broad += mean * mean;
            fields++;
        }
    return squares > 0.0 ? broad / fields / (squares / seen) : 0.0;
}

enum qs_status
qs_cell_change_broad(const struct qs_cell_change *change, int frame, double *broad,
                     struct qs_error *err)
{
    struct blocks blocks;
    enum qs_status status = blocks_init(&blocks, change, err);

    *broad = 0.0;
    if (status == QS_OK) {
        level_columns(change, frame, &blocks);
        *broad = broad_of(change, frame, &blocks);
    }
    blocks_clear(&blocks);
    return status;
}

enum qs_status
qs_cell_change_linked(const struct qs_cell_change *change, int frame, double *linked,
                      struct qs_error *err)
{
    struct blocks blocks;
    enum qs_status status = blocks_init(&blocks, change, err);

    *linked = 1.0;
    if (status == QS_OK) {
        fill_blocks(change, frame, &blocks);
        *linked = usual_of(&blocks).times;
    }
    blocks_clear(&blocks);
    return status;
}

enum qs_status
qs_cell_change_judge(const struct qs_cell_change *change, int frame, bool *changed,
                     struct qs_box *box, struct qs_error *err)
{
    struct blocks blocks;
    enum qs_status status = blocks_init(&blocks, change, err);

    *changed = false;
    if (status == QS_OK) {
        fill_blocks(change, frame, &blocks);
        find_most(&blocks, changed, box);
        if (!*changed)
            find_restless(&blocks, changed, box);
    }
    blocks_clear(&blocks);
    return status;
}
