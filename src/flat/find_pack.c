/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/find_pack.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "flat/find_sort.h"

enum {
    SIZES_MAX = 24,
    PROBES = 24,   /* squares of one size looked at before the size is used */
    PROBES_MIN = 6 /* fewest that say anything */
};

/*
 * Share of the grid's windows inside a square that must be even.  An edge through
 * the square costs more of them; noise costs 1 %, or 12 % where it is so coarse
 * that a window holds few waves of it.
 */
static const double SHARE_EVEN = 0.93;
static const double SHARE_EVEN_COARSE = 0.8;
static const double COARSE_RATIO = 0.5;
static const double SPREADS = 3.5; /* how far from the floor a window may lie */
static const double STEP_LIMIT_Y =
    10.0; /* stricter in y, where faint edges are plainest */
static const double SAME_TONE_STOPS = 0.25;
static const double CELLS_BUDGET =
    1.2e7; /* cells looked at for all sizes, as y alone */

/* One size of square, and how its figures compare with those of the grid's windows. */
struct size {
    int side;
    double within; /* change of within */
    double growth; /* of between */
    double core;   /* of core */
    double step_x; /* of the variance of a step */
    double step_y;
    struct qs_window_basis basis;
};

struct packing {
    const struct qs_cells *cells;
    const struct qs_windows *windows;
    const struct qs_floor *floor;
    unsigned *even; /* summed-area table of even windows, (rows + 1) x (columns + 1) */
    double *residual;
    double share_even; /* of the grid's windows inside a square */
    double budget;
    struct size grid; /* the grid's own windows */
    struct size size[SIZES_MAX];
    int size_count;
    int ample;
    struct qs_square_list *list;
};

/* Whether the noise is so coarse that small squares would hide much of it. */
static bool
is_coarse(const struct qs_floor *floor)
{
    return !floor->constant && floor->channel[QS_Y].ratio > COARSE_RATIO;
}

static bool
near(double value, double floor, double spread, double least)
{
    return fabs(log(value / floor)) < fmax(SPREADS * spread, least);
}

/* Whether the figures of a square of this size lie on the floor. */
static bool
is_on_floor(const struct packing *p, enum qs_channel channel, const struct size *size,
            const struct qs_window_fit *fit, double limit, double *expected)
{
    const struct qs_floor_channel *f = &p->floor->channel[channel];
    const double shrink = qs_floor_shrink(p->windows->side, size->side);
    double within, between;

    if (fit->within <= 0.0 || fit->between <= 0.0)
        return false;
    qs_floor_at(f, fit, &within, &between);
    *expected = between * size->growth;
    return near(fit->within, within * size->within, shrink * f->within_spread, 0.05) &&
           near(fit->between, *expected, shrink * f->between_spread, 0.1) &&
           near(fit->core, between * size->core * exp(f->core), shrink * f->core_spread,
                0.1) &&
           fit->step_x < limit * size->step_x * f->step_x * between &&
           fit->step_y < limit * size->step_y * f->step_y * between;
}

/* Whether a window's variance is what its tone calls for. */
static bool
has_law(const struct packing *p, size_t i)
{
    const struct qs_window_tone *tone = &p->windows->tone[i];
    const struct qs_floor_channel *y = &p->floor->channel[QS_Y];

    return tone->within > 0.0 && near(tone->within, qs_curve_at(&y->within, tone->mean),
                                      y->within_spread, 0.05);
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
           is_on_floor(p, QS_Y, &p->grid, fit, QS_STEP_LIMIT, &expected);
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

/* Whether enough of the grid's windows inside a square at this cell are even. */
static bool
is_promising(const struct packing *p, int column, int row, int side)
{
    const int step = p->windows->step, wide = p->windows->columns + 1;
    int x0 = column / step, y0 = row / step;
    int across = (side - p->windows->side) / step + 1;
    const unsigned *top = p->even + y0 * wide + x0;
    const unsigned *bottom = top + across * wide;
    unsigned hits = bottom[across] - bottom[0] - top[across] + top[0];

    return hits >= p->share_even * across * across;
}

static size_t
cell_at(const struct packing *p, int column, int row)
{
    return (size_t)row * (size_t)p->cells->columns + (size_t)column;
}

/* Value at a share of the way through `values`, which end up in order. */
static double
quantile(double *values, int count, double share)
{
    qs_sort(values, (size_t)count);
    return values[(int)(share * count)];
}

static double
bounded(double value, double least, double most)
{
    return value < least ? least : value > most ? most : value;
}

/* What promising squares of one size show, against the floor. */
struct probes {
    int count;
    double within[PROBES];
    double between[PROBES];
    double core[PROBES];
    double step_x[PROBES];
    double step_y[PROBES];
};

/* A square's variance in the channel with a law, against that law. */
static double
tone_ratio(const struct packing *p, int column, int row, int side)
{
    const struct qs_floor_channel *y = &p->floor->channel[QS_Y];
    struct qs_window_tone tone =
        qs_window_tone_of(p->cells, cell_at(p, column, row), side);

    return tone.within / qs_curve_at(&y->within, tone.mean);
}

static void
probe_place(const struct packing *p, const struct size *size, int column, int row,
            struct probes *probes)
{
    const struct qs_floor_channel *f = &p->floor->channel[QS_Y];
    const int i = probes->count++;
    struct qs_window_fit fit;
    double within, between;

    qs_window_measure(p->cells, QS_Y, cell_at(p, column, row), &size->basis, &fit);
    qs_floor_at(f, &fit, &within, &between);
    probes->within[i] = tone_ratio(p, column, row, size->side);
    probes->between[i] = fit.between / between;
    probes->core[i] = fit.core / (between * exp(f->core));
    probes->step_x[i] = fit.step_x / between / f->step_x;
    probes->step_y[i] = fit.step_y / between / f->step_y;
}

static void
probe_places(const struct packing *p, const struct size *size, struct probes *probes)
{
    const int step = p->windows->step, n = size->side;
    int promising = 0, seen = 0, stride;

    for (int row = 0; row + n <= p->cells->rows; row += step) {
        for (int column = 0; column + n <= p->cells->columns; column += step)
            promising += is_promising(p, column, row, n);
    }
    stride = promising / PROBES + 1;
    for (int row = 0; row + n <= p->cells->rows; row += step) {
        for (int column = 0; column + n <= p->cells->columns; column += step) {
            if (is_promising(p, column, row, n) && seen++ % stride == 0)
                probe_place(p, size, column, row, probes);
        }
    }
}

/*
 * Most that the variance of a step may grow, from `base` in the grid's windows, in
 * squares `longer` times as long.  Whole rows or columns with noise of their own
 * make it grow as the length; fine noise does not, and where squares of a staircase
 * pose as even, they must not set the measure for each other.
 */
static double
step_cap(double base, double longer, bool coarse)
{
    double fine = fmin(base, 1.3);

    if (coarse)
        return 2.5 * longer;

    return 1.15 * (fine + (base - fine) * longer) / base;
}

/*
 * Looks at promising squares of one size to see how the figures of the floor
 * change with the size: a larger square takes in longer waves of the noise.
 */
static void
probe(const struct packing *p, struct size *size, const struct size *smaller)
{
    const struct qs_floor_channel *f = &p->floor->channel[QS_Y];
    const double longer = (double)size->side / p->windows->side;
    const double slack = is_coarse(p->floor)           ? 1.5
                         : f->step_x + f->step_y > 3.0 ? 1.0
                                                       : 0.0;
    const double quartile = qs_window_step_quartile(size->side);
    struct probes probes = {0};

    size->within = smaller->within;
    size->growth = smaller->growth;
    size->core = smaller->core;
    size->step_x = smaller->step_x;
    size->step_y = smaller->step_y;
    if (size->side > p->windows->side)
        probe_places(p, size, &probes);
    if (probes.count < PROBES_MIN)
        return;
    size->within = bounded(quantile(probes.within, probes.count, 0.4), smaller->within,
                           1.0 + 0.1 * slack);
    size->growth = bounded(quantile(probes.between, probes.count, 0.4), smaller->growth,
                           1.1 + slack);
    size->core =
        bounded(quantile(probes.core, probes.count, 0.4), smaller->core, 1.1 + slack);
    size->step_x =
        bounded(quantile(probes.step_x, probes.count, 0.25) / quartile, smaller->step_x,
                step_cap(f->step_x, longer, is_coarse(p->floor)));
    size->step_y =
        bounded(quantile(probes.step_y, probes.count, 0.25) / quartile, smaller->step_y,
                step_cap(f->step_y, longer, is_coarse(p->floor)));
}

/* Sides from `largest` down to the grid's windows', each some 15 % less than the last.
 */
static void
list_sizes(struct packing *p, int largest)
{
    const int smallest = is_coarse(p->floor) ? p->ample : p->windows->side;
    int side = largest;

    while (p->size_count < SIZES_MAX && side >= smallest) {
        struct size *size = &p->size[p->size_count++];

        *size = (struct size){side, 1.0, 1.0, 1.0, 1.0, 1.0, {0}};
        qs_window_basis_init(&size->basis, side);
        side = side > smallest && side * 17 / 20 < smallest ? smallest : side * 17 / 20;
    }
}

/* Whether no cell of a square stands out of its surface: dust, specks, corners. */
static bool
has_no_speck(const struct packing *p, enum qs_channel channel, size_t first,
             const struct size *size, double between)
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

/* Whether a square is even in one channel. */
static bool
is_even_square(const struct packing *p, enum qs_channel channel, size_t first,
               const struct size *size, struct qs_square *square)
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
    return is_on_floor(p, channel, size, &fit,
                       channel == QS_Y ? STEP_LIMIT_Y : QS_STEP_LIMIT, &expected) &&
           has_no_speck(p, channel, first, size, expected);
}

/* Whether y varies by what the noise of r, g and b adds up to. */
static bool
adds_up(const struct packing *p, const struct size *size,
        const struct qs_square *square)
{
    const double shrink = qs_floor_shrink(p->windows->side, size->side);

    if (p->floor->constant || p->cells->first == QS_Y)
        return true;
    return near(square->within_y, qs_floor_sum(p->floor, square->mean) * size->within,
                shrink * p->floor->sum_spread, 0.05);
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

/* First free column at or after `column` for a square of this side; see try_size. */
static int
free_column(const struct packing *p, int column, int row, int side)
{
    bool moved = true;

    while (moved) {
        moved = false;
        for (int i = 0; i < p->list->count; i++) {
            const struct qs_square *s = &p->list->item[i];

            if (row < s->row + s->side && s->row < row + side &&
                column < s->column + s->side && s->column < column + side) {
                column = s->column + s->side;
                moved = true;
            }
        }
    }
    return column;
}

static bool
try_place(struct packing *p, const struct size *size, int column, int row)
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
try_size(struct packing *p, const struct size *size)
{
    const int step = p->windows->step, n = size->side;
    const int stride = round_up(n / 10 > 1 ? n / 10 : 1, step);

    for (int row = 0; row + n <= p->cells->rows; row += stride) {
        int column = 0;

        while (column + n <= p->cells->columns) {
            int clear = round_up(free_column(p, column, row, n), step);

            if (p->list->count == QS_PACK_MAX || p->budget < 0.0)
                return;
            if (clear > column) {
                column = clear;
                continue;
            }
            if (is_promising(p, column, row, n) && try_place(p, size, column, row))
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
    p.share_even = is_coarse(floor) ? SHARE_EVEN_COARSE : SHARE_EVEN;
    p.even = qs_alloc(((size_t)windows->columns + 1) * ((size_t)windows->rows + 1),
                      sizeof *p.even);
    p.residual = qs_alloc((size_t)QS_WINDOW_MAX * QS_WINDOW_MAX, sizeof *p.residual);
    if (p.even == NULL || p.residual == NULL) {
        qs_free(p.even);
        qs_free(p.residual);
        return qs_fail_memory(err);
    }
    p.grid = (struct size){windows->side, 1.0, 1.0, 1.0, 1.0, 1.0, {0}};
    list_sizes(&p, largest);
    sum_even(&p);
    for (int i = p.size_count - 1; i >= 0 && !floor->constant; i--)
        probe(&p, &p.size[i], i + 1 < p.size_count ? &p.size[i + 1] : &p.grid);
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
