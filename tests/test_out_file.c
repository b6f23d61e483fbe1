/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What may be written to and what may not: kinds of files as POSIX has them.
 */
#include "image/out_file.h"

#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/time.h>
#include <unistd.h>

#include "check_main.h"
#include "image_check.h"

static void
refuses(const char *path, const char *word)
{
    struct qs_out_file file;
    struct qs_error err = {0};

    ck_assert_int_eq(qs_out_open(&file, path, &err), QS_ERR_WRITE);
    ck_assert_msg(strstr(err.text, word) != NULL, "%s: %s", path, err.text);
    ck_assert_int_lt(file.descriptor, 0);
    qs_out_close(&file);
}

/* A pipe nobody reads: whoever opened it for writing would wait for ever. */
START_TEST(a_pipe_is_refused_at_once)
{
    char path[64];

    scratch_file(path);
    unlink(path);
    ck_assert_int_eq(mkfifo(path, 0600), 0);
    (void)alarm(10);
    refuses(path, "ordinary file");
    (void)alarm(0);
    unlink(path);
}
END_TEST

START_TEST(devices_and_folders_are_refused)
{
    char link_to_folder[64];

    refuses("/dev/null", "ordinary file");
    refuses("/tmp", "folder");
    scratch_file(link_to_folder);
    unlink(link_to_folder);
    ck_assert_int_eq(symlink("/tmp", link_to_folder), 0);
    refuses(link_to_folder, "folder");
    unlink(link_to_folder);
}
END_TEST

START_TEST(a_file_is_emptied_and_read_back)
{
    struct qs_out_file file;
    struct qs_error err = {0};
    char path[64], back[8] = "";
    uint64_t there;

    scratch_file(path);
    write_bytes(path, "what was there before", 21);
    ck_assert_int_eq(qs_out_open(&file, path, &err), QS_OK);
    ck_assert(qs_out_write(&file, "seven", 5));
    ck_assert(qs_out_seek(&file, 2, false, &there));
    ck_assert_uint_eq(qs_out_read(&file, back, sizeof back), 3);
    ck_assert_str_eq(back, "ven");
    ck_assert(qs_out_flush(&file));
    ck_assert_int_eq(qs_out_finish(&file, &err), QS_OK);
    ck_assert_int_lt(file.descriptor, 0);
    unlink(path);
}
END_TEST

static int pipe_end;
static volatile sig_atomic_t interruptions;

/* The first only interrupts; with the second there is something to read. */
static void
interrupt(int number)
{
    ssize_t written = 0;

    (void)number;
    if (++interruptions == 2)
        written = write(pipe_end, "abc", 3);
    (void)written;
}

START_TEST(reading_goes_on_after_a_signal)
{
    const struct itimerval often = {{0, 20000}, {0, 20000}}, never = {{0, 0}, {0, 0}};
    struct sigaction act = {.sa_handler = interrupt}, old; /* calls are not resumed */
    struct qs_out_file file = {0};
    char back[3];
    int ends[2];

    ck_assert_int_eq(pipe(ends), 0);
    pipe_end = ends[1];
    file.descriptor = ends[0];
    ck_assert_int_eq(sigaction(SIGALRM, &act, &old), 0);
    ck_assert_int_eq(setitimer(ITIMER_REAL, &often, NULL), 0);
    ck_assert_uint_eq(qs_out_read(&file, back, sizeof back), sizeof back);
    ck_assert_int_eq(setitimer(ITIMER_REAL, &never, NULL), 0);
    ck_assert_int_eq(sigaction(SIGALRM, &old, NULL), 0);
    ck_assert_int_eq(file.reason, 0);
    ck_assert_mem_eq(back, "abc", 3);
    (void)close(ends[0]);
    (void)close(ends[1]);
}
END_TEST

/* Linux: a pipe cannot be flushed, and says EINVAL. */
START_TEST(what_cannot_flush_is_passed_over)
{
    int ends[2];
    struct qs_out_file file = {0};

    ck_assert_int_eq(pipe(ends), 0);
    file.descriptor = ends[1];
    ck_assert(qs_out_flush(&file));
    ck_assert_int_eq(file.reason, 0);
    (void)close(ends[0]);
    (void)close(ends[1]);
}
END_TEST

START_TEST(the_first_reason_is_kept)
{
    struct qs_out_file file = {0};
    struct qs_error err = {0};

    file.descriptor = open("/dev/null", O_RDONLY);
    ck_assert(!qs_out_write(&file, "x", 1)); /* EBADF */
    qs_out_mute(&file);
    ck_assert(!qs_out_flush(&file));
    ck_assert_int_eq(qs_out_finish(&file, &err), QS_ERR_WRITE);
    ck_assert_ptr_nonnull(strstr(err.text, "descriptor"));
}
END_TEST

START_TEST(without_a_reason_none_is_made_up)
{
    const struct qs_out_file file = {.descriptor = -1};
    struct qs_error err = {0};

    ck_assert_int_eq(qs_out_fail(&file, &err), QS_ERR_WRITE);
    ck_assert_ptr_nonnull(strstr(err.text, "does not say why"));
}
END_TEST

QS_TEST_MAIN("out_file", a_pipe_is_refused_at_once, devices_and_folders_are_refused,
             a_file_is_emptied_and_read_back, reading_goes_on_after_a_signal,
             what_cannot_flush_is_passed_over, the_first_reason_is_kept,
             without_a_reason_none_is_made_up)
