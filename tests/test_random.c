/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_random.c - the generator's own sequence, and moments of what it draws
 *
 * Sequences: the reference outputs of xoshiro256** from the state 1, 2, 3, 4 and
 * of splitmix64 from the seed 1234567, both as published with their reference
 * programs (from memory).
 * Moments: seeds are fixed, so that a check either always passes or never; each
 * tolerance is 4.5 standard errors, which a sound generator misses once in 150 000.
 */
#include "base/random.h"

#include <math.h>

#include "check_main.h"

#define SIGMAS 4.5

enum {
    DRAWS = 400000
};

START_TEST(published_sequence)
{
    static const uint64_t expected[] = {
        UINT64_C(11520),
        UINT64_C(0),
        UINT64_C(1509978240),
        UINT64_C(1215971899390074240),
        UINT64_C(1216172134540287360),
        UINT64_C(607988272756665600),
        UINT64_C(16172922978634559625),
        UINT64_C(8476171486693032832),
        UINT64_C(10595114339597558777),
        UINT64_C(2904607092377533576),
    };
    struct qs_random random = {.state = {1, 2, 3, 4}};

    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
        ck_assert_uint_eq(qs_random_bits(&random), expected[i]);
}
END_TEST

START_TEST(published_seeding)
{
    struct qs_random random;

    qs_random_seed(&random, 1234567);
    ck_assert_uint_eq(random.state[0], UINT64_C(6457827717110365317));
    ck_assert_uint_eq(random.state[1], UINT64_C(3203168211198807973));
    ck_assert_uint_eq(random.state[2], UINT64_C(9817491932198370423));
    ck_assert_uint_eq(random.state[3], UINT64_C(4593380528125082431));
}
END_TEST

/* Seeding starts over, also when a spare normal value was waiting. */
START_TEST(seed_starts_over)
{
    struct qs_random a, b;

    qs_random_seed(&a, 317);
    (void)qs_random_normal(&a);
    qs_random_seed(&a, 91);
    qs_random_seed(&b, 91);
    for (int i = 0; i < 100; i++)
        ck_assert(qs_random_normal(&a) == qs_random_normal(&b));
    qs_random_seed(&a, 92);
    qs_random_seed(&b, 91);
    ck_assert(qs_random_bits(&a) != qs_random_bits(&b));
}
END_TEST

static void
check_mean(const char *what, double sum, double count, double expected, double sd)
{
    double allowed = SIGMAS * sd / sqrt(count);

    ck_assert_msg(fabs(sum / count - expected) < allowed,
                  "%s: %.6f, should be %.6f within %.6f", what, sum / count, expected,
                  allowed);
}

/* Even in [0, 1): E x = 1/2, E x^2 = 1/3, E x y = 1/4 for neighbours, with
   variances 1/12, 1/5 - 1/9 and 1/9 - 1/16; neighbouring products share a factor,
   which adds 2 (1/12)(1/4) to the last. */
START_TEST(even_moments)
{
    struct qs_random random;
    double sum = 0.0, square = 0.0, product = 0.0, before, least = 1.0, most = 0.0;

    qs_random_seed(&random, 20011);
    before = qs_random_even(&random);
    for (int i = 0; i < DRAWS; i++) {
        double x = qs_random_even(&random);

        sum += x;
        square += x * x;
        product += x * before;
        before = x;
        least = fmin(least, x);
        most = fmax(most, x);
    }
    check_mean("mean", sum, DRAWS, 0.5, sqrt(1.0 / 12.0));
    check_mean("square", square, DRAWS, 1.0 / 3.0, sqrt(1.0 / 5.0 - 1.0 / 9.0));
    check_mean("neighbours", product, DRAWS, 0.25,
               sqrt(1.0 / 9.0 - 1.0 / 16.0 + 2.0 / 48.0));
    ck_assert_double_ge(least, 0.0);
    ck_assert_double_lt(least, 1e-4);
    ck_assert_double_lt(most, 1.0);
    ck_assert_double_gt(most, 1.0 - 1e-4);
}
END_TEST

/* Each bit is set half of the time. */
START_TEST(bits_are_fair)
{
    struct qs_random random;
    double set[64] = {0.0};

    qs_random_seed(&random, 7);
    for (int i = 0; i < DRAWS; i++) {
        uint64_t bits = qs_random_bits(&random);

        for (int k = 0; k < 64; k++)
            set[k] += (double)(bits >> k & 1);
    }
    for (int k = 0; k < 64; k++)
        check_mean("bit", set[k], DRAWS, 0.5, 0.5);
}
END_TEST

/* Normal: E x^n = 0, 1, 0, 3, 0, 15 and Var x^n = E x^2n - (E x^n)^2, with
   E x^8 = 105 (closed forms). */
START_TEST(normal_moments)
{
    struct qs_random random;
    double m[5] = {0.0}, neighbours = 0.0, before = 0.0, beyond = 0.0;

    qs_random_seed(&random, 90001);
    for (int i = 0; i < DRAWS; i++) {
        double x = qs_random_normal(&random);

        m[1] += x;
        m[2] += x * x;
        m[3] += x * x * x;
        m[4] += x * x * x * x;
        neighbours += x * before;
        before = x;
        beyond += fabs(x) > 1.959963984540054 ? 1.0 : 0.0;
    }
    check_mean("mean", m[1], DRAWS, 0.0, 1.0);
    check_mean("variance", m[2], DRAWS, 1.0, sqrt(2.0));
    check_mean("third", m[3], DRAWS, 0.0, sqrt(15.0));
    check_mean("fourth", m[4], DRAWS, 3.0, sqrt(105.0 - 9.0));
    check_mean("neighbours", neighbours, DRAWS, 0.0, 1.0);
    check_mean("tails", beyond, DRAWS, 0.05, sqrt(0.05 * 0.95));
}
END_TEST

/* Poisson: mean m, variance m (plus 1/12 of rounding from 60 on); the variance of
   (k - m)^2 is m + 2 m^2 (closed form). */
START_TEST(poisson_moments)
{
    static const double means[] = {0.013, 0.73, 3.17,  29.3,
                                   59.99, 60.0, 411.7, 87123.4};

    for (size_t i = 0; i < sizeof means / sizeof means[0]; i++) {
        double mean = means[i], sum = 0.0, square = 0.0;
        double rounding = mean >= 60.0 ? 1.0 / 12.0 : 0.0;
        int count = DRAWS / 4;
        struct qs_random random;

        qs_random_seed(&random, 500 + i);
        for (int k = 0; k < count; k++) {
            double value = qs_random_poisson(&random, mean);

            ck_assert(value >= 0.0 && value == floor(value));
            sum += value;
            square += (value - mean) * (value - mean);
        }
        check_mean("mean", sum, count, mean, sqrt(mean + rounding));
        check_mean("variance", square, count, mean + rounding,
                   sqrt(mean + 2.0 * mean * mean));
    }
}
END_TEST

START_TEST(poisson_of_no_light)
{
    struct qs_random random;

    qs_random_seed(&random, 3);
    for (int i = 0; i < 1000; i++)
        ck_assert(qs_random_poisson(&random, 0.0) == 0.0);
}
END_TEST

/* Below 60 the counts are exact: Pearson's chi-square against e^-m m^k / k! with
   15 classes (14 degrees of freedom), refused beyond the 0.9999 quantile. */
START_TEST(poisson_shares)
{
    enum {
        CLASSES = 15
    };
    double seen[CLASSES] = {0.0}, share = exp(-4.7), left = 1.0, misfit = 0.0;
    struct qs_random random;

    qs_random_seed(&random, 4711);
    for (int i = 0; i < DRAWS; i++) {
        int k = (int)qs_random_poisson(&random, 4.7);

        seen[k < CLASSES - 1 ? k : CLASSES - 1] += 1.0;
    }
    for (int k = 0; k < CLASSES; k++) {
        double expected = DRAWS * (k < CLASSES - 1 ? share : left);

        misfit += (seen[k] - expected) * (seen[k] - expected) / expected;
        left -= share;
        share *= 4.7 / (k + 1);
    }
    /* scipy.stats.chi2.ppf(0.9999, 14) = 42.5793 */
    ck_assert_double_lt(misfit, 42.58);
}
END_TEST

QS_TEST_MAIN("random", published_sequence, published_seeding, seed_starts_over,
             even_moments, bits_are_fair, normal_moments, poisson_moments,
             poisson_of_no_light, poisson_shares)
