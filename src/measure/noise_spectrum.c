/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/noise_spectrum.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/memory.h"

static const double PI = 3.14159265358979323846;

enum {
    N = QS_SPECTRUM_NODES,
    LOW_BINS = 32 /* of the removed surface: what its terms hold beyond is below 1 % */
};

/* Dense where a strong reduction looks, even where demosaicing bends the power. */
const double qs_spectrum_cpp[QS_SPECTRUM_NODES] = {
    0.0,       1.0 / 64.0, 1.0 / 32.0, 3.0 / 64.0, 1.0 / 16.0, 3.0 / 32.0,
    1.0 / 8.0, 3.0 / 16.0, 1.0 / 4.0,  3.0 / 8.0,  1.0 / 2.0};

/*
 * S15: how much neighbouring nodes are pulled together, in frequencies of a patch.  It
 * decides where a patch is too small to have a frequency near a node, and hardly
 * anything elsewhere.
 */
static const double PULL = 0.05;

/* A frequency between two nodes: the lower one, and the upper one's share. */
struct between {
    int node;
    double share;
};

static struct between
find_between(double f_cpp)
{
    struct between out = {0, 0.0};

    while (out.node < N - 2 && f_cpp > qs_spectrum_cpp[out.node + 1])
        out.node++;
    out.share = (f_cpp - qs_spectrum_cpp[out.node]) /
                (qs_spectrum_cpp[out.node + 1] - qs_spectrum_cpp[out.node]);
    return out;
}

/* The frequencies of one axis but zero, and the normal equations of S14 along it. */
struct axis {
    int first; /* bins first .. last of the transform's `length` */
    int last;
    struct between *at;  /* of bin first + i */
    double *count;       /* frequencies that the bin stands for: 1, or 2 */
    double normal[N][N]; /* factored by Cholesky, lower triangle */
};

static void
factor(double a[N][N])
{
    for (int j = 0; j < N; j++) {
        for (int k = 0; k < j; k++)
            a[j][j] -= a[j][k] * a[j][k];
        a[j][j] = sqrt(a[j][j]);
        for (int i = j + 1; i < N; i++) {
            for (int k = 0; k < j; k++)
                a[i][j] -= a[i][k] * a[j][k];
            a[i][j] /= a[j][j];
        }
    }
}

/* Solves for x in place; its elements lie `step` apart. */
static void
solve(const double a[N][N], double *x, ptrdiff_t step)
{
    for (int i = 0; i < N; i++) {
        for (int k = 0; k < i; k++)
            x[i * step] -= a[i][k] * x[k * step];
        x[i * step] /= a[i][i];
    }
    for (int i = N - 1; i >= 0; i--) {
        for (int k = i + 1; k < N; k++)
            x[i * step] -= a[k][i] * x[k * step];
        x[i * step] /= a[i][i];
    }
}

/* Bins 1 .. length / 2 stand for their mirror images as well; of all bins none does. */
static enum qs_status
axis_init(struct axis *axis, int length, bool half, struct qs_error *err)
{
    int bins;

    axis->first = 1;
    axis->last = half ? length / 2 : length - 1;
    bins = axis->last - axis->first + 1;
    axis->at = qs_alloc((size_t)bins, sizeof *axis->at);
    axis->count = qs_alloc((size_t)bins, sizeof *axis->count);
    if (axis->at == NULL || axis->count == NULL)
        return qs_fail_memory(err);
    for (int i = 0; i < bins; i++) {
        int bin = axis->first + i;
        int folded = 2 * bin > length ? length - bin : bin;
        struct between at = find_between((double)folded / length);
        double count = half && 2 * bin < length ? 2.0 : 1.0;
        double low = 1.0 - at.share, high = at.share;

        axis->at[i] = at;
        axis->count[i] = count;
        axis->normal[at.node][at.node] += count * low * low;
        axis->normal[at.node + 1][at.node + 1] += count * high * high;
        axis->normal[at.node + 1][at.node] += count * low * high;
    }
    for (int k = 0; k + 1 < N; k++) {
        axis->normal[k][k] += PULL;
        axis->normal[k + 1][k + 1] += PULL;
        axis->normal[k + 1][k] -= PULL;
    }
    factor(axis->normal);
    return QS_OK;
}

static void
axis_clear(struct axis *axis)
{
    qs_free(axis->at);
    qs_free(axis->count);
}

/* |transform|^2 of the polynomials of order 1 and 2 at the lowest bins of an axis. */
struct polynomial_power {
    double at[2][LOW_BINS + 1];
    int bins;
};

static void
polynomial_powers(const double *polynomials, int length, struct polynomial_power *out)
{
    out->bins = length / 2 < LOW_BINS ? length / 2 : LOW_BINS;
    for (int order = 1; order <= 2; order++)
        for (int k = 0; k <= out->bins; k++) {
            const double *p = polynomials + (ptrdiff_t)order * length;
            double re = 0.0, im = 0.0;

            for (int n = 0; n < length; n++) {
                double angle = 2.0 * PI * (double)((long)k * n % length) / length;

                re += p[n] * cos(angle);
                im += p[n] * sin(angle);
            }
            out->at[order - 1][k] = re * re + im * im;
        }
}

/* Power of one of the two polynomials at a bin of either sign. */
static double
polynomial_at(const struct polynomial_power *powers, int order, int bin, int length)
{
    int k = 2 * bin > length ? length - bin : bin;

    return k <= powers->bins ? powers->at[order - 1][k] : 0.0;
}

/* A patch being looked at. */
struct looking {
    const struct qs_noise_shape *shape;
    struct axis across, down;
    struct polynomial_power x, y;
};

static enum qs_status
looking_init(struct looking *now, const struct qs_noise_shape *shape,
             struct qs_error *err)
{
    struct qs_shading_basis basis = {0};
    enum qs_status status;

    *now = (struct looking){.shape = shape};
    status = axis_init(&now->across, shape->width, true, err);
    if (status == QS_OK)
        status = axis_init(&now->down, shape->height, false, err);
    if (status == QS_OK)
        status = qs_shading_basis_init(&basis, shape->width, shape->height, err);
    if (status != QS_OK)
        return status;
    polynomial_powers(basis.x, shape->width, &now->x);
    polynomial_powers(basis.y, shape->height, &now->y);
    qs_shading_basis_clear(&basis);
    return QS_OK;
}

static void
looking_clear(struct looking *now)
{
    axis_clear(&now->across);
    axis_clear(&now->down);
}

/* S13: power at a bin off the axes, with what the surface's xy term took given back. */
static double
power_off_axes(const struct looking *now, int i, int j)
{
    const struct qs_noise_shape *shape = now->shape;
    double pixels = (double)shape->width * shape->height;
    double power = shape->power[(ptrdiff_t)j * (shape->width / 2 + 1) + i];

    return power + shape->removed_term[QS_TERM_XY] / pixels *
                       polynomial_at(&now->x, 1, i, shape->width) *
                       polynomial_at(&now->y, 1, j, shape->height);
}

/* S14: the nodes that come closest to the power off the axes. */
static void
fit_pixel(const struct looking *now, double pixel[N][N])
{
    const struct axis *across = &now->across, *down = &now->down;

    for (int j = down->first; j <= down->last; j++) {
        struct between v = down->at[j - down->first];

        for (int i = across->first; i <= across->last; i++) {
            struct between u = across->at[i - across->first];
            double power = across->count[i - across->first] * power_off_axes(now, i, j);
            double low = power * (1.0 - v.share), high = power * v.share;

            pixel[v.node][u.node] += low * (1.0 - u.share);
            pixel[v.node][u.node + 1] += low * u.share;
            pixel[v.node + 1][u.node] += high * (1.0 - u.share);
            pixel[v.node + 1][u.node + 1] += high * u.share;
        }
    }
    for (int k = 0; k < N; k++)
        solve(across->normal, pixel[k], 1);
    for (int k = 0; k < N; k++)
        solve(down->normal, &pixel[0][k], N);
}

/* Adds one bin of an axis to the right-hand side of S16. */
static void
add_line(const struct axis *axis, int bin, double density, double nodes[N])
{
    struct between at = axis->at[bin - axis->first];

    density *= axis->count[bin - axis->first];
    nodes[at.node] += density * (1.0 - at.share);
    nodes[at.node + 1] += density * at.share;
}

/* Power that the terms of one axis alone, of orders 1 and 2, took from a bin on it. */
static double
taken_on_axis(const struct looking *now, bool down, int bin)
{
    const struct qs_noise_shape *shape = now->shape;
    const struct polynomial_power *powers = down ? &now->y : &now->x;
    int length = down ? shape->height : shape->width;
    const double *removed = shape->removed_term;
    double first = removed[down ? QS_TERM_Y : QS_TERM_X];
    double second = removed[down ? QS_TERM_YY : QS_TERM_XX];

    return (first * polynomial_at(powers, 1, bin, length) +
            second * polynomial_at(powers, 2, bin, length)) /
           length;
}

/* S16: what lies on an axis beyond the pixels' own part. */
static void
fit_lines(const struct looking *now, struct qs_spectrum *out)
{
    const struct qs_noise_shape *shape = now->shape;
    int half = shape->width / 2 + 1;

    for (int j = now->down.first; j <= now->down.last; j++) {
        double folded = 2 * j > shape->height ? shape->height - j : j;
        double power = shape->power[(ptrdiff_t)j * half] + taken_on_axis(now, true, j);
        double own = qs_spectrum_at(out, 0.0, folded / shape->height);

        add_line(&now->down, j, (power - own) / shape->width, out->row);
    }
    for (int i = now->across.first; i <= now->across.last; i++) {
        double power = shape->power[i] + taken_on_axis(now, false, i);
        double own = qs_spectrum_at(out, (double)i / shape->width, 0.0);

        add_line(&now->across, i, (power - own) / shape->height, out->column);
    }
    solve(now->down.normal, out->row, 1);
    solve(now->across.normal, out->column, 1);
}

enum qs_status
qs_spectrum_measure(const struct qs_noise_shape *shape, struct qs_spectrum *out,
                    struct qs_error *err)
{
    struct looking now;
    enum qs_status status = looking_init(&now, shape, err);

    *out = (struct qs_spectrum){0};
    if (status == QS_OK) {
        fit_pixel(&now, out->pixel);
        fit_lines(&now, out);
    }
    looking_clear(&now);
    return status;
}

/* Integral over 0 <= f <= 0.5 of the function of node k. */
static double
node_width(int k)
{
    const double *f = qs_spectrum_cpp;

    return 0.5 *
           ((k > 0 ? f[k] - f[k - 1] : 0.0) + (k + 1 < N ? f[k + 1] - f[k] : 0.0));
}

/* The same of cos(2 pi f d) times it, d > 0, from the cosines at all nodes. */
static double
node_cosine(int k, int d, const double cosine[N])
{
    const double *f = qs_spectrum_cpp;
    double omega = 2.0 * PI * d, sum = 0.0;

    if (k > 0)
        sum += (cosine[k] - cosine[k - 1]) / (f[k] - f[k - 1]);
    if (k + 1 < N)
        sum += (cosine[k] - cosine[k + 1]) / (f[k + 1] - f[k]);
    return sum / (omega * omega);
}

/* cos(2 pi f d) at all nodes, from those of d - 1 and d - 2: by the sum of angles. */
static void
next_cosines(const double one[N], double before[N], double now[N])
{
    for (int k = 0; k < N; k++) {
        double next = 2.0 * one[k] * now[k] - before[k];

        before[k] = now[k];
        now[k] = next;
    }
}

void
qs_node_weights_fill(const double *a, int lags, struct qs_node_weights *out)
{
    double one[N], before[N], now[N];

    out->zero = a[0];
    for (int k = 0; k < N; k++) {
        out->at[k] = 2.0 * a[0] * node_width(k);
        before[k] = one[k] = cos(2.0 * PI * qs_spectrum_cpp[k]);
        now[k] = 1.0; /* of d = 0 */
    }
    for (int d = 1; d <= lags; d++) {
        next_cosines(one, before, now);
        out->zero += 2.0 * a[d];
        for (int k = 0; k < N; k++)
            out->at[k] += 4.0 * a[d] * node_cosine(k, d, now);
    }
}

static void
mix(double *into, double keep, const double *other, double factor, int count)
{
    for (int i = 0; i < count; i++)
        into[i] = keep * into[i] + factor * other[i];
}

void
qs_spectrum_mix(struct qs_spectrum *into, double keep, const struct qs_spectrum *other,
                double factor)
{
    for (int j = 0; j < N; j++)
        mix(into->pixel[j], keep, other->pixel[j], factor, N);
    mix(into->row, keep, other->row, factor, N);
    mix(into->column, keep, other->column, factor, N);
}

double
qs_spectrum_variance(const struct qs_spectrum *spectrum,
                     const struct qs_node_weights *across,
                     const struct qs_node_weights *down)
{
    double sum = 0.0;

    for (int j = 0; j < N; j++) {
        double row = 0.0;

        for (int i = 0; i < N; i++)
            row += spectrum->pixel[j][i] * across->at[i];
        sum += row * down->at[j];
        sum += spectrum->row[j] * down->at[j] * across->zero;
        sum += spectrum->column[j] * across->at[j] * down->zero;
    }
    return sum;
}

double
qs_spectrum_line_at(const double nodes[QS_SPECTRUM_NODES], double f_cpp)
{
    struct between at = find_between(fabs(f_cpp));

    return nodes[at.node] * (1.0 - at.share) + nodes[at.node + 1] * at.share;
}

double
qs_spectrum_at(const struct qs_spectrum *spectrum, double u_cpp, double v_cpp)
{
    struct between v = find_between(fabs(v_cpp));

    return qs_spectrum_line_at(spectrum->pixel[v.node], u_cpp) * (1.0 - v.share) +
           qs_spectrum_line_at(spectrum->pixel[v.node + 1], u_cpp) * v.share;
}
