/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * check_main.h - the main function of a test program
 *
 * A test program is one C file: START_TEST bodies, a static array of cases and
 * QS_TEST_MAIN.  Tests run in one process, so that sanitizers see them whole.
 */
#ifndef QS_TESTS_CHECK_MAIN_H
#define QS_TESTS_CHECK_MAIN_H

#include <check.h>
#include <stdlib.h>

#define QS_TEST_SKIPPED 77

/* Runs `count` tests in order; the exit status. */
static inline int
qs_run_tests(const char *suite_name, const TTest *const *tests, size_t count)
{
    Suite *suite = suite_create(suite_name);
    TCase *tcase = tcase_create(suite_name);
    SRunner *runner;
    int failed;

    for (size_t i = 0; i < count; i++)
        tcase_add_test(tcase, tests[i]);
    suite_add_tcase(suite, tcase);
    runner = srunner_create(suite);
    srunner_set_fork_status(runner, CK_NOFORK);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

/* Runs the tests named, in order: QS_TEST_MAIN("suite", test_a, test_b) */
#define QS_TEST_MAIN(suite_name, ...)                                                  \
    int main(void)                                                                     \
    {                                                                                  \
        const TTest *const tests[] = {__VA_ARGS__};                                    \
                                                                                       \
        return qs_run_tests(suite_name, tests, sizeof tests / sizeof tests[0]);        \
    }

#endif
