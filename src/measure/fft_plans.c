/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/fft_plans.h"

#include <stddef.h>

#include "measure/fft_lock.h"

enum {
    MOST_IDLE = 48
};

struct qs_fft {
    enum qs_fft_kind kind;
    int n;
    int many;
    int users;
    fftw_plan plan;
    struct qs_fft *next; /* in `plans`, the last used first */
};

static struct qs_fft *plans; /* touched between qs_fft_lock and qs_fft_unlock alone */

static fftw_plan
plan_rows(int n, int many, double *real, fftw_complex *turned)
{
    return fftw_plan_many_dft_r2c(1, &n, many, real, NULL, 1, n, turned, NULL, 1,
                                  n / 2 + 1, FFTW_ESTIMATE);
}

static fftw_plan
plan_rows_back(int n, int many, double *real, fftw_complex *turned)
{
    return fftw_plan_many_dft_c2r(1, &n, many, turned, NULL, 1, n / 2 + 1, real, NULL,
                                  1, n, FFTW_ESTIMATE);
}

static fftw_plan
plan_columns(int n, int many, fftw_complex *plane, int sign)
{
    return fftw_plan_many_dft(1, &n, many, plane, NULL, many, 1, plane, NULL, many, 1,
                              sign, FFTW_ESTIMATE);
}

/* Planning by estimate writes to no array, but wants to see their alignment. */
static fftw_plan
make_plan(enum qs_fft_kind kind, int n, int many)
{
    double *real = fftw_alloc_real((size_t)n * (size_t)many);
    fftw_complex *turned = fftw_alloc_complex((size_t)n * (size_t)many);
    fftw_plan plan = NULL;

    if (real != NULL && turned != NULL && kind == QS_FFT_ROWS)
        plan = plan_rows(n, many, real, turned);
    else if (real != NULL && turned != NULL && kind == QS_FFT_ROWS_BACK)
        plan = plan_rows_back(n, many, real, turned);
    else if (real != NULL && turned != NULL)
        plan = plan_columns(n, many, turned,
                            kind == QS_FFT_COLUMNS ? FFTW_FORWARD : FFTW_BACKWARD);
    fftw_free(real);
    fftw_free(turned);
    return plan;
}

/* Takes a plan out of the list; NULL where there is none of its size. */
static struct qs_fft *
unlink_plan(enum qs_fft_kind kind, int n, int many)
{
    for (struct qs_fft **at = &plans; *at != NULL; at = &(*at)->next) {
        struct qs_fft *fft = *at;

        if (fft->kind == kind && fft->n == n && fft->many == many) {
            *at = fft->next;
            return fft;
        }
    }
    return NULL;
}

static struct qs_fft *
new_plan(enum qs_fft_kind kind, int n, int many)
{
    struct qs_fft *fft = fftw_malloc(sizeof *fft);

    if (fft == NULL)
        return NULL;
    *fft = (struct qs_fft){.kind = kind, .n = n, .many = many};
    fft->plan = make_plan(kind, n, many);
    if (fft->plan != NULL)
        return fft;
    fftw_free(fft);
    return NULL;
}

struct qs_fft *
qs_fft_take(enum qs_fft_kind kind, int n, int many)
{
    struct qs_fft *fft;

    qs_fft_lock();
    fft = unlink_plan(kind, n, many);
    if (fft == NULL)
        fft = new_plan(kind, n, many);
    if (fft != NULL) {
        fft->users++;
        fft->next = plans;
        plans = fft;
    }
    qs_fft_unlock();
    return fft;
}

/* Drops what idles beyond the first MOST_IDLE, which are those used last. */
static void
drop_idle(void)
{
    int idle = 0;

    for (struct qs_fft **at = &plans; *at != NULL;) {
        struct qs_fft *fft = *at;

        idle += fft->users == 0;
        if (fft->users > 0 || idle <= MOST_IDLE) {
            at = &fft->next;
            continue;
        }
        *at = fft->next;
        fftw_destroy_plan(fft->plan);
        fftw_free(fft);
    }
}

void
qs_fft_give_back(struct qs_fft *fft)
{
    if (fft == NULL)
        return;
    qs_fft_lock();
    fft->users--;
    drop_idle();
    qs_fft_unlock();
}

void
qs_fft_rows(const struct qs_fft *fft, double *in, fftw_complex *out)
{
    fftw_execute_dft_r2c(fft->plan, in, out);
}

void
qs_fft_rows_back(const struct qs_fft *fft, fftw_complex *in, double *out)
{
    fftw_execute_dft_c2r(fft->plan, in, out);
}

void
qs_fft_columns(const struct qs_fft *fft, fftw_complex *plane)
{
    fftw_execute_dft(fft->plan, plane, plane);
}
