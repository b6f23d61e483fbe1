/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/chart_clean.h"

#include <string.h>

#include "base/plain_text.h"

/* The noncharacters of Unicode, section 23.7. */
static bool
is_no_character(uint32_t code)
{
    return (code >= 0xFDD0 && code <= 0xFDEF) || (code & 0xFFFE) == 0xFFFE;
}

void
qs_chart_clean(const char *text, char *out, size_t size)
{
    const char *from = out;

    qs_text_clean(text != NULL ? text : "", true, out, size);
    while (*from != '\0') {
        uint32_t code;
        size_t length = qs_text_next(from, &code);

        if (is_no_character(code))
            *out++ = '?';
        else
            out = (char *)memmove(out, from, length) + length;
        from += length;
    }
    *out = '\0';
}
