/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/inputs.h"

#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/memory.h"

static const char *const endings[] = {".tif", ".tiff", ".png"};

static bool
is_folder(const char *path)
{
    struct stat info;

    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

static bool
is_file(const char *path)
{
    struct stat info;

    return stat(path, &info) == 0 && S_ISREG(info.st_mode);
}

static bool
is_picture_name(const char *name)
{
    const char *dot = strrchr(name, '.');

    if (dot == NULL || dot == name || name[0] == '.')
        return false;
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++)
        if (strcasecmp(dot, endings[i]) == 0)
            return true;
    return false;
}

/* Adds `path`, which the list then owns; frees it where there is no memory. */
static enum qs_status
append(struct qs_inputs *inputs, char *path, struct qs_error *err)
{
    if (path != NULL && inputs->count == inputs->room) {
        int room = 2 * inputs->room + 16;
        char **grown = qs_realloc(inputs->paths, (size_t)room, sizeof *grown);

        if (grown != NULL) {
            inputs->paths = grown;
            inputs->room = room;
        }
    }
    if (path == NULL || inputs->count == inputs->room) {
        qs_free(path);
        return qs_fail_memory(err);
    }
    inputs->paths[inputs->count++] = path;
    return QS_OK;
}

/* folder/name, or a copy of name where folder is "". */
static char *
joined(const char *folder, const char *name)
{
    const size_t length = strlen(folder);
    const char *slash = length > 0 && folder[length - 1] != '/' ? "/" : "";
    const size_t room = length + strlen(name) + 2;
    char *path = qs_alloc(room, 1);

    if (path != NULL)
        (void)snprintf(path, room, "%s%s%s", folder, slash, name);
    return path;
}

static int
by_name(const void *a, const void *b)
{
    const char *x = *(char *const *)a, *y = *(char *const *)b;
    int order = strcasecmp(x, y);

    return order != 0 ? order : strcmp(x, y);
}

static enum qs_status
read_folder(struct qs_inputs *inputs, const char *folder, DIR *open_folder,
            struct qs_error *err)
{
    const struct dirent *entry;
    enum qs_status status = QS_OK;

    while (status == QS_OK && (entry = readdir(open_folder)) != NULL) {
        char *path;

        if (!is_picture_name(entry->d_name))
            continue;
        path = joined(folder, entry->d_name);
        if (path != NULL && !is_file(path))
            qs_free(path);
        else
            status = append(inputs, path, err);
    }
    return status;
}

static enum qs_status
add_folder(struct qs_inputs *inputs, const char *folder, struct qs_error *err)
{
    const int before = inputs->count;
    DIR *open_folder = opendir(folder);
    enum qs_status status;

    if (open_folder == NULL)
        return qs_fail(err, QS_ERR_OPEN,
                       "The folder can't be read: %s. Check whose it is, or name "
                       "the files one by one.",
                       strerror(errno));
    status = read_folder(inputs, folder, open_folder, err);
    (void)closedir(open_folder);
    if (status != QS_OK)
        return status;
    if (inputs->count == before)
        return qs_fail(err, QS_ERR_OPEN,
                       "There is no TIFF or PNG file in this folder; folders inside it "
                       "are not searched, so name the one that holds the pictures.");
    qsort(inputs->paths + before, (size_t)(inputs->count - before),
          sizeof *inputs->paths, by_name);
    return QS_OK;
}

enum qs_status
qs_inputs_add(struct qs_inputs *inputs, const char *path, struct qs_error *err)
{
    if (is_folder(path))
        return add_folder(inputs, path, err);
    return append(inputs, joined("", path), err);
}

void
qs_inputs_filter(struct qs_inputs *inputs, int from, bool (*drops)(const char *path))
{
    int kept = from;

    for (int i = from; i < inputs->count; i++)
        if (drops(inputs->paths[i]))
            qs_free(inputs->paths[i]);
        else
            inputs->paths[kept++] = inputs->paths[i];
    inputs->count = kept;
}

void
qs_inputs_clear(struct qs_inputs *inputs)
{
    for (int i = 0; i < inputs->count; i++)
        qs_free(inputs->paths[i]);
    qs_free(inputs->paths);
    *inputs = (struct qs_inputs){0};
}

bool
qs_is_same_file(const char *a, const char *b)
{
    struct stat of_a, of_b;

    return stat(a, &of_a) == 0 && stat(b, &of_b) == 0 && of_a.st_dev == of_b.st_dev &&
           of_a.st_ino == of_b.st_ino;
}
