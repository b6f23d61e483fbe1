/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/resources.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"

enum {
    RESOLUTION = 1005,
    OLD_PREVIEW = 1033,
    PREVIEW = 1036,
    NAME_AT = 6, /* behind four letters and the number */
    SIZE_BYTES = 4,
    RESOLUTION_BYTES = 16,
    DOWN_AT = 8 /* in a resolution: across at 0, down here */
};

/* Resolution is in 65536ths, of 32 bits with a sign. */
#define PARTS 65536.0
#define HIGHEST_PPI 32767.0

static const char editor[] = {'8', 'B', 'I', 'M'};

struct resource {
    const uint8_t *start;
    size_t size; /* all of it, evened out */
    bool is_editors;
    unsigned number;
    size_t data, data_size; /* from its start */
};

static uint32_t
number_at(const uint8_t *bytes, size_t count)
{
    uint32_t number = 0;

    for (size_t i = 0; i < count; i++)
        number = number << 8 | bytes[i];
    return number;
}

static void
put_number(uint8_t *into, uint32_t number)
{
    for (int i = 0; i < 4; i++)
        into[i] = (uint8_t)(number >> (24 - 8 * i));
}

static size_t
even(size_t size)
{
    return size + size % 2;
}

static bool
are_letters(const uint8_t *bytes)
{
    for (int i = 0; i < 4; i++)
        if (bytes[i] < ' ' || bytes[i] > '~')
            return false;
    return true;
}

/* False where no whole resource begins at `bytes`; the last may lack its last zero. */
static bool
read_resource(const uint8_t *bytes, size_t left, struct resource *out)
{
    size_t size_at;

    if (left <= NAME_AT || !are_letters(bytes))
        return false;
    size_at = NAME_AT + even(1 + (size_t)bytes[NAME_AT]);
    if (left < size_at + SIZE_BYTES)
        return false;
    *out = (struct resource){.start = bytes,
                             .is_editors = memcmp(bytes, editor, sizeof editor) == 0,
                             .number = number_at(bytes + 4, 2),
                             .data = size_at + SIZE_BYTES,
                             .data_size = number_at(bytes + size_at, SIZE_BYTES)};
    if (out->data_size > left - out->data)
        return false;
    out->size = out->data + even(out->data_size);
    out->size = out->size < left ? out->size : left;
    return true;
}

static bool
are_zeros(const uint8_t *bytes, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (bytes[i] != 0)
            return false;
    return true;
}

static bool
is_stale(const struct resource *resource, double ppi)
{
    if (!resource->is_editors)
        return false;
    return resource->number == OLD_PREVIEW || resource->number == PREVIEW ||
           (resource->number == RESOLUTION && (ppi <= 0.0 || ppi > HIGHEST_PPI));
}

/* Copies the resource, made true; how many bytes. */
static size_t
put_resource(const struct resource *resource, double ppi, uint8_t *into)
{
    uint32_t parts = (uint32_t)lround(fmin(ppi, HIGHEST_PPI) * PARTS);

    if (is_stale(resource, ppi))
        return 0;
    memcpy(into, resource->start, resource->size);
    if (resource->is_editors && resource->number == RESOLUTION &&
        resource->data_size == RESOLUTION_BYTES) {
        put_number(into + resource->data, parts);
        put_number(into + resource->data + DOWN_AT, parts);
    }
    return resource->size;
}

/* False where a resource is not sound. */
static bool
put_all(const uint8_t *bytes, size_t size, double ppi, uint8_t *into, size_t *into_size)
{
    size_t at = 0, to = 0;

    while (at < size && !are_zeros(bytes + at, size - at)) {
        struct resource resource;

        if (!read_resource(bytes + at, size - at, &resource))
            return false;
        to += put_resource(&resource, ppi, into + to);
        at += resource.size;
    }
    memcpy(into + to, bytes + at, size - at);
    *into_size = to + size - at;
    return true;
}

enum qs_status
qs_resources_make_true(const uint8_t *bytes, size_t size, double ppi, uint8_t **out,
                       size_t *out_size, bool *is_sound, struct qs_error *err)
{
    uint8_t *made = qs_alloc(size, 1);

    *out = NULL;
    *out_size = 0;
    if (made == NULL)
        return qs_fail_memory(err);
    *is_sound = put_all(bytes, size, ppi, made, out_size);
    if (!*is_sound || (*out_size == size && memcmp(made, bytes, size) == 0)) {
        qs_free(made);
        *out_size = 0;
        return QS_OK;
    }
    *out = made;
    return QS_OK;
}
