/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_chart_axis.c - which ticks an axis has, how they are written, and how labels
 * are moved apart
 *
 * Ticks are held against what the words say: 1, 2 or 5 times a power of ten (common
 * practice, no source), around all of the data.  What a label says is read back by
 * strtod.
 */
#include "report/chart_axis.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/random.h"
#include "check_main.h"
#include "report/chart_figure.h"
#include "report/chart_spread.h"

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

#define MINUS "\xE2\x88\x92"
#define TIMES "\xC3\x97"
#define NARROW "\xE2\x80\xAF"

static const struct qs_chart_axis linear = {0}, logarithmic = {.is_log = true};

/* Signs of print and what they mean to strtod. */
static const struct sign {
    const char *print, *plain;
} signs[] = {
    {MINUS, "-"},          {TIMES "10", "e"},     {NARROW, ""},
    {"\xE2\x81\xBB", "-"}, {"\xE2\x81\xB0", "0"}, {"\xC2\xB9", "1"},
    {"\xC2\xB2", "2"},     {"\xC2\xB3", "3"},     {"\xE2\x81\xB4", "4"},
    {"\xE2\x81\xB5", "5"}, {"\xE2\x81\xB6", "6"}, {"\xE2\x81\xB7", "7"},
    {"\xE2\x81\xB8", "8"}, {"\xE2\x81\xB9", "9"},
};

/* What a label says; a power alone, "10" and raised digits, is 1 x that power. */
static double
value_of(const char *label)
{
    char plain[128] = "";
    double value;
    char *end;
    const char *ten = strstr(label, "10");
    bool power_alone = strstr(label, TIMES) == NULL && ten != NULL &&
                       (unsigned char)ten[2] >= 0xC2 &&
                       strncmp(ten + 2, NARROW, 3) != 0;

    for (const char *p = label; *p != '\0';) {
        const char *add = NULL;
        size_t length = 1, used = strlen(plain);

        if (power_alone && p == ten) {
            add = "1e";
            length = 2;
        }
        for (size_t i = 0; add == NULL && i < COUNT(signs); i++)
            if (strncmp(p, signs[i].print, strlen(signs[i].print)) == 0) {
                add = signs[i].plain;
                length = strlen(signs[i].print);
            }
        (void)snprintf(plain + used, sizeof plain - used, "%.*s",
                       add != NULL ? (int)strlen(add) : 1, add != NULL ? add : p);
        p += length;
    }
    value = strtod(plain, &end);
    ck_assert_msg(*end == '\0', "label '%s', read as '%s'", label, plain);
    return value;
}

static bool
is_round(double value)
{
    double mantissa = value / pow(10.0, floor(log10(value) + 1e-9));

    return fabs(mantissa - 1.0) < 1e-6 || fabs(mantissa - 2.0) < 1e-6 ||
           fabs(mantissa - 5.0) < 1e-6;
}

/* What holds for every scale with made ticks. */
static void
check_scale(const struct qs_chart_scale *scale, double low, double high, int most)
{
    ck_assert_msg(scale->low <= low && scale->high >= high, "%g to %g: %g to %g", low,
                  high, scale->low, scale->high);
    ck_assert(scale->low < scale->high);
    ck_assert_msg(scale->count >= 2 && scale->count <= most, "%g to %g: %d ticks of %d",
                  low, high, scale->count, most);
    for (int i = 0; i < scale->count; i++) {
        const struct qs_chart_mark *mark = &scale->marks[i];

        ck_assert(mark->value >= scale->low && mark->value <= scale->high);
        if (i > 0) {
            ck_assert_double_gt(mark->value, scale->marks[i - 1].value);
            ck_assert_str_ne(mark->label, scale->marks[i - 1].label);
        }
        /* two roundings: that of the tick and that of strtod; where the tick is small
           against the step it is that of i x step, exact */
        ck_assert_msg(fabs(value_of(mark->label) - mark->value) <=
                          4.0 * DBL_EPSILON * fabs(mark->value),
                      "label '%s' of %.17g", mark->label, mark->value);
    }
}

START_TEST(what_can_be_shown)
{
    static const struct {
        double value;
        bool on_linear, on_log;
    } table[] = {
        {1.0, true, true},       {0.0, true, false},       {-1.0, true, false},
        {1e-290, true, true},    {1e-291, true, false},    {1e290, true, true},
        {1.1e290, false, false}, {-1e290, true, false},    {DBL_MAX, false, false},
        {NAN, false, false},     {INFINITY, false, false}, {-INFINITY, false, false},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        ck_assert(qs_chart_can_show(table[i].value, false) == table[i].on_linear);
        ck_assert(qs_chart_can_show(table[i].value, true) == table[i].on_log);
    }
}
END_TEST

static void
check_even(const struct qs_chart_scale *scale)
{
    double step = scale->marks[1].value - scale->marks[0].value;
    double largest = fmax(fabs(scale->low), fabs(scale->high));

    /* differences of large values lose digits: 1e-16 of them, over a step of 1e-9 */
    ck_assert_msg(largest / step > 1e6 || is_round(step), "step %.17g", step);
    for (int i = 2; i < scale->count; i++)
        ck_assert_double_eq_tol(scale->marks[i].value - scale->marks[i - 1].value, step,
                                1e-9 * step + 4.0 * DBL_EPSILON * largest);
    ck_assert(scale->marks[0].value <= scale->low + 1e-9 * step);
    ck_assert(scale->marks[scale->count - 1].value >= scale->high - 1e-9 * step);
}

static void
check_linear(double low, double high)
{
    for (int most = QS_CHART_TICKS_LEAST; most <= QS_CHART_TICKS_MOST + 3; most += 4) {
        struct qs_chart_scale scale;

        qs_chart_scale_fit(&linear, low, high, most, &scale);
        check_scale(&scale, low, high, most);
        check_even(&scale);
    }
}

/* Worked by hand. */
START_TEST(known_linear_ticks)
{
    static const struct {
        double low, high;
        int most, count;
        double first, step;
        const char *last;
    } table[] = {
        {0.0, 10.0, 11, 11, 0.0, 1.0, "10"},
        {0.0, 10.0, 10, 6, 0.0, 2.0, "10"},
        {-6.0, 2.0, 10, 9, -6.0, 1.0, "2"},
        {-0.31, 0.08, 6, 6, -0.4, 0.1, "0.1"},
        {0.3, 0.7, 5, 5, 0.3, 0.1, "0.7"},
        {12300.0, 25600.0, 5, 5, 10000.0, 5000.0, "30" NARROW "000"},
        {-7.9, -2.1, 4, 4, -8.0, 2.0, MINUS "2"},
    };

    for (size_t i = 0; i < COUNT(table); i++) {
        struct qs_chart_scale scale;

        qs_chart_scale_fit(&linear, table[i].low, table[i].high, table[i].most, &scale);
        ck_assert_msg(scale.count == table[i].count, "row %zu: %d ticks", i,
                      scale.count);
        for (int k = 0; k < scale.count; k++)
            ck_assert_double_eq_tol(scale.marks[k].value,
                                    table[i].first + k * table[i].step, 1e-12);
        ck_assert_str_eq(scale.marks[scale.count - 1].label, table[i].last);
    }
}
END_TEST

START_TEST(linear_ranges_of_all_sizes)
{
    static const double ranges[][2] = {
        {3.17, 31.7},     {0.0, 1e-12},     {-1e-9, 1e-9},        {-1e290, 1e290},
        {1e289, 1e290},   {5e-290, 7e-290}, {1.0, 1.00000001},    {-1e6, 3.17},
        {99999.0, 1e5},   {-0.001, 1000},   {123456.7, 123456.8}, {-1e-300, 1e-300},
        {9999999.0, 1e7}, {0.0, 0.99999},   {-5.0, -4.9},
    };

    for (size_t i = 0; i < COUNT(ranges); i++)
        check_linear(ranges[i][0], ranges[i][1]);
}
END_TEST

START_TEST(linear_ranges_at_random)
{
    struct qs_random random;

    qs_random_seed(&random, 317);
    for (int i = 0; i < 1000; i++) {
        double middle =
            qs_random_normal(&random) * pow(10.0, 12.0 * qs_random_even(&random) - 6.0);
        double half = fabs(middle) * pow(10.0, 10.0 * qs_random_even(&random) - 7.0);

        check_linear(middle - half, middle + half);
    }
}
END_TEST

/* One value stands in the middle of some room. */
START_TEST(equal_ends_get_room)
{
    static const double values[] = {0.0, 1.0, -3.17, 1e-250, 4e289, 20.0, 1e-289};

    for (size_t i = 0; i < COUNT(values); i++) {
        struct qs_chart_scale scale;

        check_linear(values[i], values[i]);
        qs_chart_scale_fit(&linear, values[i], values[i], 6, &scale);
        ck_assert(scale.low < values[i] && scale.high > values[i]);
        if (values[i] <= 0.0)
            continue;
        qs_chart_scale_fit(&logarithmic, values[i], values[i], 6, &scale);
        ck_assert(scale.low > 0.0 && scale.low < values[i] && scale.high > values[i]);
        /* narrower than 1e-9: taken for one value */
        qs_chart_scale_fit(&linear, values[i], values[i] * (1.0 + 1e-15), 6, &scale);
        ck_assert(scale.low < values[i] * 0.9 && scale.high > values[i] * 1.1);
    }
}
END_TEST

static void
check_log(double low, double high)
{
    for (int most = QS_CHART_TICKS_LEAST; most <= 20; most++) {
        struct qs_chart_scale scale;

        qs_chart_scale_fit(&logarithmic, low, high, most, &scale);
        ck_assert_double_gt(scale.low, 0.0);
        check_scale(&scale, low, high, most);
        /* where decades are ticks, neither end is a whole one off */
        if (high > 3.0 * low && scale.marks[1].value < 10.5 * scale.marks[0].value) {
            ck_assert_double_gt(scale.low, low / 10.0001);
            ck_assert_double_lt(scale.high, high * 10.0001);
        }
        for (int i = 0; high > 3.0 * low && i < scale.count; i++)
            ck_assert_msg(is_round(scale.marks[i].value), "%.17g",
                          scale.marks[i].value);
    }
}

START_TEST(known_logarithmic_ticks)
{
    struct qs_chart_scale scale;
    static const char *const megapixels[] = {"2", "5", "10", "20", "50"};
    static const char *const decades[] = {"1", "10", "100", "1000"};
    static const char *const powers[] = {"10\xC2\xB3", "10\xE2\x81\xB6",
                                         "10\xE2\x81\xB9"};

    qs_chart_scale_fit(&logarithmic, 3.0, 45.0, 8, &scale);
    ck_assert_int_eq(scale.count, 5);
    for (int i = 0; i < scale.count; i++)
        ck_assert_str_eq(scale.marks[i].label, megapixels[i]);
    ck_assert_double_eq(scale.low, 2.0);
    ck_assert_double_eq(scale.high, 50.0);

    /* whole decades are labelled, and the axis ends at a 2 and at a 10 */
    qs_chart_scale_fit(&logarithmic, 0.47, 620.0, 8, &scale);
    ck_assert_int_eq(scale.count, 4);
    for (int i = 0; i < scale.count; i++)
        ck_assert_str_eq(scale.marks[i].label, decades[i]);
    ck_assert_double_eq_tol(scale.low, 0.2, 1e-15);
    ck_assert_double_eq(scale.high, 1000.0);

    qs_chart_scale_fit(&logarithmic, 1e3, 1e9, 5, &scale); /* every second decade */
    ck_assert_int_eq(scale.count, 3);
    ck_assert_double_eq(scale.marks[0].value, 1e4);
    ck_assert_double_eq(scale.marks[2].value, 1e8);
    qs_chart_scale_fit(&logarithmic, 1e3, 1e9, 3, &scale);
    ck_assert_int_eq(scale.count, 3);
    for (int i = 0; i < scale.count; i++)
        ck_assert_str_eq(scale.marks[i].label, powers[i]);
}
END_TEST

START_TEST(logarithmic_ranges_of_all_sizes)
{
    static const double ranges[][2] = {
        {3.0, 45.0},     {100.0, 25600.0}, {1e-290, 1e290}, {20.0, 24.0},
        {0.9, 1.1},      {1.0, 3.0},       {1.0, 3.01},     {1e-5, 1e5},
        {0.0999, 0.101}, {1e-290, 1e-289}, {9.99, 1001.0},  {1e280, 1e290},
        {1.5, 7.0},      {2.0, 50.0},      {0.011, 0.049},  {1e-12, 1e-11},
    };
    struct qs_random random;

    for (size_t i = 0; i < COUNT(ranges); i++)
        check_log(ranges[i][0], ranges[i][1]);
    qs_random_seed(&random, 41);
    for (int i = 0; i < 1000; i++) {
        double low = pow(10.0, 40.0 * qs_random_even(&random) - 20.0);

        check_log(low, low * pow(10.0, 6.0 * qs_random_even(&random)));
    }
}
END_TEST

/* A logarithm's own law: the middle of the axis is the root of its ends' product. */
START_TEST(places_along_an_axis)
{
    struct qs_chart_axis axis = {0};
    struct qs_chart_scale scale;

    qs_chart_scale_fit(&axis, 0.0, 10.0, 11, &scale);
    ck_assert_double_eq_tol(qs_chart_scale_place(&scale, 2.5), 0.25, 1e-15);
    axis.is_reversed = true;
    qs_chart_scale_fit(&axis, 0.0, 10.0, 11, &scale);
    ck_assert_double_eq_tol(qs_chart_scale_place(&scale, 2.5), 0.75, 1e-15);
    ck_assert_double_eq_tol(qs_chart_scale_place(&scale, -10.0), 2.0, 1e-15);
    axis = logarithmic;
    qs_chart_scale_fit(&axis, 2.0, 50.0, 8, &scale);
    ck_assert_double_eq_tol(qs_chart_scale_place(&scale, 2.0), 0.0, 1e-15);
    ck_assert_double_eq_tol(qs_chart_scale_place(&scale, 50.0), 1.0, 1e-14);
    ck_assert_double_eq_tol(qs_chart_scale_place(&scale, 10.0), 0.5, 1e-14);
}
END_TEST

START_TEST(own_ticks_are_kept_in_order)
{
    static const struct qs_chart_tick ticks[] = {{45.0, "native"},
                                                 {11.25, "1/4"},
                                                 {22.5, "1/2"},
                                                 {-1.0, "no place"},
                                                 {NAN, "?"}};
    const struct qs_chart_axis axis = {.is_log = true, .ticks = ticks, .tick_count = 5};
    struct qs_chart_scale scale;

    qs_chart_scale_fit(&axis, 20.0, 50.0, 3, &scale);
    ck_assert_int_eq(scale.count, 3);
    /* Unicode: superscript 1, fraction slash U+2044, subscript 4 */
    ck_assert_str_eq(scale.marks[0].label, "\xC2\xB9\xE2\x81\x84\xE2\x82\x84");
    ck_assert_str_eq(scale.marks[2].label, "native");
    ck_assert_double_eq(scale.low, 11.25);
    ck_assert_double_eq(scale.high, 50.0);
}
END_TEST

START_TEST(labels_are_set_as_in_print)
{
    static const struct {
        const char *text, *set;
    } table[] = {
        {"-3", MINUS "3"},
        {"+2", "+2"},
        {"ISO 100-200", "ISO 100-200"},
        {"at -3 stops", "at " MINUS "3 stops"},
        {"-", "-"},
        {"1/16", "\xC2\xB9\xE2\x81\x84\xE2\x82\x81\xE2\x82\x86"},
        {"1/2 size", "\xC2\xB9\xE2\x81\x84\xE2\x82\x82 size"},
        {"f/2", "f/2"},
        {"1/", "1/"},
        {"1/2x", "1/2x"},
        {"a\tb", "a?b"},
        {"\xFF", "\xEF\xBF\xBD"},
        {NULL, ""},
    };
    char out[QS_CHART_TICK_BYTES], longer[1000];

    for (size_t i = 0; i < COUNT(table); i++) {
        qs_chart_set_label(table[i].text, out, sizeof out);
        ck_assert_str_eq(out, table[i].set);
    }
    memset(longer, 'm', sizeof longer);
    longer[sizeof longer - 1] = '\0';
    qs_chart_set_label(longer, out, sizeof out);
    ck_assert_uint_eq(strlen(out), sizeof out - 1);
}
END_TEST

/* SI Brochure, 9th edition, 5.4.4: threes parted by a thin space, and four digits alone
   usually not; 5.4.3 powers of ten with a cross (from memory). */
START_TEST(figures_are_written_as_the_si_asks)
{
    static const struct {
        double value;
        struct qs_chart_figures figures;
        const char *set;
    } table[] = {
        {0.0, {false, 0}, "0"},
        {-2.5, {false, 1}, MINUS "2.5"},
        {1000.0, {false, 0}, "1000"},
        {25600.0, {false, 0}, "25" NARROW "600"},
        {-1234567.0, {false, 1}, MINUS "1" NARROW "234" NARROW "567.0"},
        {2e-5, {true, 0}, "2" TIMES "10\xE2\x81\xBB\xE2\x81\xB5"},
        {1.5e7, {true, 2}, "1.5" TIMES "10\xE2\x81\xB7"},
        {1e12, {true, 1}, "10\xC2\xB9\xC2\xB2"},
        {0.0, {true, 3}, "0"},
    };
    char out[QS_CHART_TICK_BYTES];

    for (size_t i = 0; i < COUNT(table); i++) {
        qs_chart_write_figure(table[i].value, table[i].figures, out, sizeof out);
        ck_assert_str_eq(out, table[i].set);
    }
}
END_TEST

static double
cost_of(const struct qs_chart_place *places, const double *at, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++) {
        double moved = (at != NULL ? at[i] : places[i].at) - places[i].wanted;

        sum += moved * moved;
    }
    return sum;
}

/* No overlap, none out of bounds, and the order kept. */
static void
check_apart(const struct qs_chart_place *places, int count, double low, double high)
{
    const double slack = 1e-9;

    for (int i = 0; i < count; i++) {
        const struct qs_chart_place *a = &places[i];

        ck_assert(a->at - a->size / 2.0 >= low - slack);
        ck_assert(a->at + a->size / 2.0 <= high + slack);
        for (int k = 0; k < i; k++) {
            const struct qs_chart_place *b = &places[k];

            ck_assert(fabs(a->at - b->at) >= (a->size + b->size) / 2.0 - slack);
            if (a->wanted != b->wanted)
                ck_assert((a->at < b->at) == (a->wanted < b->wanted));
            else
                ck_assert(b->at < a->at);
        }
    }
}

START_TEST(labels_move_apart)
{
    struct qs_chart_place same[] = {{10, 10, 0}, {10, 10, 0}, {10, 10, 0}};
    struct qs_chart_place clear[] = {{30, 4, 0}, {10, 4, 0}};
    struct qs_chart_place rim[] = {{1, 10, 0}, {2, 10, 0}, {90, 10, 0}};

    ck_assert(qs_chart_spread(same, 3, -100, 100)); /* about their common middle */
    ck_assert_double_eq_tol(same[0].at, 0.0, 1e-12);
    ck_assert_double_eq_tol(same[1].at, 10.0, 1e-12);
    ck_assert_double_eq_tol(same[2].at, 20.0, 1e-12);
    ck_assert(qs_chart_spread(clear, 2, 0, 100)); /* nothing to do */
    ck_assert_double_eq_tol(clear[0].at, 30.0, 1e-12);
    ck_assert_double_eq_tol(clear[1].at, 10.0, 1e-12);
    ck_assert(qs_chart_spread(rim, 3, 0, 100));
    ck_assert_double_eq_tol(rim[0].at, 5.0, 1e-12);
    ck_assert_double_eq_tol(rim[1].at, 15.0, 1e-12);
    ck_assert_double_eq_tol(rim[2].at, 90.0, 1e-12);
    ck_assert(!qs_chart_spread(rim, 3, 0, 29.9));
    ck_assert(qs_chart_spread(rim, 0, 0, 10));
}
END_TEST

/*
 * Least squares under these bounds is a convex problem, so an answer is the best if no
 * small step to another one that is allowed makes it better: each label alone, and each
 * run of neighbours together, a little up and a little down.
 */
static void
check_best(const struct qs_chart_place *places, int count, double low, double high)
{
    double at[QS_CHART_SPREAD_MOST], best = cost_of(places, NULL, count);

    for (int from = 0; from < count; from++)
        for (int to = from; to < count; to++)
            for (int way = -1; way <= 1; way += 2) {
                struct qs_chart_place moved[QS_CHART_SPREAD_MOST];
                bool allowed = true;

                for (int i = 0; i < count; i++) {
                    moved[i] = places[i];
                    moved[i].at += i >= from && i <= to ? way * 1e-3 : 0.0;
                    at[i] = moved[i].at;
                    allowed = allowed && at[i] - moved[i].size / 2.0 >= low &&
                              at[i] + moved[i].size / 2.0 <= high &&
                              (i == 0 || at[i] - at[i - 1] >=
                                             (moved[i].size + moved[i - 1].size) / 2.0);
                }
                ck_assert(!allowed || cost_of(moved, at, count) >= best - 1e-9);
            }
}

START_TEST(labels_move_as_little_as_can_be)
{
    struct qs_random random;

    qs_random_seed(&random, 9);
    for (int trial = 0; trial < 500; trial++) {
        struct qs_chart_place places[QS_CHART_SPREAD_MOST];
        int count = 1 + trial % 17;
        double wanted = -10.0;

        for (int i = 0; i < count; i++) {
            wanted += qs_random_even(&random) * 12.0;
            places[i] = (struct qs_chart_place){
                wanted, 1.0 + 9.0 * qs_random_even(&random), 0.0};
        }
        ck_assert(qs_chart_spread(places, count, 0.0, 171.0));
        check_apart(places, count, 0.0, 171.0);
        check_best(places, count, 0.0, 171.0);
    }
}
END_TEST

/* Many at once, in no order, many wanting the same, and room for all just so. */
START_TEST(crowds_find_room)
{
    struct qs_chart_place places[QS_CHART_SPREAD_MOST];

    for (int i = 0; i < QS_CHART_SPREAD_MOST; i++)
        places[i] = (struct qs_chart_place){i * 37 % 11, 3.0, 0.0};
    ck_assert(
        qs_chart_spread(places, QS_CHART_SPREAD_MOST, 0.0, 3.0 * QS_CHART_SPREAD_MOST));
    check_apart(places, QS_CHART_SPREAD_MOST, 0.0, 3.0 * QS_CHART_SPREAD_MOST);
}
END_TEST

QS_TEST_MAIN("chart_axis", what_can_be_shown, known_linear_ticks,
             linear_ranges_of_all_sizes, linear_ranges_at_random, equal_ends_get_room,
             known_logarithmic_ticks, logarithmic_ranges_of_all_sizes,
             places_along_an_axis, own_ticks_are_kept_in_order,
             labels_are_set_as_in_print, figures_are_written_as_the_si_asks,
             labels_move_apart, labels_move_as_little_as_can_be, crowds_find_room)
