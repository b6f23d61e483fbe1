/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* realpath is of the X/Open part of POSIX */

#include "cli/whole_file.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/write_reason.h"

static const char TEMPORARY_NAME[] = ".quietsize-XXXXXX";

enum {
    PENDING = 4,
    PATH_BYTES = 4096
};

/* Half-written files, where a signal handler can see them. */
static struct pending {
    volatile sig_atomic_t used;
    char path[PATH_BYTES];
} pending[PENDING];

static void
remember(const char *path)
{
    for (int i = 0; i < PENDING; i++)
        if (!pending[i].used && strlen(path) < PATH_BYTES) {
            (void)strcpy(pending[i].path, path);
            pending[i].used = 1;
            return;
        }
}

static void
forget(const char *path)
{
    for (int i = 0; i < PENDING; i++)
        if (pending[i].used && strcmp(pending[i].path, path) == 0)
            pending[i].used = 0;
}

/* Only calls that are safe in a handler; then the signal does its usual work. */
static void
clean_up(int number)
{
    for (int i = 0; i < PENDING; i++)
        if (pending[i].used)
            (void)unlink(pending[i].path);
    (void)raise(number);
}

void
qs_whole_file_guard(void)
{
    static const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
    struct sigaction action;

    memset(&action, 0, sizeof action);
    action.sa_handler = clean_up;
    action.sa_flags = (int)SA_RESETHAND;
    (void)sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        struct sigaction before;

        if (sigaction(numbers[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
            (void)sigaction(numbers[i], &action, NULL);
    }
}

/* A link is followed, so that it stays a link. */
static char *
real_target(const char *path)
{
    char *resolved = realpath(path, NULL);
    const char *name = resolved != NULL ? resolved : path;
    char *copy = qs_alloc(strlen(name) + 1, 1);

    if (copy != NULL)
        (void)strcpy(copy, name);
    free(resolved);
    return copy;
}

/* A name in the target's folder, for mkstemp. */
static char *
temporary_beside(const char *target)
{
    const char *slash = strrchr(target, '/');
    size_t folder = slash != NULL ? (size_t)(slash - target) + 1 : 0;
    char *name = qs_alloc(folder + sizeof TEMPORARY_NAME, 1);

    if (name == NULL)
        return NULL;
    memcpy(name, target, folder);
    memcpy(name + folder, TEMPORARY_NAME, sizeof TEMPORARY_NAME);
    return name;
}

/* The rights of the file that was there, or those a new file gets. */
static mode_t
usual_mode(const struct stat *before)
{
    mode_t mask;

    if (before != NULL)
        return before->st_mode & 0777;
    mask = umask(0);
    (void)umask(mask);
    return 0666 & ~mask;
}

static enum qs_status
open_beside(struct qs_whole_file *file, const struct stat *before, struct qs_error *err)
{
    int descriptor;

    file->temporary = temporary_beside(file->target);
    if (file->temporary == NULL)
        return qs_fail_memory(err);
    descriptor = mkstemp(file->temporary);
    if (descriptor < 0) {
        qs_free(file->temporary);
        file->temporary = NULL;
        return qs_fail_write(err);
    }
    remember(file->temporary);
    (void)fchmod(descriptor, usual_mode(before));
    file->stream = fdopen(descriptor, "wb");
    if (file->stream == NULL) {
        enum qs_status status = qs_fail_write(err);

        (void)close(descriptor);
        return status;
    }
    return QS_OK;
}

static enum qs_status
open_target(struct qs_whole_file *file, struct qs_error *err)
{
    struct stat before;
    bool exists = stat(file->target, &before) == 0;

    if (exists && S_ISDIR(before.st_mode)) {
        errno = EISDIR;
        return qs_fail_write(err);
    }
    if (exists && access(file->target, W_OK) != 0)
        return qs_fail_write(err);
    if (!exists || S_ISREG(before.st_mode))
        return open_beside(file, exists ? &before : NULL, err);
    file->stream = fopen(file->target, "wb");
    return file->stream != NULL ? QS_OK : qs_fail_write(err);
}

enum qs_status
qs_whole_file_open(const char *path, struct qs_whole_file *file, struct qs_error *err)
{
    enum qs_status status;

    *file = (struct qs_whole_file){0};
    if (strcmp(path, "-") == 0) {
        file->stream = stdout;
        file->is_stdout = true;
        return QS_OK;
    }
    file->target = real_target(path);
    if (file->target == NULL)
        return qs_fail_memory(err);
    status = open_target(file, err);
    if (status != QS_OK)
        qs_whole_file_drop(file);
    return status;
}

/* Flushes, brings to the disk and closes; a device can't be brought to a disk. */
static bool
close_whole(struct qs_whole_file *file)
{
    FILE *stream = file->stream;
    bool whole = fflush(stream) == 0 && ferror(stream) == 0 &&
                 (file->temporary == NULL || fsync(fileno(stream)) == 0);
    int reason = errno;

    file->stream = NULL;
    if (fclose(stream) != 0 && whole)
        return false;
    errno = reason;
    return whole;
}

enum qs_status
qs_whole_file_keep(struct qs_whole_file *file, struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (file->is_stdout) {
        *file = (struct qs_whole_file){0};
        return QS_OK;
    }
    if (!close_whole(file) ||
        (file->temporary != NULL && rename(file->temporary, file->target) != 0))
        status = qs_fail_write(err);
    if (status == QS_OK && file->temporary != NULL) {
        forget(file->temporary);
        qs_free(file->temporary);
        file->temporary = NULL;
    }
    qs_whole_file_drop(file);
    return status;
}

void
qs_whole_file_drop(struct qs_whole_file *file)
{
    if (file->stream != NULL && !file->is_stdout)
        (void)fclose(file->stream);
    if (file->temporary != NULL) {
        (void)unlink(file->temporary);
        forget(file->temporary);
    }
    qs_free(file->temporary);
    qs_free(file->target);
    *file = (struct qs_whole_file){0};
}
