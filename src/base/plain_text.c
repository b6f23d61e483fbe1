/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/plain_text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#define REPLACEMENT 0xFFFDu
#define REPLACEMENT_BYTES "\xEF\xBF\xBD"

/* Lengths of UTF-8 (RFC 3629): leading byte, and the least code of that length. */
static const struct lead {
    unsigned char mask, mark;
    uint32_t least;
} leads[] = {
    {0x80, 0x00, 0x0}, {0xE0, 0xC0, 0x80}, {0xF0, 0xE0, 0x800}, {0xF8, 0xF0, 0x10000}};

static bool
is_scalar(uint32_t code)
{
    return code <= 0x10FFFF && (code < 0xD800 || code > 0xDFFF);
}

/* Reads length - 1 more bytes; false where one of them does not go on. */
static bool
read_rest(const unsigned char *bytes, size_t length, uint32_t *code)
{
    for (size_t i = 1; i < length; i++) {
        if ((bytes[i] & 0xC0) != 0x80)
            return false;
        *code = (*code << 6) | (bytes[i] & 0x3Fu);
    }
    return true;
}

size_t
qs_text_next(const char *text, uint32_t *code)
{
    const unsigned char *bytes = (const unsigned char *)text;

    for (size_t length = 1; length <= sizeof leads / sizeof leads[0]; length++) {
        const struct lead *lead = &leads[length - 1];

        if ((bytes[0] & lead->mask) != lead->mark)
            continue;
        *code = bytes[0] & (unsigned char)~lead->mask;
        if (read_rest(bytes, length, code) && *code >= lead->least && is_scalar(*code))
            return length;
        break;
    }
    *code = REPLACEMENT;
    return 1;
}

static bool
is_control(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x2028 ||
           code == 0x2029 || (code >= 0x202A && code <= 0x202E) ||
           (code >= 0x2066 && code <= 0x2069);
}

void
qs_text_clean(const char *text, bool for_screen, char *out, size_t size)
{
    size_t used = 0;

    while (*text != '\0') {
        uint32_t code;
        size_t length = qs_text_next(text, &code);
        const char *bytes = text;
        size_t count = length;

        if (for_screen && is_control(code)) {
            bytes = "?";
            count = 1;
        } else if (code == REPLACEMENT) {
            bytes = REPLACEMENT_BYTES;
            count = sizeof REPLACEMENT_BYTES - 1;
        }
        if (used + count >= size)
            break;
        memcpy(out + used, bytes, count);
        used += count;
        text += length;
    }
    out[used] = '\0';
}

size_t
qs_text_clean_room(const char *text)
{
    return strlen(text) * (sizeof REPLACEMENT_BYTES - 1) + 1;
}

/* Blocks of characters that do not take one column. */
static const struct block {
    uint32_t first, last;
    int columns;
} blocks[] = {
    {0x0300, 0x036F, 0},   {0x1100, 0x115F, 2},   {0x200B, 0x200F, 0},
    {0x20D0, 0x20FF, 0},   {0x2E80, 0xA4CF, 2},   {0xAC00, 0xD7A3, 2},
    {0xF900, 0xFAFF, 2},   {0xFE00, 0xFE0F, 0},   {0xFE20, 0xFE2F, 0},
    {0xFE30, 0xFE6F, 2},   {0xFF00, 0xFF60, 2},   {0xFFE0, 0xFFE6, 2},
    {0x1F300, 0x1FAFF, 2}, {0x20000, 0x3FFFD, 2},
};

int
qs_text_code_columns(uint32_t code)
{
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++)
        if (code >= blocks[i].first && code <= blocks[i].last)
            return blocks[i].columns;
    return 1;
}

int
qs_text_columns(const char *text)
{
    int columns = 0;

    while (*text != '\0') {
        uint32_t code;

        text += qs_text_next(text, &code);
        columns += qs_text_code_columns(code);
    }
    return columns;
}

void
qs_text_tail(const char *text, int columns, char *out, size_t size)
{
    int over = qs_text_columns(text) - columns;

    assert(columns >= 4);
    if (over <= 0) {
        (void)snprintf(out, size, "%s", text);
        return;
    }
    for (over += 3; over > 0;) {
        uint32_t code;

        text += qs_text_next(text, &code);
        over -= qs_text_code_columns(code);
    }
    (void)snprintf(out, size, "...%s", text);
}
