/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * resources.h - an editor's image resources, made true of another picture
 *
 * Private to this folder.  TIFF's tag 34377 holds them one after the other, numbers
 * high byte first, whatever the byte order of the file: four letters ("8BIM"), a number
 * that says what it is, a name, a size, the bytes (published with the format PSD;
 * layout and numbers from memory).
 *
 * Threads: results depend on the arguments alone.
 */
#ifndef QS_IMAGE_RESOURCES_H
#define QS_IMAGE_RESOURCES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Sets *out, of *out_size bytes, to the resources in `bytes` without previews (1033 and
 * 1036) and with resolution (1005) set to `ppi`, pixels per inch, or taken away where
 * it is 0 or more than the resource can say.  The units an editor shows it in stay, as
 * does every other resource to the byte.  *out is NULL where all is to stay as it is:
 * nothing was untrue, or, with *is_sound false, the bytes are not sound resources.
 * Zeros after the last one are allowed.
 *
 *   QS_OK           *out is to be freed with qs_free; *out_size may be 0
 *   QS_ERR_MEMORY   *out is NULL
 */
QS_MUST_CHECK enum qs_status
qs_resources_make_true(const uint8_t *bytes, size_t size, double ppi, uint8_t **out,
                       size_t *out_size, bool *is_sound, struct qs_error *err);

#endif
