/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/traces_rows.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/lanes.h"
#include "base/memory.h"
#include "base/order.h"

static const double PI = 3.14159265358979323846;

enum {
    PIECE_PX = 32, /* at least */
    LEAST_COLUMNS = 8,
    LEAST_ROWS = 128,
    STRETCH = 64,   /* rows whose changes are compared with each other */
    PARTS = 8,      /* of the frame, side by side, that are compared */
    FIRST_WAVE = 4, /* waves down the frame; slower ones are light that falls off */
    SPARED = 3,     /* waves next to a peak that it leaks into */
    BESIDE = 16     /* waves on either side that it is compared with */
};

/* Darker than this, a change relative to the brightness says nothing. */
static const double DARKEST = 0.002;

/* A change of so many medians is an edge: noise gives one in 15 million, a sine none.
 */
static const double EDGE = 8.0;

/* One false alarm in a million frames, and a wave that is worth a word. */
static const double CHANCE = 1e-6;
static const double LEAST_AMPLITUDE = 0.0015;

/* One wave in 10 000 that stands out by chance is alike across the frame by chance. */
static const double CHANCE_ALIKE = 1e-4;

enum qs_status
qs_row_waves_init(struct qs_row_waves *waves, int width, int height,
                  struct qs_error *err)
{
    int piece = width / QS_ROW_COLUMNS > PIECE_PX ? width / QS_ROW_COLUMNS : PIECE_PX;

    *waves = (struct qs_row_waves){.height = height, .piece_px = piece};
    if (width / piece < LEAST_COLUMNS || height < LEAST_ROWS)
        return QS_OK;
    waves->columns = width / piece < QS_ROW_COLUMNS ? width / piece : QS_ROW_COLUMNS;
    waves->mean =
        qs_alloc((size_t)waves->columns * (size_t)height, sizeof *waves->mean);
    if (waves->mean != NULL)
        return QS_OK;
    qs_row_waves_clear(waves);
    return qs_fail_memory(err);
}

void
qs_row_waves_clear(struct qs_row_waves *waves)
{
    qs_free(waves->mean);
    *waves = (struct qs_row_waves){.height = 0};
}

QS_CLONES static double
sum_of(const float *px, int count)
{
    typedef float eight __attribute__((vector_size(8 * sizeof(float))));
    qs_lanes lanes = {0.0};
    int x = 0;

    for (; x + 8 <= count; x += 8) {
        eight v;

        memcpy(&v, px + x, sizeof v);
        lanes += __builtin_convertvector(v, qs_lanes);
    }
    for (; x < count; x++)
        lanes[x & 7] += (double)px[x];
    return qs_lanes_total(&lanes);
}

void
qs_row_waves_add(struct qs_row_waves *waves, const struct qs_plane *rows, int first)
{
    for (int y = 0; y < rows->height && first + y < waves->height; y++)
        for (int k = 0; k < waves->columns; k++) {
            const float *piece = qs_plane_row(rows, y) + (ptrdiff_t)k * waves->piece_px;

            waves->mean[(ptrdiff_t)k * waves->height + first + y] =
                (float)(sum_of(piece, waves->piece_px) / waves->piece_px);
        }
}

/* ---- from brightness to changes ---- */

/* The rows seen, made into changes of the whole frame and of its parts. */
struct changes {
    int rows;
    double *one;   /* [rows]: of one column */
    double *room;  /* [rows] */
    double *usual; /* [columns]: median size of a column's changes */
    double *part;  /* [PARTS][rows]: weighted sums, then means */
    double *all;   /* [rows] */
    double weight[PARTS];
};

/* Median size of the changes in rows from .. to - 1; 0 where all are alike or dark. */
static double
usual_size(struct changes *c, int from, int to)
{
    int count = 0;

    for (int y = from; y < to; y++)
        if (c->one[y] != 0.0)
            c->room[count++] = fabs(c->one[y]);
    return 2 * count > to - from ? qs_median(c->room, (size_t)count) : 0.0;
}

/*
 * Takes edges out: changes far beyond what is usual in this stretch of rows and the two
 * next to it, for a brighter part of the scene has less noise.
 */
static void
drop_edges(struct changes *c)
{
    int stretches = c->rows / STRETCH;
    double before = usual_size(c, 0, STRETCH), own = before;

    for (int k = 0; k < stretches; k++) {
        int from = k * STRETCH, to = k + 1 < stretches ? from + STRETCH : c->rows;
        int after_to = to + STRETCH < c->rows ? to + STRETCH : c->rows;
        double after = to < c->rows ? usual_size(c, to, after_to) : own;
        double most = EDGE * fmax(own, fmax(before, after));

        for (int y = from; y < to; y++)
            if (fabs(c->one[y]) > most)
                c->one[y] = 0.0;
        before = own;
        own = after;
    }
}

/* T34: one column's changes, relative to the brightness; returns their usual size. */
static double
column_changes(const struct qs_row_waves *waves, int column, struct changes *c)
{
    const float *mean = waves->mean + (ptrdiff_t)column * waves->height;
    double usual;

    c->one[0] = 0.0;
    for (int y = 1; y < c->rows; y++) {
        double was = (double)mean[y - 1], now = (double)mean[y];
        bool is_dark = was < DARKEST || now < DARKEST;

        c->one[y] = is_dark ? 0.0 : 2.0 * (now - was) / (now + was);
    }
    usual = usual_size(c, 1, c->rows);
    drop_edges(c);
    return usual;
}

/*
 * Columns are weighted by how quiet they are, but none by more than twice what the
 * middle one weighs, so that no single one speaks for its part.
 */
static void
sum_changes(const struct qs_row_waves *waves, struct changes *c)
{
    double middle;

    for (int k = 0; k < waves->columns; k++)
        c->usual[k] = column_changes(waves, k, c);
    memcpy(c->room, c->usual, (size_t)waves->columns * sizeof *c->room);
    middle = qs_median(c->room, (size_t)waves->columns);
    for (int k = 0; k < waves->columns; k++) {
        int part = k * PARTS / waves->columns;
        double usual = column_changes(waves, k, c);
        double weight = 1.0 / (usual * usual + middle * middle);

        if (!(usual > 0.0))
            continue;
        c->weight[part] += weight;
        for (int y = 0; y < c->rows; y++)
            c->part[(ptrdiff_t)part * c->rows + y] += weight * c->one[y];
    }
}

/* A window of Hann, so that a wave leaks into few others. */
static double
window(int y, int rows)
{
    return 0.5 - 0.5 * cos(2.0 * PI * (y + 0.5) / rows);
}

/* The means, faded out at both ends; false if a part says nothing. */
static bool
mean_changes(struct changes *c)
{
    double all = 0.0;

    for (int part = 0; part < PARTS; part++) {
        if (!(c->weight[part] > 0.0))
            return false;
        all += c->weight[part];
    }
    for (int y = 0; y < c->rows; y++) {
        double fade = window(y, c->rows), sum = 0.0;

        for (int part = 0; part < PARTS; part++) {
            double *at = &c->part[(ptrdiff_t)part * c->rows + y];

            sum += *at;
            *at *= fade / c->weight[part];
        }
        c->all[y] = fade * sum / all;
    }
    return true;
}

static enum qs_status
changes_init(struct changes *c, const struct qs_row_waves *waves, struct qs_error *err)
{
    size_t rows = (size_t)waves->rows, columns = (size_t)waves->columns;

    *c = (struct changes){.rows = waves->rows};
    c->one = qs_alloc(rows, sizeof(double));
    c->room = qs_alloc(rows + columns, sizeof(double));
    c->usual = qs_alloc(columns, sizeof(double));
    c->part = qs_alloc(PARTS * rows, sizeof(double));
    c->all = qs_alloc(rows, sizeof(double));
    if (c->one == NULL || c->room == NULL || c->usual == NULL || c->part == NULL ||
        c->all == NULL)
        return qs_fail_memory(err);
    memset(c->part, 0, PARTS * rows * sizeof(double));
    return QS_OK;
}

static void
changes_clear(struct changes *c)
{
    qs_free(c->one);
    qs_free(c->room);
    qs_free(c->usual);
    qs_free(c->part);
    qs_free(c->all);
}

/* ---- from changes to a wave ---- */

/* The changes at one wave. */
struct turned {
    double re;
    double im;
};

static struct turned
turn(const double *change, int count, int wave)
{
    struct turned sum = {0.0, 0.0};
    double turn_re = cos(2.0 * PI * wave / count),
           turn_im = sin(2.0 * PI * wave / count);
    double at_re = 1.0, at_im = 0.0;

    for (int i = 0; i < count; i++) {
        double kept = at_re;

        sum.re += change[i] * at_re;
        sum.im += change[i] * at_im;
        at_re = at_re * turn_re - at_im * turn_im;
        at_im = kept * turn_im + at_im * turn_re;
    }
    return sum;
}

/*
 * T35: power of eight waves from `wave` on.  Each turns as in turn(); none waits for
 * another one.
 */
QS_CLONES static void
eight_powers(const double *change, int count, int wave, double power[8])
{
    qs_lanes re = {0.0}, im = re, turn_re, turn_im, at_re, at_im = re;

    for (int k = 0; k < 8; k++) {
        turn_re[k] = cos(2.0 * PI * (wave + k) / count);
        turn_im[k] = sin(2.0 * PI * (wave + k) / count);
        at_re[k] = 1.0;
    }
    for (int i = 0; i < count; i++) {
        qs_lanes kept = at_re;

        re += change[i] * at_re;
        im += change[i] * at_im;
        at_re = at_re * turn_re - at_im * turn_im;
        at_im = kept * turn_im + at_im * turn_re;
    }
    re = re * re + im * im;
    memcpy(power, &re, sizeof re);
}

/* What a wave is compared with: power of its neighbours. */
struct level {
    double sum;
    double count;
};

static void
add_neighbour(const double *power, int waves, int wave, double turn_2, int count,
              struct level *change, struct level *brightness)
{
    double own;

    if (wave < 1 || wave >= waves)
        return;
    own = 2.0 * sin(PI * wave / count);
    change->sum += power[wave];
    change->count += 1.0;
    brightness->sum += power[wave] * turn_2 / (own * own);
    brightness->count += 1.0;
}

/*
 * Mean power on both sides of a wave: of changes, as light that wanders makes it alike
 * at all waves, and of brightness, as noise does; the lower of both.
 */
static double
beside(const double *power, int waves, int wave, int count)
{
    struct level change = {0.0, 0.0}, brightness = {0.0, 0.0};
    double turn = 2.0 * sin(PI * wave / count);

    for (int k = SPARED + 1; k <= SPARED + BESIDE; k++) {
        add_neighbour(power, waves, wave - k, turn * turn, count, &change, &brightness);
        add_neighbour(power, waves, wave + k, turn * turn, count, &change, &brightness);
    }
    if (!(change.count > 0.0))
        return 0.0;
    return fmin(change.sum / change.count, brightness.sum / brightness.count);
}

/*
 * T36: a wave stands out where chance gives it once in 1 / CHANCE frames.  A window of
 * Hann makes neighbours alike: half as many of them are independent.
 */
static void
find_wave(const double *power, int waves, int count, struct qs_row_wave *out)
{
    for (int wave = FIRST_WAVE; wave < waves - 2; wave++) {
        double level = beside(power, waves, wave, count);
        double m = BESIDE, turn = 2.0 * sin(PI * wave / count);
        /* a sine of amplitude a has a change of a x turn; the window's mean is 1/2 */
        double amplitude = 4.0 * sqrt(power[wave]) / count / turn;

        if (!(level > 0.0) || amplitude < LEAST_AMPLITUDE ||
            waves * pow(1.0 + power[wave] / level / m, -m) > CHANCE)
            continue;
        if (out->seen && amplitude <= out->amplitude)
            continue;
        *out = (struct qs_row_wave){true, (double)count / wave, amplitude};
    }
}

/*
 * T37: whether the parts of the frame have the wave alike.  For n parts of noise, n
 * times the squared mean over the scatter follows F with 2 and 2 (n - 1) degrees of
 * freedom, whose tail is (1 + F / (n - 1))^-(n - 1).
 */
static bool
is_alike(const struct changes *c, int wave)
{
    struct turned part[PARTS], mean = {0.0, 0.0};
    double n = PARTS, scatter = 0.0, size;

    for (int k = 0; k < PARTS; k++) {
        part[k] = turn(c->part + (ptrdiff_t)k * c->rows, c->rows, wave);
        mean.re += part[k].re / n;
        mean.im += part[k].im / n;
    }
    for (int k = 0; k < PARTS; k++) {
        double re = part[k].re - mean.re, im = part[k].im - mean.im;

        scatter += (re * re + im * im) / (n - 1.0);
    }
    size = n * (mean.re * mean.re + mean.im * mean.im);
    if (!(size > 0.0))
        return false;
    return scatter <= 0.0 ||
           pow(1.0 + size / scatter / (n - 1.0), -(n - 1.0)) < CHANCE_ALIKE;
}

static enum qs_status
look_at_changes(const struct changes *c, struct qs_row_wave *out, struct qs_error *err)
{
    int half = c->rows / 2;
    double *power = qs_alloc((size_t)half + 8, sizeof *power);

    if (power == NULL)
        return qs_fail_memory(err);
    for (int wave = 0; wave <= half; wave += 8)
        eight_powers(c->all, c->rows, wave, power + wave);
    find_wave(power, half + 1, c->rows, out);
    qs_free(power);
    if (out->seen && !is_alike(c, (int)(c->rows / out->period_px + 0.5)))
        *out = (struct qs_row_wave){.seen = false};
    return QS_OK;
}

enum qs_status
qs_row_waves_judge(const struct qs_row_waves *waves, struct qs_row_wave *out,
                   struct qs_error *err)
{
    struct changes changes = {0};
    enum qs_status status;

    *out = (struct qs_row_wave){.seen = false};
    if (waves->columns == 0 || waves->rows < LEAST_ROWS)
        return QS_OK;
    status = changes_init(&changes, waves, err);
    if (status == QS_OK) {
        sum_changes(waves, &changes);
        if (mean_changes(&changes))
            status = look_at_changes(&changes, out, err);
    }
    changes_clear(&changes);
    return status;
}
