/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/wrap.h"

#include <stdbool.h>
#include <string.h>

#include "base/plain_text.h"

/* Where the next line ends: `bytes` of text, of which the blanks after it are not
   to be written. */
struct line {
    size_t bytes;
    size_t skip;
};

static struct line
cut_line(const char *text, int room)
{
    struct line line = {0, 0};
    size_t at = 0;
    int columns = 0;

    while (text[at] != '\0') {
        uint32_t code;
        size_t length = qs_text_next(text + at, &code);

        if (code == ' ') {
            line.bytes = at;
            line.skip = 1;
        }
        columns += qs_text_code_columns(code);
        if (columns > room)
            break;
        at += length;
    }
    if (text[at] == '\0')
        return (struct line){at, 0};
    if (line.skip == 0)
        line.bytes = at;
    return line;
}

/* Writes `bytes` of text, with glue as plain blanks. */
static void
put_line(FILE *out, const char *start, const char *text, size_t bytes)
{
    const size_t glue = sizeof QS_GLUE - 1;

    (void)fputs(start, out);
    for (size_t i = 0; i < bytes;) {
        if (bytes - i >= glue && memcmp(text + i, QS_GLUE, glue) == 0) {
            (void)fputc(' ', out);
            i += glue;
        } else {
            (void)fputc((unsigned char)text[i++], out);
        }
    }
    (void)fputc('\n', out);
}

void
qs_wrap(FILE *out, const char *first, const char *next, const char *text)
{
    const char *start = first;

    do {
        struct line line = cut_line(text, QS_TEXT_COLUMNS - qs_text_columns(start));

        put_line(out, start, text, line.bytes);
        text += line.bytes + line.skip;
        start = next;
    } while (*text != '\0');
}
