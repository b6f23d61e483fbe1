/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/tiff_notes.h"

#include <stdbool.h>

#include "base/memory.h"
#include "image/notes_lay.h"

enum {
    VERSION_BIG = 43,
    CLASSIC_OFFSET_AT = 4, /* in the header, of the first directory's offset */
    BIG_OFFSET_AT = 8
};

/* The directory as it stands in the file. */
struct directory {
    bool is_big;
    uint8_t *entries;
    size_t count;
};

static bool
read_at(struct qs_out_file *file, uint64_t offset, void *into, size_t size)
{
    uint64_t there;

    return qs_out_seek(file, (int64_t)offset, false, &there) &&
           qs_out_read(file, into, size) == size;
}

/* A number of 2, 4 or 8 bytes at `offset`. */
static bool
read_number(struct qs_out_file *file, uint64_t offset, size_t size, uint64_t *number)
{
    uint16_t two;
    uint32_t four;

    if (size == 8)
        return read_at(file, offset, number, 8);
    if (size == 4 ? !read_at(file, offset, &four, 4) : !read_at(file, offset, &two, 2))
        return false;
    *number = size == 4 ? four : two;
    return true;
}

static enum qs_status
read_directory(struct qs_out_file *file, struct directory *out, struct qs_error *err)
{
    uint64_t version, at, count;

    if (!read_number(file, 2, 2, &version))
        return qs_out_fail(file, err);
    out->is_big = version == VERSION_BIG;
    if (!read_number(file, out->is_big ? BIG_OFFSET_AT : CLASSIC_OFFSET_AT,
                     out->is_big ? 8 : 4, &at) ||
        !read_number(file, at, qs_entry_count_bytes(out->is_big), &count))
        return qs_out_fail(file, err);
    out->count = (size_t)count;
    out->entries = qs_alloc(out->count, qs_entry_bytes(out->is_big));
    if (out->entries == NULL)
        return qs_fail_memory(err);
    if (!read_at(file, at + qs_entry_count_bytes(out->is_big), out->entries,
                 out->count * qs_entry_bytes(out->is_big)))
        return qs_out_fail(file, err);
    return QS_OK;
}

/* The end of the file, made even: TIFF 6.0, section 2. */
static bool
find_end(struct qs_out_file *file, uint64_t *end)
{
    static const uint8_t none;

    if (!qs_out_seek(file, 0, true, end))
        return false;
    if (*end % 2 == 0)
        return true;
    ++*end;
    return qs_out_write(file, &none, 1);
}

static bool
lead_to(struct qs_out_file *file, bool is_big, uint64_t directory)
{
    const uint32_t four = (uint32_t)directory;
    uint64_t there;

    if (!qs_out_seek(file, is_big ? BIG_OFFSET_AT : CLASSIC_OFFSET_AT, false, &there))
        return false;
    return is_big ? qs_out_write(file, &directory, 8) : qs_out_write(file, &four, 4);
}

static enum qs_status
write_notes(struct qs_out_file *file, const struct qs_notes *notes,
            const struct directory *old, struct qs_error *err)
{
    struct qs_laid_notes laid;
    enum qs_status status;
    uint64_t end;
    bool done;

    if (!find_end(file, &end))
        return qs_out_fail(file, err);
    status =
        qs_notes_lay(notes, old->is_big, end, old->entries, old->count, &laid, err);
    if (status != QS_OK)
        return status;
    done = qs_out_write(file, laid.bytes, laid.size) &&
           lead_to(file, old->is_big, laid.directory);
    qs_free(laid.bytes);
    return done ? QS_OK : qs_out_fail(file, err);
}

enum qs_status
qs_tiff_add_notes(struct qs_out_file *file, const struct qs_notes *notes,
                  struct qs_error *err)
{
    struct directory old = {0};
    enum qs_status status;
    size_t count = 0;

    for (int place = 0; place < QS_NOTE_PLACES; place++)
        count += notes->at[place].count;
    if (count == 0)
        return QS_OK;
    status = read_directory(file, &old, err);
    if (status == QS_OK)
        status = write_notes(file, notes, &old, err);
    qs_free(old.entries);
    return status;
}
