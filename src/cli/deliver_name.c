/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/deliver_name.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/* Writes a part of the name; returns as snprintf does. */
typedef int
write_part(char *out, size_t size, const struct qs_name_parts *parts);

static int
write_name(char *out, size_t size, const struct qs_name_parts *parts)
{
    const char *slash = strrchr(parts->source, '/');
    const char *name = slash != NULL ? slash + 1 : parts->source;
    const char *dot = strrchr(name, '.');
    size_t length = dot != NULL && dot != name ? (size_t)(dot - name) : strlen(name);

    return snprintf(out, size, "%.*s", (int)length, name);
}

/* Names are typed into shells and addresses, where % has a meaning. */
static int
write_size(char *out, size_t size, const struct qs_name_parts *parts)
{
    size_t length = strlen(parts->size);

    if (length > 0 && parts->size[length - 1] == '%')
        return snprintf(out, size, "%.*spct", (int)length - 1, parts->size);
    return snprintf(out, size, "%s", parts->size);
}

static int
write_width(char *out, size_t size, const struct qs_name_parts *parts)
{
    return snprintf(out, size, "%d", parts->width);
}

static int
write_height(char *out, size_t size, const struct qs_name_parts *parts)
{
    return snprintf(out, size, "%d", parts->height);
}

static int
write_filter(char *out, size_t size, const struct qs_name_parts *parts)
{
    return snprintf(out, size, "%s", qs_filter_row(parts->filter)->key);
}

static int
write_number(char *out, size_t size, const struct qs_name_parts *parts)
{
    int digits = 1;

    for (int rest = parts->count; rest >= 10; rest /= 10)
        digits++;
    return snprintf(out, size, "%0*d", digits, parts->number);
}

static const struct part {
    const char *key;
    write_part *write;
} all_parts[] = {{"{name}", write_name},     {"{size}", write_size},
                 {"{width}", write_width},   {"{height}", write_height},
                 {"{filter}", write_filter}, {"{number}", write_number}};

static const struct part *
part_at(const char *text)
{
    for (size_t i = 0; i < sizeof all_parts / sizeof all_parts[0]; i++)
        if (strncmp(text, all_parts[i].key, strlen(all_parts[i].key)) == 0)
            return &all_parts[i];
    return NULL;
}

enum qs_status
qs_name_check(const char *pattern, struct qs_error *err)
{
    bool has_part = false;

    for (const char *at = pattern; *at != '\0'; at++) {
        const struct part *part = part_at(at);

        if (*at == '/')
            return qs_fail(err, QS_ERR_USAGE,
                           "--name is a file's name without a folder, not \"%.80s\"; "
                           "--out says the folder.",
                           pattern);
        if ((*at == '{' || *at == '}') && part == NULL)
            return qs_fail(err, QS_ERR_USAGE,
                           "--name \"%.80s\" is not understood; in braces it takes "
                           "{name}, {size}, {width}, {height}, {filter} and "
                           "{number}.",
                           pattern);
        if (part != NULL) {
            at += strlen(part->key) - 1;
            has_part = true;
        }
    }
    if (pattern[0] == '.' || !has_part)
        return qs_fail(err, QS_ERR_USAGE,
                       "--name needs a part that differs between pictures, and no dot "
                       "in front, for example {name}-{size}.");
    return QS_OK;
}

enum qs_status
qs_name_make(const char *pattern, const struct qs_name_parts *parts, char *out,
             size_t size, struct qs_error *err)
{
    size_t used = 0;

    for (const char *at = pattern; *at != '\0' && used < size; at++) {
        const struct part *part = part_at(at);

        if (part != NULL) {
            used += (size_t)part->write(out + used, size - used, parts);
            at += strlen(part->key) - 1;
        } else {
            out[used++] = *at;
        }
    }
    if (used < size)
        used += (size_t)snprintf(out + used, size - used, "%s",
                                 parts->format == QS_FILE_PNG ? ".png" : ".tif");
    if (used >= size)
        return qs_fail(
            err, QS_ERR_RANGE,
            "The delivery's name would be too long; shorten it with --name.");
    return QS_OK;
}
