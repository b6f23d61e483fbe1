/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/phrase.h"

#include <stdarg.h>
#include <stdio.h>

void
qs_say(struct qs_phrase *phrase, const char *format, ...)
{
    size_t room = sizeof phrase->text - phrase->used;
    va_list args;
    int count;

    va_start(args, format);
    count = vsnprintf(phrase->text + phrase->used, room, format, args);
    va_end(args);
    if (count > 0)
        phrase->used += (size_t)count < room ? (size_t)count : room - 1;
}
