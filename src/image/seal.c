/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/seal.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/* How a PNG ends: RFC 2083, 4.1.4, with its check sum. */
static const unsigned char png_end[] = {0,   0,   0,    0,    'I',  'E',
                                        'N', 'D', 0xAE, 0x42, 0x60, 0x82};

enum {
    END_BYTES = sizeof png_end,
    NAME_AT = 4, /* in a chunk, behind its length */
    TEXT_AT = 8,
    SUM_BYTES = 4,
    CHUNK_BYTES = TEXT_AT + QS_SEAL_BYTES + SUM_BYTES
};

/* The last bytes of a file; false where there are fewer, or it is no ordinary file. */
static bool
read_end(const char *path, unsigned char *bytes, size_t count)
{
    struct stat about;
    FILE *file;
    bool got;

    if (stat(path, &about) != 0 || !S_ISREG(about.st_mode))
        return false;
    file = fopen(path, "rb");
    if (file == NULL)
        return false;
    got = fseek(file, -(long)count, SEEK_END) == 0 &&
          fread(bytes, 1, count, file) == count;
    (void)fclose(file);
    return got;
}

bool
qs_seal_get(const char *path, char text[QS_SEAL_BYTES + 1])
{
    unsigned char bytes[CHUNK_BYTES + END_BYTES];
    const unsigned char *from = bytes + sizeof bytes - QS_SEAL_BYTES;

    if (!read_end(path, bytes, sizeof bytes))
        return false;
    if (memcmp(bytes + CHUNK_BYTES, png_end, END_BYTES) == 0) {
        if (memcmp(bytes + NAME_AT, QS_SEAL_CHUNK, TEXT_AT - NAME_AT) != 0)
            return false;
        from = bytes + TEXT_AT;
    }
    memcpy(text, from, QS_SEAL_BYTES);
    text[QS_SEAL_BYTES] = '\0';
    return true;
}
