/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/editor_blocks.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"

enum {
    MARK_BYTES = 4,
    RESOLUTION = 1005,
    RESOLUTION_BYTES = 16,
    DOWN_AT = 8, /* of the resolution downwards in its block */
    HIGHEST_PPI = 32767,
    PREVIEW_OLD = 1033,
    PREVIEW = 1036
};

/* One block. */
struct block {
    unsigned number;
    size_t bytes_at; /* from the block's beginning */
    size_t bytes;
    size_t length; /* of all of it, padded */
};

static size_t
padded(size_t length)
{
    return length + length % 2;
}

static bool
read_block(const uint8_t *at, size_t left, struct block *out)
{
    size_t name;

    if (left < MARK_BYTES + 3 || memcmp(at, "8BIM", MARK_BYTES) != 0)
        return false;
    out->number = (unsigned)(at[4] << 8 | at[5]);
    name = padded((size_t)at[6] + 1);
    if (left < MARK_BYTES + 2 + name + 4)
        return false;
    at += MARK_BYTES + 2 + name;
    out->bytes = (size_t)at[0] << 24 | (size_t)at[1] << 16 | (size_t)at[2] << 8 | at[3];
    out->bytes_at = MARK_BYTES + 2 + name + 4;
    if (left - out->bytes_at < out->bytes)
        return false;
    out->length = out->bytes_at + padded(out->bytes);
    if (out->length > left) /* the last one may lack its padding */
        out->length = left;
    return true;
}

/* A number of 16 bits before the point and 16 after it. */
static void
put_fixed(double value, uint8_t *out)
{
    uint32_t fixed = (uint32_t)floor(value * 65536.0 + 0.5);

    for (int i = 0; i < 4; i++)
        out[i] = (uint8_t)(fixed >> (24 - 8 * i));
}

/* Takes out and changes; false where the bytes are no row of blocks. */
static bool
edit(const uint8_t *blocks, size_t size, double ppi, uint8_t *into, size_t *used,
     bool *changed)
{
    struct block block;

    for (size_t at = 0; at < size; at += block.length) {
        if (!read_block(blocks + at, size - at, &block))
            return false;
        if (block.number == PREVIEW || block.number == PREVIEW_OLD) {
            *changed = true;
            continue;
        }
        memcpy(into + *used, blocks + at, block.length);
        if (block.number == RESOLUTION && block.bytes == RESOLUTION_BYTES &&
            ppi > 0.0 && ppi < HIGHEST_PPI) {
            put_fixed(ppi, into + *used + block.bytes_at);
            put_fixed(ppi, into + *used + block.bytes_at + DOWN_AT);
            *changed = true;
        }
        *used += block.length;
    }
    return true;
}

enum qs_status
qs_editor_blocks_edit(const uint8_t *blocks, size_t size, double ppi, uint8_t **out,
                      size_t *out_size, struct qs_error *err)
{
    uint8_t *into = qs_alloc(size, 1);
    bool changed = false;

    *out = NULL;
    *out_size = 0;
    if (into == NULL)
        return qs_fail_memory(err);
    if (edit(blocks, size, ppi, into, out_size, &changed) && changed)
        *out = into;
    else
        qs_free(into);
    return QS_OK;
}
