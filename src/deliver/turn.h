/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * turn.h - delivered pixels turned upright, by way of a file
 *
 * A picture that lies on its side ends with the first column of what is stored: it
 * can't be turned strip by strip.  So the strips go into a nameless file beside the
 * delivery first, as large as its pixels, and upright strips are put together from
 * there.  Memory stays that of some strips.
 *
 * Orientation: TIFF 6.0, tag 274, 1 to 8.
 * Units: pixels.
 * Threads: qs_turn_keep from any thread; the rest belongs to one.
 */
#ifndef QS_DELIVER_TURN_H
#define QS_DELIVER_TURN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/plane.h"
#include "base/pool.h"
#include "base/status.h"
#include "image/writer.h"

/* Whether width and height change places when a picture is turned upright. */
bool
qs_turn_swaps(int orientation);

/* A point of the upright picture, given the stored one's sides, as it is stored. */
void
qs_turn_point(int orientation, int width, int height, int *x, int *y);

/* Where a box of the stored picture lies in the upright one. */
struct qs_box
qs_turn_box(int orientation, int width, int height, struct qs_box stored);

struct qs_turn;

/*
 * Makes room for a stored picture of `width` x `height` pixels of `pixel_bytes`, in a
 * file whose name begins as `path` does and is taken away at once.
 *
 *   QS_OK           *out is to be freed with qs_turn_free
 *   QS_ERR_WRITE, QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_turn_new(const char *path, int width, int height, size_t pixel_bytes,
            int orientation, struct qs_turn **out, struct qs_error *err);

/* Frees; NULL is allowed. */
void
qs_turn_free(struct qs_turn *turn);

/* Keeps stored rows first ... first + rows - 1.  QS_OK or QS_ERR_WRITE. */
QS_MUST_CHECK enum qs_status
qs_turn_keep(struct qs_turn *turn, int first, int rows, const void *codes,
             struct qs_error *err);

/*
 * Writes the upright picture, whose sides those of the writer are, after all rows have
 * been kept.  Statuses as of the qs_writer calls.
 */
QS_MUST_CHECK enum qs_status
qs_turn_write(struct qs_turn *turn, struct qs_writer *writer, struct qs_pool *pool,
              struct qs_error *err);

#endif
