/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/picture_sink.h"

#include "base/memory.h"

static enum qs_status
pack(void *context, int index, void *codes, int rows, void **made, struct qs_error *err)
{
    struct qs_packed *packed = qs_alloc(1, sizeof *packed);
    enum qs_status status;

    if (packed == NULL)
        return qs_fail_memory(err);
    status = qs_writer_pack(context, index, codes, rows, packed, err);
    if (status != QS_OK) {
        qs_free(packed);
        return status;
    }
    *made = packed;
    return QS_OK;
}

static void
drop(void *context, void *made)
{
    (void)context;
    qs_packed_clear(made);
    qs_free(made);
}

static enum qs_status
put(void *context, int index, void *made, struct qs_error *err)
{
    enum qs_status status = qs_writer_put(context, made, err);

    (void)index;
    drop(context, made);
    return status;
}

struct qs_strip_sink
qs_sink_into_writer(struct qs_writer *writer)
{
    return (struct qs_strip_sink){writer, qs_writer_strip_rows(writer), pack, put,
                                  drop};
}

static enum qs_status
keep(void *context, int index, void *codes, int rows, void **made, struct qs_error *err)
{
    struct qs_turn_sink *into = context;

    *made = NULL; /* nothing is left to be put */
    return qs_turn_keep(into->turn, index * into->strip_rows, rows, codes, err);
}

static enum qs_status
put_nothing(void *context, int index, void *made, struct qs_error *err)
{
    (void)context;
    (void)index;
    (void)made;
    (void)err;
    return QS_OK;
}

struct qs_strip_sink
qs_sink_into_turn(struct qs_turn_sink *into)
{
    return (struct qs_strip_sink){into, into->strip_rows, keep, put_nothing, drop};
}
