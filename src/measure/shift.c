/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/shift.h"

#include <complex.h>
#include <fftw3.h>
#include <math.h>
#include <stddef.h>

#include "base/memory.h"
#include "measure/fft_lock.h"

static const double PI = 3.14159265358979323846;

/*
 * A peak of this many rms is no chance: fading the windows out makes small shifts of
 * pure noise correlate up to 1.9 times as much as others, and of 150 simulated ones the
 * largest peak was 8.4.
 */
static const double SURE_PEAK = 12.0;

/* A scene that repeats itself has further peaks, none higher than the one at 0. */
static const double OVER_STILL = 1.2;

/* A shift that is there makes the windows differ less once it is taken back; of those
 * that it hardly does, chance and hard edges of noise are no less likely a cause. */
static const double MOST_LEFT = 0.9;

/* Shorter shifts are for the slopes to judge. */
static const double LEAST_SURE = 0.75;

/* The whole pixels may be off by one or two where the peak is broad. */
static const double LONGEST_STEP = 2.0;

/* Waves of pure noise agree as well as those that count in this share of cases. */
static const double AGREE_BY_CHANCE = 0.001;

enum {
    ROUNDS = 2,
    RING = 2,   /* values that far away judge whether one stands alone */
    NO_WAVE = 2 /* the taper brings what rows or columns share up to wave 1 */
};

struct correlating {
    int side;
    int half; /* side / 2 + 1 */
    double *taper;
    double *real;        /* a window, later the correlation */
    fftw_complex *one;   /* spectra of a window of a, */
    fftw_complex *other; /*   and of b */
    fftw_complex *cross; /* summed over windows */
    double *power_a;
    double *power_b;
    fftw_plan to_one;
    fftw_plan to_other;
    fftw_plan back;
};

static void
correlating_clear(struct correlating *now)
{
    qs_fft_lock();
    if (now->to_one != NULL)
        fftw_destroy_plan(now->to_one);
    if (now->to_other != NULL)
        fftw_destroy_plan(now->to_other);
    if (now->back != NULL)
        fftw_destroy_plan(now->back);
    qs_fft_unlock();
    fftw_free(now->real);
    fftw_free(now->one);
    fftw_free(now->other);
    fftw_free(now->cross);
    qs_free(now->taper);
    qs_free(now->power_a);
    qs_free(now->power_b);
}

static bool
make_plans(struct correlating *now)
{
    int n = now->side;

    qs_fft_lock();
    now->to_one = fftw_plan_dft_r2c_2d(n, n, now->real, now->one, FFTW_ESTIMATE);
    now->to_other = fftw_plan_dft_r2c_2d(n, n, now->real, now->other, FFTW_ESTIMATE);
    now->back = fftw_plan_dft_c2r_2d(n, n, now->one, now->real, FFTW_ESTIMATE);
    qs_fft_unlock();
    return now->to_one != NULL && now->to_other != NULL && now->back != NULL;
}

static bool
correlating_init(struct correlating *now, int side)
{
    size_t bins;

    *now = (struct correlating){.side = side, .half = side / 2 + 1};
    bins = (size_t)side * (size_t)now->half;
    now->taper = qs_alloc((size_t)side, sizeof(double));
    now->power_a = qs_alloc(bins, sizeof(double));
    now->power_b = qs_alloc(bins, sizeof(double));
    now->real = fftw_alloc_real((size_t)side * (size_t)side);
    now->one = fftw_alloc_complex(bins);
    now->other = fftw_alloc_complex(bins);
    now->cross = fftw_alloc_complex(bins);
    if (now->taper == NULL || now->power_a == NULL || now->power_b == NULL ||
        now->real == NULL || now->one == NULL || now->other == NULL ||
        now->cross == NULL || !make_plans(now))
        return false;
    for (int i = 0; i < side; i++)
        now->taper[i] = 0.5 - 0.5 * cos(2.0 * PI * (i + 0.5) / side);
    for (size_t i = 0; i < bins; i++)
        now->cross[i] = 0.0;
    return true;
}

static double
mean_of(const float *window, ptrdiff_t count)
{
    double sum = 0.0;

    for (ptrdiff_t i = 0; i < count; i++)
        sum += window[i];
    return sum / (double)count;
}

/* The two lowest and the two highest of some values. */
struct outermost {
    float lowest, low, high, highest;
};

static void
add_value(struct outermost *ends, float value)
{
    ends->low = fmaxf(ends->lowest, fminf(ends->low, value));
    ends->lowest = fminf(ends->lowest, value);
    ends->high = fminf(ends->highest, fmaxf(ends->high, value));
    ends->highest = fmaxf(ends->highest, value);
}

/*
 * A value without spikes: one brighter (or darker) than all but one of the ring around
 * it is cut down to the second there.  Hot pixels that come and go would fit on each
 * other anywhere; lines and edges cross the ring twice and stay.
 */
static double
calm_value(const float *window, int side, int x, int y)
{
    struct outermost ends = {HUGE_VALF, HUGE_VALF, -HUGE_VALF, -HUGE_VALF};

    for (int j = -RING; j <= RING; j++) {
        int step = j == -RING || j == RING ? 1 : 2 * RING;

        for (int i = -RING; i <= RING; i += step)
            if (x + i >= 0 && x + i < side && y + j >= 0 && y + j < side)
                add_value(&ends, window[(y + j) * side + x + i]);
    }
    return (double)fminf(fmaxf(window[y * side + x], ends.low), ends.high);
}

/* A window without its mean and spikes, faded out towards its rim, as waves. */
static void
transform(struct correlating *now, const float *window, fftw_plan plan)
{
    int n = now->side;
    double mean = mean_of(window, (ptrdiff_t)n * n);

    for (int y = 0; y < n; y++)
        for (int x = 0; x < n; x++)
            now->real[y * n + x] =
                (calm_value(window, n, x, y) - mean) * now->taper[x] * now->taper[y];
    fftw_execute(plan);
}

static void
add_window(struct correlating *now, const float *a, const float *b)
{
    transform(now, a, now->to_one);
    transform(now, b, now->to_other);
    for (int i = 0; i < now->side * now->half; i++) {
        now->cross[i] += now->other[i] * conj(now->one[i]);
        now->power_a[i] += creal(now->one[i] * conj(now->one[i]));
        now->power_b[i] += creal(now->other[i] * conj(now->other[i]));
    }
}

/* R21: each wave as far as the windows agree on it. */
static void
weigh_waves(struct correlating *now)
{
    for (int i = 0; i < now->side * now->half; i++) {
        double power = sqrt(now->power_a[i] * now->power_b[i]);

        now->cross[i] = power > 0.0 ? now->cross[i] / power : 0.0;
    }
}

/*
 * R22: the correlation, in its own rms, into now->real.  Waves that run along rows or
 * columns alone are left out: what those share is noise as often as it is the
 * scene, and says nothing of a shift along them.
 */
static void
correlate(struct correlating *now, fftw_complex *room)
{
    int n = now->side, count = n * n;
    double sum = 0.0, rms;

    for (int j = 0; j < n; j++)
        for (int i = 0; i < now->half; i++) {
            bool along = i < NO_WAVE || j < NO_WAVE || j > n - NO_WAVE;

            room[j * now->half + i] = along ? 0.0 : now->cross[j * now->half + i];
        }
    fftw_execute(now->back);
    for (int i = 0; i < count; i++)
        sum += now->real[i] * now->real[i];
    rms = sqrt(sum / count);
    for (int i = 0; rms > 0.0 && i < count; i++)
        now->real[i] /= rms;
}

/* The correlation at a signed shift. */
static double
correlation_at(const struct correlating *now, int x, int y)
{
    int n = now->side;

    return now->real[((y + n) % n) * n + (x + n) % n];
}

static void
find_peak(const struct correlating *now, int *x, int *y)
{
    int reach = now->side / 2 - 1;
    double best = -HUGE_VAL;

    for (int j = -reach; j <= reach; j++)
        for (int i = -reach; i <= reach; i++)
            if (correlation_at(now, i, j) > best) {
                best = correlation_at(now, i, j);
                *x = i;
                *y = j;
            }
}

/* Normal equations of the part of a pixel. */
struct step {
    double xx, xy, yy, xp, yp;
};

/* Agreement |cross|^2 that noise shows with AGREE_BY_CHANCE; one window has no other
   to agree with. */
static double
least_agreement(int windows)
{
    return windows > 1 ? 1.0 - pow(AGREE_BY_CHANCE, 1.0 / (windows - 1)) : 0.0;
}

/*
 * R23: each wave's phase, once the whole pixels are taken off, is - 2 pi times its
 * frequency times what is left of the shift.  Waves count by how sure their phase is:
 * its variance goes as (1 - agreement) / agreement.  Their power does not count: the
 * strongest are the longest, which see the window too, and that keeps still.
 */
static void
add_wave(const struct correlating *now, int i, int j, const struct qs_shift *whole,
         double least, struct step *sums)
{
    int at = (j + now->side) % now->side * now->half + i;
    double complex cross = now->cross[at];
    double agreement = creal(cross * conj(cross));
    double weight = agreement / (1.0 - agreement + 0.01);
    double u = 2.0 * PI * i / now->side, v = 2.0 * PI * j / now->side;
    double phase;

    if (agreement < least)
        return;
    phase = carg(cross * cexp(I * (u * whole->x + v * whole->y)));
    sums->xx += weight * u * u;
    sums->xy += weight * u * v;
    sums->yy += weight * v * v;
    sums->xp -= weight * u * phase;
    sums->yp -= weight * v * phase;
}

static void
refine(const struct correlating *now, int windows, struct qs_shift *out)
{
    struct step sums = {0};
    double least = least_agreement(windows);
    int most = now->side / 4; /* finer waves may be off by more than half a turn */
    double det, x, y;

    for (int j = -most; j <= most; j++)
        for (int i = NO_WAVE; i <= most; i++)
            if (j >= NO_WAVE || j <= -NO_WAVE)
                add_wave(now, i, j, out, least, &sums);
    det = sums.xx * sums.yy - sums.xy * sums.xy;
    if (det <= 1e-6 * sums.xx * sums.yy) {
        out->peak = 0.0; /* the waves do not tell where it is */
        return;
    }
    x = (sums.xp * sums.yy - sums.yp * sums.xy) / det;
    y = (sums.yp * sums.xx - sums.xp * sums.xy) / det;
    if (fabs(x) > LONGEST_STEP || fabs(y) > LONGEST_STEP)
        out->peak = 0.0;
    out->x += x;
    out->y += y;
}

/*
 * R23: what one window differs by, shifted back and as it is, over the same places;
 * what whole rows differ by is left out: light and noise do that.
 */
static void
compare_window(const float *a, const float *b, int side, int x, int y, double *shifted,
               double *still)
{
    int from = x < 0 ? -x : 0, to = x < 0 ? side : side - x;

    for (int j = y < 0 ? -y : 0; j < side && j + y < side; j++) {
        double sum = 0.0, square = 0.0, still_sum = 0.0, still_square = 0.0;

        for (int i = from; i < to; i++) {
            double value = (double)a[j * side + i];
            double moved = (double)b[(j + y) * side + i + x] - value;
            double kept = (double)b[j * side + i] - value;

            sum += moved;
            square += moved * moved;
            still_sum += kept;
            still_square += kept * kept;
        }
        *shifted += square - sum * sum / (to - from);
        *still += still_square - still_sum * still_sum / (to - from);
    }
}

static void
fill_left(const float *const *a, const float *const *b, int windows, int side,
          struct qs_shift *out)
{
    double shifted = 0.0, still = 0.0;
    int x = (int)lround(out->x), y = (int)lround(out->y);

    for (int w = 0; w < windows; w++)
        compare_window(a[w], b[w], side, x, y, &shifted, &still);
    out->left = still > 0.0 ? shifted / still : 1.0;
}

enum qs_status
qs_shift_find(const float *const *a, const float *const *b, int windows, int side,
              struct qs_shift *out, struct qs_error *err)
{
    struct correlating now;
    struct qs_shift whole;
    int x = 0, y = 0;

    if (!correlating_init(&now, side)) {
        correlating_clear(&now);
        return qs_fail_memory(err);
    }
    for (int w = 0; w < windows; w++)
        add_window(&now, a[w], b[w]);
    weigh_waves(&now);
    correlate(&now, now.one); /* the windows' waves are no longer needed */
    find_peak(&now, &x, &y);
    *out = (struct qs_shift){.x = x,
                             .y = y,
                             .peak = correlation_at(&now, x, y),
                             .still = correlation_at(&now, 0, 0)};
    fill_left(a, b, windows, side, out);
    whole = *out;
    for (int round = 0; round < ROUNDS; round++)
        refine(&now, windows, out);
    fill_left(a, b, windows, side, out);
    /* the longest waves see the window, which keeps still, and may draw the shift to 0
     */
    if (out->left > whole.left && hypot(out->x - whole.x, out->y - whole.y) > 1.0)
        *out = whole;
    correlating_clear(&now);
    return QS_OK;
}

bool
qs_shift_is_seen(const struct qs_shift *shift)
{
    return shift->peak > SURE_PEAK;
}

bool
qs_shift_is_named(const struct qs_shift *shift)
{
    return qs_shift_is_seen(shift) && shift->peak > OVER_STILL * shift->still &&
           hypot(shift->x, shift->y) > LEAST_SURE;
}

bool
qs_shift_is_sure(const struct qs_shift *shift)
{
    return qs_shift_is_named(shift) && shift->left < MOST_LEFT;
}
