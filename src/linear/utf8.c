/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/utf8.h"

#include <stdint.h>
#include <string.h>

/* Joins UTF-16 pairs, and steps past what it read. */
static uint32_t
next_character(const wchar_t **text)
{
    const uint32_t first = (uint32_t)(*text)[0];
    const uint32_t second = (uint32_t)(*text)[1]; /* at worst the closing zero */

    *text += 1;
    if (first < 0xD800 || first >= 0xDC00 || second < 0xDC00 || second >= 0xE000)
        return first;
    *text += 1;
    return 0x10000 + ((first - 0xD800) << 10) + (second - 0xDC00);
}

/* Bytes of character `c`; 0 for what is not to be shown. */
static size_t
to_utf8(uint32_t c, char bytes[4])
{
    static const uint32_t starts[5] = {0, 0x00, 0xC0, 0xE0, 0xF0};
    const size_t length = c < 0x80 ? 1 : c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;

    if (c < 0x20 || (c >= 0x7F && c < 0xA0) || (c >= 0xD800 && c < 0xE000) ||
        c > 0x10FFFF)
        return 0;
    for (size_t i = length - 1; i > 0; i--) {
        bytes[i] = (char)(0x80 | (c & 0x3F));
        c >>= 6;
    }
    bytes[0] = (char)(starts[length] | c);
    return length;
}

void
qs_utf8_from_wide(const wchar_t *wide, char *out, size_t size)
{
    size_t used = 0;

    while (*wide == L' ')
        wide++;
    while (*wide != L'\0') {
        char bytes[4];
        const size_t length = to_utf8(next_character(&wide), bytes);

        if (used + length >= size)
            break;
        memcpy(out + used, bytes, length);
        used += length;
    }
    while (used > 0 && out[used - 1] == ' ')
        used--;
    out[used] = '\0';
}
