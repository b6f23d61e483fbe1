/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_bytes.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"

enum {
    FIRST_ROOM = 16384,
    MOST_SAID = 256
};

static bool
make_room(struct qs_chart_bytes *bytes, size_t count)
{
    size_t room = bytes->room > 0 ? bytes->room : FIRST_ROOM;
    char *larger;

    while (room - bytes->used < count)
        room *= 2;
    if (room == bytes->room)
        return true;
    larger = qs_realloc(bytes->bytes, room, 1);
    if (larger == NULL)
        return false;
    bytes->bytes = larger;
    bytes->room = room;
    return true;
}

void
qs_chart_bytes_add(struct qs_chart_bytes *bytes, const void *from, size_t count)
{
    if (bytes->has_failed || !make_room(bytes, count)) {
        bytes->has_failed = true;
        return;
    }
    memcpy(bytes->bytes + bytes->used, from, count);
    bytes->used += count;
}

void
qs_chart_bytes_say(struct qs_chart_bytes *bytes, const char *format, ...)
{
    char text[MOST_SAID];
    va_list arguments;

    va_start(arguments, format);
    (void)vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    qs_chart_bytes_add(bytes, text, strlen(text));
}

void
qs_chart_escape(struct qs_chart_bytes *bytes, const char *text)
{
    static const struct {
        char plain;
        const char *escaped;
    } marks[] = {
        {'&', "&amp;"}, {'<', "&lt;"}, {'>', "&gt;"}, {'"', "&quot;"}, {'\'', "&#39;"}};

    for (; *text != '\0'; text++) {
        const char *escaped = NULL;

        for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
            if (*text == marks[i].plain)
                escaped = marks[i].escaped;
        if (escaped != NULL)
            qs_chart_bytes_add(bytes, escaped, strlen(escaped));
        else
            qs_chart_bytes_add(bytes, text, 1);
    }
}

void
qs_chart_bytes_clear(struct qs_chart_bytes *bytes)
{
    qs_free(bytes->bytes);
    memset(bytes, 0, sizeof *bytes);
}
