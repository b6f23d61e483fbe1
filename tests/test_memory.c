/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * test_memory.c - checked allocation, failing on purpose, and first-cause errors
 */
#include "base/memory.h"

#include <stdint.h>
#include <string.h>

#include "base/status.h"
#include "check_main.h"

START_TEST(elements_come_zeroed)
{
    unsigned char *bytes = qs_alloc(317, 13);

    ck_assert_ptr_nonnull(bytes);
    for (int i = 0; i < 317 * 13; i++)
        ck_assert_uint_eq(bytes[i], 0);
    qs_free(bytes);
}
END_TEST

START_TEST(nothing_is_still_a_pointer)
{
    void *none = qs_alloc(0, 8), *hollow = qs_alloc(8, 0);

    ck_assert_ptr_nonnull(none);
    ck_assert_ptr_nonnull(hollow);
    none = qs_realloc(none, 0, 16);
    ck_assert_ptr_nonnull(none);
    qs_free(none);
    qs_free(hollow);
    qs_free(NULL);
}
END_TEST

START_TEST(overflowing_products_are_refused)
{
    /* volatile: a compiler that sees the sizes warns, and rightly */
    volatile size_t huge = SIZE_MAX / 3, four = 4;
    char *kept = qs_alloc(7, 1);

    ck_assert_ptr_null(qs_alloc(huge, four));
    ck_assert_ptr_null(qs_alloc(four, huge));
    memcpy(kept, "sample", 7);
    ck_assert_ptr_null(qs_realloc(kept, huge, four));
    ck_assert_str_eq(kept, "sample");
    qs_free(kept);
}
END_TEST

START_TEST(growing_keeps_contents)
{
    int *numbers = qs_alloc(3, sizeof *numbers);

    numbers[2] = 317;
    numbers = qs_realloc(numbers, 4001, sizeof *numbers);
    ck_assert_ptr_nonnull(numbers);
    ck_assert_int_eq(numbers[2], 317);
    qs_free(numbers);
}
END_TEST

/* The n-th from now fails, once, whichever call asks for it. */
START_TEST(fails_where_told)
{
    for (long n = 0; n < 5; n++) {
        void *got[5];

        qs_alloc_fail_at(n);
        for (long i = 0; i < 5; i++) {
            got[i] = i % 2 == 0 ? qs_alloc(3, 4) : qs_realloc(NULL, 3, 4);
            ck_assert_msg((got[i] == NULL) == (i == n), "call %ld, told to fail %ld", i,
                          n);
        }
        ck_assert_int_eq(qs_alloc_count(), 5);
        for (int i = 0; i < 5; i++)
            qs_free(got[i]);
    }
    qs_alloc_fail_at(-1);
    ck_assert_int_eq(qs_alloc_count(), 0);
}
END_TEST

START_TEST(a_failed_growth_leaves_the_old)
{
    char *kept = qs_alloc(7, 1);

    memcpy(kept, "sample", 7);
    qs_alloc_fail_at(0);
    ck_assert_ptr_null(qs_realloc(kept, 4000, 1));
    qs_alloc_fail_at(-1);
    ck_assert_str_eq(kept, "sample");
    qs_free(kept);
}
END_TEST

START_TEST(first_cause_stays)
{
    struct qs_error err;

    qs_error_clear(&err);
    ck_assert_int_eq(err.status, QS_OK);
    ck_assert_str_eq(err.text, "");
    ck_assert_int_eq(qs_fail(&err, QS_ERR_RANGE, "Frame %d is odd.", 317),
                     QS_ERR_RANGE);
    ck_assert_int_eq(qs_fail(&err, QS_ERR_OPEN, "Later."), QS_ERR_OPEN);
    ck_assert_int_eq(err.status, QS_ERR_RANGE);
    ck_assert_str_eq(err.text, "Frame 317 is odd.");
    ck_assert_int_eq(qs_fail(NULL, QS_ERR_WRITE, "Nobody asks."), QS_ERR_WRITE);
    qs_error_clear(&err);
    ck_assert_int_eq(qs_fail_memory(&err), QS_ERR_MEMORY);
    ck_assert_int_eq(err.status, QS_ERR_MEMORY);
    ck_assert_int_gt((int)strlen(err.text), 20);
}
END_TEST

START_TEST(long_sentences_are_cut)
{
    struct qs_error err = {QS_OK, ""};
    char longer[2000];

    memset(longer, 'n', sizeof longer);
    longer[sizeof longer - 1] = '\0';
    ck_assert_int_eq(qs_fail(&err, QS_ERR_USAGE, "%s", longer), QS_ERR_USAGE);
    ck_assert_uint_eq(strlen(err.text), sizeof err.text - 1);
}
END_TEST

QS_TEST_MAIN("memory", elements_come_zeroed, nothing_is_still_a_pointer,
             overflowing_products_are_refused, growing_keeps_contents, fails_where_told,
             a_failed_growth_leaves_the_old, first_cause_stays, long_sentences_are_cut)
