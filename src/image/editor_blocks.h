/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * editor_blocks.h - the blocks that picture editors keep in TIFF tag 34377
 *
 * A row of blocks "8BIM", number, name, length, bytes.  Previews among them are taken
 * out and the resolution is made true; all others stay as they are.
 *
 * Private to this folder.  Format and numbers from memory of its public description
 * (image resources: 1005 resolution, 1033 and 1036 previews).
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_IMAGE_EDITOR_BLOCKS_H
#define QS_IMAGE_EDITOR_BLOCKS_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Edits `blocks`, of `size` bytes; ppi 0 = resolution stays.
 *
 *   QS_OK           *out, of *out_size bytes, is to be freed with qs_free; NULL =
 *                   nothing is to be changed, or this is no row of blocks
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_editor_blocks_edit(const uint8_t *blocks, size_t size, double ppi, uint8_t **out,
                      size_t *out_size, struct qs_error *err);

#endif
