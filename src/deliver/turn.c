/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deliver/turn.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file_at.h"
#include "base/memory.h"
#include "base/write_reason.h"

enum {
    STRIPS_PER_THREAD = 2
};

/* How a stored picture is to be read to be upright. */
static const struct way {
    bool swaps;   /* its columns are rows */
    bool flips_x; /* its columns are counted from the other side */
    bool flips_y; /* its rows likewise */
} ways[] = {
    [1] = {false, false, false}, [2] = {false, true, false}, [3] = {false, true, true},
    [4] = {false, false, true},  [5] = {true, false, false}, [6] = {true, false, true},
    [7] = {true, true, true},    [8] = {true, true, false}};

struct qs_turn {
    int file;
    int width, height; /* stored */
    size_t pixel_bytes;
    int orientation;
};

bool
qs_turn_swaps(int orientation)
{
    return ways[orientation].swaps;
}

void
qs_turn_point(int orientation, int width, int height, int *x, int *y)
{
    const struct way way = ways[orientation];
    const int across = way.swaps ? *y : *x, down = way.swaps ? *x : *y;

    *x = way.flips_x ? width - 1 - across : across;
    *y = way.flips_y ? height - 1 - down : down;
}

struct qs_box
qs_turn_box(int orientation, int width, int height, struct qs_box stored)
{
    const struct way way = ways[orientation];
    const int across = way.flips_x ? width - stored.x - stored.width : stored.x;
    const int down = way.flips_y ? height - stored.y - stored.height : stored.y;

    if (way.swaps)
        return (struct qs_box){down, across, stored.height, stored.width};
    return (struct qs_box){across, down, stored.width, stored.height};
}

/* A file without a name: gone whatever happens to the program. */
static enum qs_status
open_nameless(const char *path, int *file, struct qs_error *err)
{
    size_t room = strlen(path) + sizeof "-XXXXXX";
    char *name = qs_alloc(room, 1);

    if (name == NULL)
        return qs_fail_memory(err);
    (void)snprintf(name, room, "%s-XXXXXX", path);
    *file = mkstemp(name);
    if (*file >= 0)
        (void)unlink(name);
    qs_free(name);
    return *file >= 0 ? QS_OK : qs_fail_write(err);
}

enum qs_status
qs_turn_new(const char *path, int width, int height, size_t pixel_bytes,
            int orientation, struct qs_turn **out, struct qs_error *err)
{
    struct qs_turn *turn = qs_alloc(1, sizeof *turn);
    enum qs_status status;

    *out = NULL;
    if (turn == NULL)
        return qs_fail_memory(err);
    *turn = (struct qs_turn){-1, width, height, pixel_bytes, orientation};
    status = open_nameless(path, &turn->file, err);
    if (status == QS_OK)
        *out = turn;
    else
        qs_turn_free(turn);
    return status;
}

void
qs_turn_free(struct qs_turn *turn)
{
    if (turn == NULL)
        return;
    if (turn->file >= 0)
        (void)close(turn->file);
    qs_free(turn);
}

static uint64_t
place_of(const struct qs_turn *turn, int x, int y)
{
    return ((uint64_t)y * (uint64_t)turn->width + (uint64_t)x) * turn->pixel_bytes;
}

enum qs_status
qs_turn_keep(struct qs_turn *turn, int first, int rows, const void *codes,
             struct qs_error *err)
{
    const size_t bytes = (size_t)rows * (size_t)turn->width * turn->pixel_bytes;

    return qs_write_at(turn->file, place_of(turn, 0, first), codes, bytes)
               ? QS_OK
               : qs_fail_write(err);
}

/* Stored pixels x ... x + count - 1 of row y. */
static enum qs_status
fetch(const struct qs_turn *turn, int x, int y, int count, unsigned char *into,
      struct qs_error *err)
{
    if (qs_read_at(turn->file, place_of(turn, x, y), into,
                   (size_t)count * turn->pixel_bytes))
        return QS_OK;
    return qs_fail(err, QS_ERR_WRITE,
                   "What was kept on the disk to be turned upright could not be read "
                   "again (%s); see that the disk is well.",
                   errno != 0 ? strerror(errno) : "it ends too soon");
}

/* One upright strip on its way. */
struct strip {
    unsigned char *codes, *line;
    struct qs_packed packed;
    enum qs_status status;
    struct qs_error err;
};

struct writing {
    struct qs_turn *turn;
    struct qs_writer *writer;
    int width, height; /* upright */
    int first;         /* strip of the round */
    struct strip *strips;
};

static int
rows_of(const struct writing *w, int index)
{
    int each = qs_writer_strip_rows(w->writer), left = w->height - index * each;

    return left < each ? left : each;
}

/* Upright rows that are stored rows, perhaps from the bottom and right to left. */
static enum qs_status
gather_rows(const struct writing *w, struct strip *strip, int top, int rows,
            struct qs_error *err)
{
    const struct qs_turn *turn = w->turn;
    const size_t bytes = turn->pixel_bytes, row_bytes = (size_t)w->width * bytes;
    const bool mirrors = ways[turn->orientation].flips_x;

    for (int row = 0; row < rows; row++) {
        unsigned char *to = strip->codes + (size_t)row * row_bytes;
        int x = 0, y = top + row;
        enum qs_status status;

        qs_turn_point(turn->orientation, turn->width, turn->height, &x, &y);
        status = fetch(turn, 0, y, turn->width, mirrors ? strip->line : to, err);
        if (status != QS_OK)
            return status;
        for (int i = 0; mirrors && i < w->width; i++)
            memcpy(to + (size_t)i * bytes,
                   strip->line + (size_t)(w->width - 1 - i) * bytes, bytes);
    }
    return QS_OK;
}

/* Upright rows that are stored columns: a piece of each stored row is a column. */
static enum qs_status
gather_columns(const struct writing *w, struct strip *strip, int top, int rows,
               struct qs_error *err)
{
    const struct qs_turn *turn = w->turn;
    const size_t bytes = turn->pixel_bytes;
    const bool mirrors = ways[turn->orientation].flips_x;
    const int left = mirrors ? turn->width - top - rows : top;

    for (int upright_x = 0; upright_x < w->width; upright_x++) {
        int x = upright_x, y = top;
        enum qs_status status;

        qs_turn_point(turn->orientation, turn->width, turn->height, &x, &y);
        status = fetch(turn, left, y, rows, strip->line, err);
        if (status != QS_OK)
            return status;
        for (int i = 0; i < rows; i++)
            memcpy(strip->codes +
                       ((size_t)i * (size_t)w->width + (size_t)upright_x) * bytes,
                   strip->line + (size_t)(mirrors ? rows - 1 - i : i) * bytes, bytes);
    }
    return QS_OK;
}

static void
make_strip(void *context, int index)
{
    struct writing *w = context;
    struct strip *strip = &w->strips[index];
    const int number = w->first + index, rows = rows_of(w, number);
    const int top = number * qs_writer_strip_rows(w->writer);

    qs_error_clear(&strip->err);
    strip->status = qs_turn_swaps(w->turn->orientation)
                        ? gather_columns(w, strip, top, rows, &strip->err)
                        : gather_rows(w, strip, top, rows, &strip->err);
    if (strip->status == QS_OK)
        strip->status = qs_writer_pack(w->writer, number, strip->codes, rows,
                                       &strip->packed, &strip->err);
}

static enum qs_status
put_strips(struct writing *w, int count, struct qs_error *err)
{
    for (int i = 0; i < count; i++) {
        struct strip *strip = &w->strips[i];
        enum qs_status status = strip->status;

        if (status != QS_OK)
            return qs_fail(err, status, "%s", strip->err.text);
        status = qs_writer_put(w->writer, &strip->packed, err);
        qs_packed_clear(&strip->packed);
        if (status != QS_OK)
            return status;
    }
    return QS_OK;
}

static enum qs_status
write_rounds(struct writing *w, struct qs_pool *pool, int per_round,
             struct qs_error *err)
{
    enum qs_status status = QS_OK;
    const int strips = qs_writer_strips(w->writer);

    for (; status == QS_OK && w->first < strips; w->first += per_round) {
        int count = strips - w->first < per_round ? strips - w->first : per_round;

        qs_pool_run(pool, count, make_strip, w);
        status = put_strips(w, count, err);
    }
    return status;
}

static bool
strip_init(const struct writing *w, struct strip *strip)
{
    const size_t rows = (size_t)qs_writer_strip_rows(w->writer);
    const size_t row_bytes = (size_t)w->width * w->turn->pixel_bytes;
    const size_t column_bytes = rows * w->turn->pixel_bytes;

    strip->codes = qs_alloc(rows, row_bytes);
    strip->line = qs_alloc(row_bytes > column_bytes ? row_bytes : column_bytes, 1);
    return strip->codes != NULL && strip->line != NULL;
}

static void
strips_free(struct strip *strips, int count)
{
    for (int i = 0; strips != NULL && i < count; i++) {
        qs_free(strips[i].codes);
        qs_free(strips[i].line);
        qs_packed_clear(&strips[i].packed);
    }
    qs_free(strips);
}

enum qs_status
qs_turn_write(struct qs_turn *turn, struct qs_writer *writer, struct qs_pool *pool,
              struct qs_error *err)
{
    const bool swaps = qs_turn_swaps(turn->orientation);
    struct writing w = {.turn = turn,
                        .writer = writer,
                        .width = swaps ? turn->height : turn->width,
                        .height = swaps ? turn->width : turn->height};
    const int per_round = STRIPS_PER_THREAD * qs_pool_threads(pool);
    enum qs_status status;
    bool well;

    w.strips = qs_alloc((size_t)per_round, sizeof *w.strips);
    well = w.strips != NULL;
    for (int i = 0; well && i < per_round; i++)
        well = strip_init(&w, &w.strips[i]);
    status = well ? write_rounds(&w, pool, per_round, err) : qs_fail_memory(err);
    strips_free(w.strips, per_round);
    return status;
}
