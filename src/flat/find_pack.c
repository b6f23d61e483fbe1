/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_pack.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "flat/find_size.h"

enum {
    SIZES_MAX = 24,
    CENTRE_CELLS =
        3,         /* how far a small square is moved to see whether it hugs an edge */
    SMALL_MORE = 2 /* cells more than a window's that still make a small square */
};

/*
 * Share of the grid's windows inside a square that must be even.  An edge through
 * the square costs more of them; noise costs 1 %, or 12 % where it is so coarse
 * that a window holds few waves of it.
 */
static const double SHARE_EVEN = 0.93;
static const double SHARE_EVEN_COARSE = 0.8;
static const double SHARE_CLEAR = 0.75; /* of the windows reaching over one side */

/* Variances of a step, stricter in y, where faint edges are plainest. */
static const double STEP_LIMIT_Y = 10.0;
static const double STEP_LIMIT_SMALL = 8.0;
static const double LEAST_WITHIN = 0.05; /* least distance allowed, as a logarithm */
static const double SAME_TONE_STOPS = 0.25;
static const double CELLS_BUDGET = 1.2e7; /* cells looked at in y for all sizes */

struct packing {
    const struct qs_cells *cells;
    const struct qs_windows *windows;
    const struct qs_floor *floor;
    unsigned *even; /* summed-area table of even windows, (rows + 1) x (columns + 1) */
    double *residual;
    double share_even; /* of the grid's windows inside a square */
    double budget;
    struct qs_size grid; /* the grid's own windows */
    struct qs_size size[SIZES_MAX];
    int size_count;
    int ample;
    struct qs_square_list *list;
    int beside[QS_PACK_MAX]; /* squares of the list that share rows with a place */
    int beside_count;
};

/* Whether a window's variance is what its tone calls for. */
static bool
has_law(const struct packing *p, size_t i)
{
    const struct qs_window_tone *tone = &p->windows->tone[i];
    const struct qs_floor_channel *y = &p->floor->channel[QS_Y];

    return tone->within > 0.0 &&
           qs_is_near(tone->within, qs_curve_at(&y->within, tone->mean),
                      y->within_spread, LEAST_WITHIN);
}

/* Whether a window of the grid is even in channel y. */
static bool
is_even(const struct packing *p, size_t i)
{
    const struct qs_window_fit *fit = &p->windows->fit[i];
    double expected;

    if (p->floor->constant)
        return fit->within <= 0.0 && fit->between <= 0.0;
    return p->windows->clipped[i] <= p->floor->clipped_max && has_law(p, i) &&
           qs_size_is_on_floor(&p->grid, &p->floor->channel[QS_Y], p->windows->side,
                               fit, QS_STEP_LIMIT, &expected);
}

static void
sum_even(struct packing *p)
{
    const size_t columns = (size_t)p->windows->columns, wide = columns + 1;

    for (size_t row = 0; row < (size_t)p->windows->rows; row++) {
        for (size_t column = 0; column < columns; column++) {
            unsigned *at = p->even + (row + 1) * wide + column + 1;

            *at = at[-1] + *(at - wide) - *(at - wide - 1) +
                  is_even(p, row * columns + column);
        }
    }
}

static bool
is_small(const struct packing *p, int side)
{
    return side <= p->windows->side + SMALL_MORE;
}

/* Even ones among `across` by `down` of the grid's windows. */
static unsigned
count_even(const struct packing *p, int x, int y, int across, int down)
{
    const int wide = p->windows->columns + 1;
    const unsigned *top = p->even + y * wide + x, *bottom = top + down * wide;

    return bottom[across] - bottom[0] - top[across] + top[0];
}

/* Whether enough of the grid's windows inside a square at this cell are even. */
static bool
is_promising(const struct packing *p, int column, int row, int side)
{
    const int step = p->windows->step;
    int across = (side - p->windows->side) / step + 1;

    return count_even(p, column / step, row / step, across, across) >=
           p->share_even * across * across;
}

/*
 * Whether a small square has as much room on one side as on the other, in each
 * direction.  One that could move away from an edge on one side alone hugs that edge,
 * and may hold some of it; a small tile leaves no room on either side.
 */
static bool
is_centred(const struct packing *p, int column, int row, int side)
{
    const int shift = (CENTRE_CELLS + p->windows->step - 1) / p->windows->step;
    const int move = shift * p->windows->step;
    bool left = column >= move && is_promising(p, column - move, row, side);
    bool right = column + move + side <= p->cells->columns &&
                 is_promising(p, column + move, row, side);
    bool above = row >= move && is_promising(p, column, row - move, side);
    bool below = row + move + side <= p->cells->rows &&
                 is_promising(p, column, row + move, side);

    return (left == right || column < move ||
            column + move + side > p->cells->columns) &&
           (above == below || row < move || row + move + side > p->cells->rows);
}

/*
 * Whether the windows that reach a step beyond each side of a square are mostly even
 * too.  A second-order surface bends to an edge at the rim of a square; from outside
 * the edge is plain.  The smallest squares are let off: tiles hardly hold them.
 */
static bool
is_clear(const struct packing *p, int column, int row, int side)
{
    const int step = p->windows->step, x = column / step, y = row / step;
    const int across = (side - p->windows->side) / step + 1;
    const double least = SHARE_CLEAR * across;

    if (is_small(p, side))
        return is_centred(p, column, row, side);
    return (x == 0 || count_even(p, x - 1, y, 1, across) >= least) &&
           (y == 0 || count_even(p, x, y - 1, across, 1) >= least) &&
           (x + across >= p->windows->columns ||
            count_even(p, x + across, y, 1, across) >= least) &&
           (y + across >= p->windows->rows ||
            count_even(p, x, y + across, across, 1) >= least);
}

static size_t
cell_at(const struct packing *p, int column, int row)
{
    return (size_t)row * (size_t)p->cells->columns + (size_t)column;
}

/* Looks at an even choice of the promising squares of one size. */
static void
probe_places(const struct packing *p, const struct qs_size *size,
             struct qs_probes *probes)
{
    const int step = p->windows->step, n = size->side;
    int promising = 0, seen = 0, stride;

    for (int row = 0; row + n <= p->cells->rows; row += step) {
        for (int column = 0; column + n <= p->cells->columns; column += step)
            promising += is_promising(p, column, row, n);
    }
    stride = promising / QS_PROBES + 1;
    for (int row = 0; row + n <= p->cells->rows; row += step) {
        for (int column = 0; column + n <= p->cells->columns; column += step) {
            if (is_promising(p, column, row, n) && seen++ % stride == 0)
                qs_size_probe(size, p->floor, p->cells, cell_at(p, column, row),
                              probes);
        }
    }
}

/* Lets every size learn its figures, the smallest first. */
static void
learn_sizes(struct packing *p)
{
    const struct qs_size *smaller = &p->grid;

    for (int i = p->size_count - 1; i >= 0; i--) {
        struct qs_probes probes = {0};

        if (p->size[i].side > p->windows->side)
            probe_places(p, &p->size[i], &probes);
        qs_size_learn(&p->size[i], smaller, p->floor, p->windows->side, &probes);
        smaller = &p->size[i];
    }
}

/* Sides from `largest` down to the grid's windows', each some 15 % less than the last.
 */
static void
list_sizes(struct packing *p, int largest)
{
    const bool coarse = qs_floor_is_coarse(p->floor) && p->ample > p->windows->side;
    const int smallest = coarse ? p->ample : p->windows->side;
    int side = largest;

    while (p->size_count < SIZES_MAX && side >= smallest) {
        qs_size_init(&p->size[p->size_count++], side);
        side = side > smallest && side * 17 / 20 < smallest ? smallest : side * 17 / 20;
    }
}

/* Whether no cell of a square stands out of its surface: dust, specks, corners. */
static bool
has_no_speck(const struct packing *p, enum qs_channel channel, size_t first,
             const struct qs_size *size, double between)
{
    const int n = size->side, count = n * n;
    const double limit = sqrt(2.0 * log(count)) + 1.8;

    qs_window_residual(p->cells, channel, first, &size->basis, p->residual);
    for (int i = 0; i < count; i++) {
        if (p->residual[i] * p->residual[i] > limit * limit * between)
            return false;
    }
    return true;
}

static double
step_limit(const struct packing *p, enum qs_channel channel, const struct qs_size *size)
{
    if (channel != QS_Y)
        return QS_STEP_LIMIT;
    return is_small(p, size->side) ? STEP_LIMIT_SMALL : STEP_LIMIT_Y;
}

/* Whether a square is even in one channel. */
static bool
is_even_square(const struct packing *p, enum qs_channel channel, size_t first,
               const struct qs_size *size, struct qs_square *square)
{
    struct qs_window_fit fit;
    double expected;

    qs_window_measure(p->cells, channel, first, &size->basis, &fit);
    square->mean[channel] = fit.mean;
    if (channel == QS_Y)
        square->within_y = fit.within;
    square->noise[channel] = sqrt(fit.within + fit.between);
    if (p->floor->constant)
        return fit.within <= 0.0 && fit.between <= 0.0;
    return qs_size_is_on_floor(size, &p->floor->channel[channel], p->windows->side,
                               &fit, step_limit(p, channel, size), &expected) &&
           has_no_speck(p, channel, first, size, expected);
}

/* Whether y varies by what the noise of r, g and b adds up to. */
static bool
adds_up(const struct packing *p, const struct qs_size *size,
        const struct qs_square *square)
{
    const double shrink = (double)p->windows->side / size->side;

    if (p->floor->constant || p->cells->first == QS_Y)
        return true;
    return qs_is_near(square->within_y,
                      qs_floor_sum(p->floor, square->mean) * size->within,
                      shrink * p->floor->sum_spread, LEAST_WITHIN);
}

static bool
is_clipped(const struct packing *p, const struct qs_square *square)
{
    long sum = 0;

    for (int y = 0; y < square->side; y++) {
        for (int x = 0; x < square->side; x++)
            sum += p->cells->clipped[cell_at(p, square->column + x, square->row + y)];
    }
    return sum > (long)p->floor->clipped_max * square->side * square->side;
}

/* Tones count as the same within a quarter stop, or within the noise of a pixel. */
static bool
same_tone(const struct packing *p, const struct qs_square *a, const struct qs_square *b)
{
    for (int c = (int)p->cells->first; c < QS_CHANNELS; c++) {
        double low = fmin(a->mean[c], b->mean[c]), high = fmax(a->mean[c], b->mean[c]);

        if (high - low > fmax(a->noise[c], b->noise[c]) &&
            (low <= 0.0 || high > low * exp2(SAME_TONE_STOPS)))
            return false;
    }
    return true;
}

/* Whether a square too small by itself repeats the tone of an ample one. */
static bool
is_needless(const struct packing *p, const struct qs_square *square)
{
    if (square->side >= p->ample)
        return false;
    for (int i = 0; i < p->list->count; i++) {
        if (p->list->item[i].side >= p->ample &&
            same_tone(p, square, &p->list->item[i]))
            return true;
    }
    return false;
}

/* Lists the squares that share rows with squares of this side at `row`. */
static void
list_beside(struct packing *p, int row, int side)
{
    p->beside_count = 0;
    for (int i = 0; i < p->list->count; i++) {
        const struct qs_square *s = &p->list->item[i];

        if (row < s->row + s->side && s->row < row + side)
            p->beside[p->beside_count++] = i;
    }
}

/* First free column at or after `column` among the listed squares; see try_size. */
static int
free_column(const struct packing *p, int column, int side)
{
    bool moved = true;

    while (moved) {
        moved = false;
        for (int i = 0; i < p->beside_count; i++) {
            const struct qs_square *s = &p->list->item[p->beside[i]];

            if (column < s->column + s->side && s->column < column + side) {
                column = s->column + s->side;
                moved = true;
            }
        }
    }
    return column;
}

static bool
try_place(struct packing *p, const struct qs_size *size, int column, int row)
{
    struct qs_square square = {.column = column, .row = row, .side = size->side};
    size_t first = cell_at(p, column, row);

    p->budget -= (double)size->side * size->side;
    for (int c = QS_Y; c >= (int)p->cells->first; c--) {
        if (!is_even_square(p, (enum qs_channel)c, first, size, &square))
            return false;
    }
    if (!adds_up(p, size, &square) || is_clipped(p, &square) || is_needless(p, &square))
        return false;
    p->beside[p->beside_count++] = p->list->count;
    p->list->item[p->list->count++] = square;
    return true;
}

static int
round_up(int value, int step)
{
    return (value + step - 1) / step * step;
}

/* Goes over the frame with squares of one size. */
static void
try_size(struct packing *p, const struct qs_size *size)
{
    const int step = p->windows->step, n = size->side;
    const int stride = round_up(n / 10 > 1 ? n / 10 : 1, step);

    for (int row = 0; row + n <= p->cells->rows; row += stride) {
        int column = 0;

        list_beside(p, row, n);
        while (column + n <= p->cells->columns) {
            int clear = round_up(free_column(p, column, n), step);

            if (p->list->count == QS_PACK_MAX || p->budget < 0.0)
                return;
            if (clear > column) {
                column = clear;
                continue;
            }
            if (is_promising(p, column, row, n) && is_clear(p, column, row, n) &&
                try_place(p, size, column, row))
                continue;
            column += stride;
        }
    }
}

enum qs_status
qs_pack(struct qs_square_list *list, const struct qs_cells *cells,
        const struct qs_windows *windows, const struct qs_floor *floor, int largest,
        int ample, struct qs_error *err)
{
    struct packing p = {
        .cells = cells, .windows = windows, .floor = floor, .ample = ample};

    list->count = 0;
    p.list = list;
    p.share_even = qs_floor_is_coarse(floor) ? SHARE_EVEN_COARSE : SHARE_EVEN;
    p.even = qs_alloc(((size_t)windows->columns + 1) * ((size_t)windows->rows + 1),
                      sizeof *p.even);
    p.residual = qs_alloc((size_t)QS_WINDOW_MAX * QS_WINDOW_MAX, sizeof *p.residual);
    if (p.even == NULL || p.residual == NULL) {
        qs_free(p.even);
        qs_free(p.residual);
        return qs_fail_memory(err);
    }
    qs_size_init(&p.grid, windows->side);
    list_sizes(&p, largest);
    sum_even(&p);
    if (!floor->constant)
        learn_sizes(&p);
    for (int i = 0; i < p.size_count; i++) {
        /* What a size leaves over goes to the next: no size starves the smaller ones.
         */
        p.budget += CELLS_BUDGET / p.size_count;
        try_size(&p, &p.size[i]);
    }
    qs_free(p.even);
    qs_free(p.residual);
    return QS_OK;
}
