/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * traces_blocks.h - the 8 x 8 blocks that lossy compression leaves
 *
 * JPEG codes blocks of 8 x 8 pixels apart from each other: across their borders the
 * picture is rougher than inside.  Roughness is gathered by place modulo 8, tile by
 * tile, and compared between places that are 2, 4 and 6 pixels apart, which
 * demosaicing makes alike.  An edge of the scene can lie at one place all the way down
 * the frame; so tiles are put together by column (by row for the other direction), and
 * the median over the columns is what counts.
 *
 * Threads: a struct qs_blocks has one owner; add tiles in the same order for the same
 * bits.
 * Method: docs/method/traces.md, equations T17 to T19.
 */
#ifndef QS_MEASURE_TRACES_BLOCKS_H
#define QS_MEASURE_TRACES_BLOCKS_H

#include <stdbool.h>

#include "base/plane.h"

enum {
    QS_BLOCK_PX = 8,
    QS_BLOCK_TILE_PX = 32,
    QS_BLOCK_UNITS =
        64,             /* columns of tiles, neighbours together where there are more */
    QS_BLOCK_AREAS = 64 /* most areas that are judged together */
};

/* Of one direction and one column (or row) of tiles: how far each place stands out. */
struct qs_block_unit {
    double sum[QS_BLOCK_PX];
    long tiles;
};

struct qs_blocks {
    struct qs_box area; /* the part of the frame that is looked at */
    struct qs_block_unit across[QS_BLOCK_UNITS]; /* borders met going across */
    struct qs_block_unit down[QS_BLOCK_UNITS];
};

void
qs_blocks_init(struct qs_blocks *blocks, struct qs_box area);

/*
 * Adds the tiles of a plane whose top left pixel is (area.x, y) in the frame, as wide
 * as the area; y - area.y is a multiple of QS_BLOCK_TILE_PX.  Tiles without any
 * variation don't count.
 */
void
qs_blocks_add(struct qs_blocks *blocks, const struct qs_plane *plane, int y);

/* Roughness of one tile, by the place modulo 8 of the right or lower neighbour. */
struct qs_block_tile {
    double across[QS_BLOCK_PX];
    double down[QS_BLOCK_PX];
};

/*
 * The two halves of the same, for tiles looked at side by side: looks at the tile in
 * this column of tiles whose top is row `top` of the plane.  From any thread.
 */
void
qs_blocks_look(const struct qs_blocks *blocks, const struct qs_plane *plane, int y,
               int top, int column, struct qs_block_tile *out);

/* Adds a tile whose top is row y of the frame: by one thread, in the order of rows. */
void
qs_blocks_note(struct qs_blocks *blocks, int y, int column,
               const struct qs_block_tile *tile);

struct qs_blocks_answer {
    bool seen;
    int x; /* a block's left edge is at a column that is x modulo 8 */
    int y;
    double rougher; /* at the borders, as a share of the roughness elsewhere */
    double sure;    /* its sd beyond chance */
};

/* Up to QS_BLOCK_AREAS areas of one frame together. */
void
qs_blocks_judge(const struct qs_blocks *const *areas, int count,
                struct qs_blocks_answer *out);

#endif
