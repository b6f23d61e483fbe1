/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * written_profile.h - an ICC profile that says what a PNG's colour chunks say
 *
 * A TIFF has no place for cICP, sRGB, gAMA and cHRM: a picture that goes from PNG to
 * TIFF keeps its colour by a profile.
 *
 * Method: docs/method/deliver.md.
 */
#ifndef QS_LINEAR_WRITTEN_PROFILE_H
#define QS_LINEAR_WRITTEN_PROFILE_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "image/image.h"

/*
 * The profile of what `info` claims by a chunk; none for other claims.  The same claim
 * gives the same bytes.
 *
 *   QS_OK            *bytes is to be freed with qs_free, NULL = nothing to be said
 *   QS_ERR_PROFILE   the chunk says what can't be undone
 *   QS_ERR_MEMORY
 */
QS_MUST_CHECK enum qs_status
qs_written_profile(const struct qs_image_info *info, uint8_t **bytes, size_t *size,
                   struct qs_error *err);

#endif
