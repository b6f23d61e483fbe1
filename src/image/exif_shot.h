/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * exif_shot.h - from EXIF fields to what is known of a shot
 *
 * Private to this folder.  The rules: docs/reading.md, "What the shot says of
 * itself".
 */
#ifndef QS_IMAGE_EXIF_SHOT_H
#define QS_IMAGE_EXIF_SHOT_H

#include <stdint.h>

#include "image/exif_block.h"
#include "image/shot.h"

/*
 * Fills *shot from the directory at `page_directory` (0 = the first one) and its
 * EXIF directory, then from those of the file's first page where they are silent.
 * Never fails: a damaged block leaves everything unknown.
 */
void
qs_exif_shot(struct qs_exif_source source, uint64_t page_directory,
             struct qs_shot *shot);

#endif
