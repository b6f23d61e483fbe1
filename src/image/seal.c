/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/seal.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

#include "base/write_reason.h"

/* PNG 3rd edition, 5.4: ancillary, private, unsafe to copy. */
static const unsigned char chunk_name[4] = {'q', 's', 'D', 'L'};

static const unsigned char png_end[] = {0,   0,   0,    0,    'I',  'E',
                                        'N', 'D', 0xAE, 0x42, 0x60, 0x82};

enum {
    END_BYTES = sizeof png_end,
    NAME_BYTES = sizeof chunk_name,
    LENGTH_BYTES = 4,
    SUM_BYTES = 4,
    CHUNK_BYTES = LENGTH_BYTES + NAME_BYTES + QS_SEAL_BYTES + SUM_BYTES
};

static void
put_big_endian(uint32_t value, unsigned char *out)
{
    for (int i = 0; i < 4; i++)
        out[i] = (unsigned char)(value >> (24 - 8 * i));
}

/* The chunk, and the end that it takes the place of. */
static size_t
png_bytes(const char *text, unsigned char *out)
{
    unsigned char *name = out + LENGTH_BYTES;

    put_big_endian(QS_SEAL_BYTES, out);
    memcpy(name, chunk_name, NAME_BYTES);
    memcpy(name + NAME_BYTES, text, QS_SEAL_BYTES);
    put_big_endian((uint32_t)crc32(0, name, NAME_BYTES + QS_SEAL_BYTES),
                   name + NAME_BYTES + QS_SEAL_BYTES);
    memcpy(out + CHUNK_BYTES, png_end, END_BYTES);
    return CHUNK_BYTES + END_BYTES;
}

static bool
write_at_end(int file, off_t back, const unsigned char *bytes, size_t count)
{
    if (lseek(file, -back, SEEK_END) < 0)
        return false;
    while (count > 0) {
        ssize_t written = write(file, bytes, count);

        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return false;
        bytes += written;
        count -= (size_t)written;
    }
    return true;
}

enum qs_status
qs_seal_put(const char *path, enum qs_file_format format, const char *text,
            struct qs_error *err)
{
    unsigned char bytes[CHUNK_BYTES + END_BYTES];
    size_t count = QS_SEAL_BYTES;
    enum qs_status status = QS_OK;
    int file = open(path, O_RDWR | O_CLOEXEC);

    if (file < 0)
        return qs_fail_write(err);
    if (format == QS_FILE_PNG)
        count = png_bytes(text, bytes);
    else
        memcpy(bytes, text, QS_SEAL_BYTES);
    if (!write_at_end(file, format == QS_FILE_PNG ? END_BYTES : 0, bytes, count) ||
        fsync(file) != 0)
        status = qs_fail_write(err);
    if (close(file) != 0 && status == QS_OK)
        status = qs_fail_write(err);
    return status;
}

/* The last bytes of a file; 0 where there are fewer. */
static size_t
read_end(const char *path, unsigned char *bytes, size_t count)
{
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat about;
    size_t got = 0;

    if (file < 0)
        return 0;
    if (fstat(file, &about) == 0 && S_ISREG(about.st_mode) &&
        lseek(file, -(off_t)count, SEEK_END) >= 0)
        while (got < count) {
            ssize_t some = read(file, bytes + got, count - got);

            if (some < 0 && errno == EINTR)
                continue;
            if (some <= 0)
                break;
            got += (size_t)some;
        }
    (void)close(file);
    return got == count ? count : 0;
}

bool
qs_seal_get(const char *path, char text[QS_SEAL_BYTES + 1])
{
    unsigned char bytes[CHUNK_BYTES + END_BYTES];
    const unsigned char *end = bytes + CHUNK_BYTES, *from = bytes + sizeof bytes;

    if (read_end(path, bytes, sizeof bytes) == 0)
        return false;
    if (memcmp(end, png_end, END_BYTES) == 0) {
        if (memcmp(bytes + LENGTH_BYTES, chunk_name, NAME_BYTES) != 0)
            return false;
        from = bytes + LENGTH_BYTES + NAME_BYTES + QS_SEAL_BYTES;
    }
    memcpy(text, from - QS_SEAL_BYTES, QS_SEAL_BYTES);
    text[QS_SEAL_BYTES] = '\0';
    return true;
}
