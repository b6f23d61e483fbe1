/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tiff_rows.h - rows of samples out of a TIFF's strips and tiles
 *
 * Private to the tiff_*.c files.  Hands out rows as stored, extra samples that
 * are not kept left aside: no widening of half floats, no turning over.
 *
 * Memory: strips need one row, and what libtiff holds: the largest strip in its
 * compressed form (of each colour where planes are separate), nothing where the
 * file is uncompressed.  Tiles need one row of tiles, and one tile more.
 */
#ifndef QS_IMAGE_TIFF_ROWS_H
#define QS_IMAGE_TIFF_ROWS_H

#include "image/tiff_handle.h"
#include "image/tiff_kind.h"

enum {
    QS_TIFF_MOST_PLANES = 4
};

/* A handle and the row it would decode next, for one plane or for all of them. */
struct qs_tiff_plane {
    TIFF *tiff;
    int next_row;
};

struct qs_tiff_rows {
    struct qs_tiff_kind kind;
    struct qs_tiff_plane plane[QS_TIFF_MOST_PLANES]; /* unused ones have no handle */
    unsigned char *line;                             /* one row or tile as decoded */
    unsigned char *band; /* tiles: a row of tiles, kept samples alone */
    int band_first;      /* row of the picture at the band's top; -1 = none */
};

/*
 * Takes over `tiff`, whose current page is at `directory` of the file `path` and
 * has been understood as *kind.  To be cleared whatever the status.
 *
 *   QS_OK, QS_ERR_READ (the file can't be opened again), QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_tiff_rows_init(struct qs_tiff_rows *rows, TIFF *tiff, const char *path,
                  uint64_t directory, const struct qs_tiff_kind *kind,
                  struct qs_error *err);

/* Closes the handles and frees the memory; a zeroed struct is allowed. */
void
qs_tiff_rows_clear(struct qs_tiff_rows *rows);

/*
 * Writes row `row`, of width x kind.pixel_bytes, to `into`.  Cheap for rising
 * rows; whole strips and tiles between are not decoded.
 *
 *   QS_OK, QS_ERR_READ
 */
QS_MUST_CHECK enum qs_status
qs_tiff_row(struct qs_tiff_rows *rows, int row, unsigned char *into,
            struct qs_error *err);

/* Whether the file holds its pixels one by one, as qs_tiff_window wants them. */
bool
qs_tiff_is_open(const struct qs_tiff_rows *rows);

/*
 * Reads the stored pixels of a box, row by row, where the file is so; from any thread.
 *
 *   QS_OK, QS_ERR_READ
 */
QS_MUST_CHECK enum qs_status
qs_tiff_window(const struct qs_tiff_rows *rows, struct qs_box box, unsigned char *into,
               struct qs_error *err);

#endif
