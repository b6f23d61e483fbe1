/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flat/shading.h"

#include <math.h>

#include "base/lanes.h"
#include "base/memory.h"

const int qs_shading_term[QS_SHADING_TERMS][2] = {{0, 0}, {1, 0}, {0, 1},
                                                  {2, 0}, {1, 1}, {0, 2}};

/*
 * Orthonormal polynomials on n evenly spaced points by Gram-Schmidt, twice over
 * for the sake of rounding: each is x times the one before, made orthogonal.
 */
static void
make_polynomials(double *p, int n)
{
    for (int order = 0; order < QS_SHADING_ORDERS; order++) {
        double *now = p + order * n;
        double norm;

        for (int i = 0; i < n; i++) {
            double x = (2.0 * i - (n - 1)) / n;

            now[i] = order == 0 ? 1.0 : x * now[i - n];
        }
        for (int pass = 0; pass < 2; pass++)
            for (int k = 0; k < order; k++) {
                double share = qs_dot(now, p + k * n, n);

                for (int i = 0; i < n; i++)
                    now[i] -= share * p[k * n + i];
            }
        norm = sqrt(qs_dot(now, now, n));
        for (int i = 0; i < n; i++)
            now[i] /= norm;
    }
}

enum qs_status
qs_shading_basis_init(struct qs_shading_basis *basis, int width, int height,
                      struct qs_error *err)
{
    *basis = (struct qs_shading_basis){.width = width, .height = height};
    basis->x = qs_alloc((size_t)width * QS_SHADING_ORDERS, sizeof *basis->x);
    basis->y = qs_alloc((size_t)height * QS_SHADING_ORDERS, sizeof *basis->y);
    if (basis->x == NULL || basis->y == NULL) {
        qs_shading_basis_clear(basis);
        return qs_fail_memory(err);
    }
    make_polynomials(basis->x, width);
    make_polynomials(basis->y, height);
    return QS_OK;
}

void
qs_shading_basis_clear(struct qs_shading_basis *basis)
{
    qs_free(basis->x);
    qs_free(basis->y);
    *basis = (struct qs_shading_basis){0};
}

/* Adds row y, of shares along x, to the shares of the whole patch. */
static void
add_row(const struct qs_shading_basis *basis, int y, const double *row,
        double share[QS_SHADING_ORDERS][QS_SHADING_ORDERS])
{
    for (int i = 0; i < QS_SHADING_ORDERS; i++) {
        double along = qs_dot(row, basis->x + i * basis->width, basis->width);

        for (int j = 0; j < QS_SHADING_ORDERS; j++)
            share[j][i] += along * basis->y[j * basis->height + y];
    }
}

/* Inner products with every pair of polynomials: share[order in y][order in x]. */
static void
fill_shares(const struct qs_shading_basis *basis, const double *residual,
            double share[QS_SHADING_ORDERS][QS_SHADING_ORDERS])
{
    for (int j = 0; j < QS_SHADING_ORDERS; j++)
        for (int i = 0; i < QS_SHADING_ORDERS; i++)
            share[j][i] = 0.0;
    for (int y = 0; y < basis->height; y++)
        add_row(basis, y, residual + (ptrdiff_t)y * basis->width, share);
}

/* row -= a p + b q + c r */
QS_CLONES static void
take_off(double *restrict row, int n, const double *p, const double along[3])
{
    for (int x = 0; x < n; x++)
        row[x] -= along[0] * p[x] + along[1] * p[n + x] + along[2] * p[2 * n + x];
}

QS_CLONES static void
take_base(const float *from, double base, int n, double *restrict row)
{
    for (int x = 0; x < n; x++)
        row[x] = from[x] - base;
}

/* Takes the surface off one row. */
static void
remove_row(const struct qs_shading_basis *basis, const struct qs_surface *surface,
           int y, double *row)
{
    double along[QS_SHADING_ORDERS] = {0.0, 0.0, 0.0};

    for (int t = 0; t < QS_SHADING_TERMS; t++)
        along[qs_shading_term[t][0]] +=
            surface->share[t] * basis->y[qs_shading_term[t][1] * basis->height + y];
    take_off(row, basis->width, basis->x, along);
}

double
qs_shading_remove(const struct qs_shading_basis *basis, const struct qs_plane *plane,
                  double *residual, struct qs_surface *surface)
{
    double share[QS_SHADING_ORDERS][QS_SHADING_ORDERS];
    double count = (double)basis->width * basis->height;
    double base = plane->px[0]; /* taken off first: keeps sums small and exact */

    for (int y = 0; y < basis->height; y++)
        take_base(qs_plane_row(plane, y), base, basis->width,
                  residual + (ptrdiff_t)y * basis->width);
    fill_shares(basis, residual, share);
    for (int t = 0; t < QS_SHADING_TERMS; t++)
        surface->share[t] = share[qs_shading_term[t][1]][qs_shading_term[t][0]];
    for (int y = 0; y < basis->height; y++)
        remove_row(basis, surface, y, residual + (ptrdiff_t)y * basis->width);
    surface->share[0] += base * sqrt(count);
    return surface->share[0] / sqrt(count);
}

/* The first three polynomials of an axis at any place, by their closed form. */
static void
polynomials_at(const double *p, int n, double place, double value[3])
{
    double x = (2.0 * place - (n - 1)) / n;
    double x0 = -(n - 1.0) / n;
    double x1 = (2.0 - (n - 1)) / n;
    double slope = (p[n + 1] - p[n]) / (x1 - x0);
    double curve = (p[2 * n + 1] - p[2 * n]) / (x1 * x1 - x0 * x0);

    value[0] = p[0];
    value[1] = p[n] + slope * (x - x0);
    value[2] = p[2 * n] + curve * (x * x - x0 * x0);
}

double
qs_surface_at(const struct qs_shading_basis *basis, const struct qs_surface *surface,
              double x, double y)
{
    double px[3], py[3];
    double sum = 0.0;

    polynomials_at(basis->x, basis->width, x, px);
    polynomials_at(basis->y, basis->height, y, py);
    for (int t = 0; t < QS_SHADING_TERMS; t++)
        sum +=
            surface->share[t] * px[qs_shading_term[t][0]] * py[qs_shading_term[t][1]];
    return sum;
}
