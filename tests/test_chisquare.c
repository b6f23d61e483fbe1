/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_chisquare.c - quantiles against printed tables, closed forms and scipy
 */
#include "base/chisquare.h"

#include <math.h>

#include "check_main.h"
#include "measure/noise.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

/* Printed tables of the chi-square distribution (any statistics handbook; from memory,
   then checked with scipy.stats.chi2.ppf of scipy 1.10): six decimals. */
static const struct printed {
    double freedom, probability, value;
} printed[] = {
    {1, 0.95, 3.841459},    {1, 0.975, 5.023886},   {2, 0.05, 0.102587},
    {2, 0.95, 5.991465},    {3, 0.95, 7.814728},    {10, 0.025, 3.246973},
    {10, 0.975, 20.483177}, {30, 0.025, 16.790772}, {30, 0.975, 46.979242},
    {100, 0.025, 74.22193}, {100, 0.975, 129.5612},
};

/* scipy.stats.chi2.ppf, scipy 1.10, twelve digits; whole and other freedoms, on
   both sides of 10000, where the method changes. */
static const double PROBABILITIES[] = {0.001, 0.025, 0.05, 0.5, 0.95, 0.975, 0.999};
static const struct computed {
    double freedom;
    double value[COUNT(PROBABILITIES)];
} computed[] = {
    {1.0,
     {1.57079714926e-06, 0.000982069117175, 0.00393214000002, 0.45493642312,
      3.84145882069, 5.02388618731, 10.8275661707}},
    {1.5,
     {0.000178722370962, 0.013113021163, 0.0332327763125, 0.908333956648, 4.98019528431,
      6.27580797333, 12.426166911}},
    {3.0,
     {0.0242975858157, 0.215795282624, 0.351846317749, 2.36597388438, 7.81472790325,
      9.3484036045, 16.2662361962}},
    {63.0,
     {33.9057772583, 42.9502748755, 45.7413768417, 62.3346020723, 82.5287265415,
      86.8295905673, 103.44237732}},
    {652.25,
     {546.310332619, 583.373210676, 593.999968771, 651.583454607, 712.773711672,
      724.91456491, 769.584132251}},
    {1330.5,
     {1176.77222212, 1231.3029214, 1246.8025704, 1329.83339275, 1416.4713026,
      1433.48528067, 1495.6247497}},
    {9999.5,
     {9568.17942069, 9724.22530712, 9768.03095131, 9998.83334124, 10233.243082,
      10278.5632502, 10442.2196398}},
    {10000.5,
     {9569.15756977, 9725.21144784, 9769.01932017, 9999.83334123, 10234.2547132,
      10279.5771094, 10443.2414907}},
    {65535.0,
     {64421.9221834, 64827.3188573, 64940.6431156, 65534.3333345, 66131.6309385,
      66246.4697462, 66659.4771486}},
    {1e6,
     {995635.450632, 997230.087143, 997674.963276, 999999.333333, 1002327.31078,
      1002773.70147, 1004375.94875}},
    {1e9,
     {999861806.31, 999912349.64, 999926441.047, 999999999.333, 1000073561.23,
      1000087654.15, 1000138205.09}},
};

static void
check_relative(double got, double expected, double tolerance, double freedom,
               double probability)
{
    ck_assert_msg(fabs(got - expected) <= tolerance * fabs(expected),
                  "freedom %g, probability %g: %.12g, should be %.12g", freedom,
                  probability, got, expected);
}

START_TEST(printed_tables)
{
    for (size_t i = 0; i < COUNT(printed); i++)
        check_relative(
            qs_chisquare_quantile(printed[i].probability, printed[i].freedom),
            printed[i].value, 5e-7 / fmin(printed[i].value, 1.0) + 1e-7,
            printed[i].freedom, printed[i].probability);
}
END_TEST

/* The header promises a relative 1e-6 over this whole range. */
START_TEST(many_freedoms)
{
    for (size_t i = 0; i < COUNT(computed); i++)
        for (size_t k = 0; k < COUNT(PROBABILITIES); k++)
            check_relative(qs_chisquare_quantile(PROBABILITIES[k], computed[i].freedom),
                           computed[i].value[k], 1e-6, computed[i].freedom,
                           PROBABILITIES[k]);
}
END_TEST

/* With two degrees of freedom the distribution is exponential: -2 ln(1 - p). */
START_TEST(two_degrees_closed_form)
{
    for (int i = 1; i < 1000; i++) {
        double p = i / 1000.0;

        check_relative(qs_chisquare_quantile(p, 2.0), -2.0 * log1p(-p), 1e-9, 2.0, p);
    }
}
END_TEST

/* One degree of freedom is a squared normal: quantile((1 + p) / 2)^2. */
START_TEST(one_degree_is_a_squared_normal)
{
    for (int i = 1; i < 1000; i++) {
        double p = i / 1000.0, z = qs_normal_quantile(0.5 + p / 2.0);

        check_relative(qs_chisquare_quantile(p, 1.0), z * z, 1e-8, 1.0, p);
    }
}
END_TEST

/* More probability or more freedom gives a larger quantile, also where the
   method changes at 10000. */
START_TEST(rises_everywhere)
{
    static const double ugly[] = {1.0,    1.37,    4.9,     23.17,  317.31, 4801.7,
                                  9999.9, 10000.1, 10013.0, 2.71e5, 3.17e8};

    for (size_t i = 0; i < COUNT(ugly); i++)
        for (int k = 1; k < 999; k++)
            ck_assert_double_gt(qs_chisquare_quantile((k + 1) / 1000.0, ugly[i]),
                                qs_chisquare_quantile(k / 1000.0, ugly[i]));
    for (size_t i = 1; i < COUNT(ugly); i++)
        for (size_t k = 0; k < COUNT(PROBABILITIES); k++)
            ck_assert_double_gt(qs_chisquare_quantile(PROBABILITIES[k], ugly[i]),
                                qs_chisquare_quantile(PROBABILITIES[k], ugly[i - 1]));
}
END_TEST

/* 1.959964 of the printed tables; the rest scipy.stats.norm.ppf, fifteen digits. */
START_TEST(normal_quantiles)
{
    static const double table[][2] = {
        {1e-6, -4.7534243088229},       {0.001, -3.09023230616781},
        {0.025, -1.95996398454005},     {0.05, -1.64485362695147},
        {0.25, -0.674489750196082},     {0.5, 0.0},
        {0.75, 0.674489750196082},      {0.9, 1.2815515655446},
        {0.975, 1.95996398454005},      {0.999, 3.09023230616781},
        {1.0 - 1e-6, 4.75342430881709},
    };

    for (size_t i = 0; i < COUNT(table); i++)
        ck_assert_double_eq_tol(qs_normal_quantile(table[i][0]), table[i][1], 1e-9);
    ck_assert_double_eq_tol(qs_normal_quantile(0.975), 1.959964, 5e-7);
}
END_TEST

/*
 * What the quantiles are for: factors of the 95 % interval of an sd from N
 * independent pixels, freedom N - 1 (scipy, four decimals).
 */
START_TEST(interval_of_an_sd)
{
    static const double table[][3] = {
        {64, 0.8518, 1.2111},   {256, 0.9202, 1.0950},   {1024, 0.9585, 1.0453},
        {4096, 0.9788, 1.0221}, {16384, 0.9893, 1.0109}, {65536, 0.9946, 1.0054},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        double low = 0.0, high = 0.0;

        qs_noise_interval(3.17, table[i][0] - 1.0, &low, &high);
        ck_assert_double_eq_tol(low / 3.17, table[i][1], 5.1e-5);
        ck_assert_double_eq_tol(high / 3.17, table[i][2], 5.1e-5);
    }
}
END_TEST

QS_TEST_MAIN("chisquare", printed_tables, many_freedoms, two_degrees_closed_form,
             one_degree_is_a_squared_normal, rises_everywhere, normal_quantiles,
             interval_of_an_sd)
