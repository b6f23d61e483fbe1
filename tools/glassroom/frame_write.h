/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * frame_write.h - a finished frame to a TIFF or PNG file
 *
 * The file appears under its name only when it is whole.
 */
#ifndef GLASSROOM_FRAME_WRITE_H
#define GLASSROOM_FRAME_WRITE_H

#include "base/pool.h"
#include "encode.h"
#include "picture.h"
#include "profile_out.h"
#include "recipe.h"

#define GR_SOFTWARE "glassroom"
#define GR_DATE                                                                        \
    "2026:01:15 17:05:00" /* the same for all frames, so that they repeat              \
                           */

/* All a writer needs. */
struct gr_writing {
    const struct gr_recipe *recipe;
    const struct gr_picture *picture;
    const struct gr_encoder *encoder;
    const struct gr_profile *profile;
    struct qs_pool *pool;
};

/*
 * Writes the frame; the ending of `path` says which kind (.tif .tiff .png).
 *
 *   QS_OK
 *   QS_ERR_USAGE    the ending is another, or the kind cannot hold 32-bit floats
 *   QS_ERR_WRITE    the file could not be written whole
 *   QS_ERR_MEMORY, QS_ERR_PROFILE
 */
QS_MUST_CHECK enum qs_status
gr_frame_write(const struct gr_recipe *recipe, const struct gr_picture *picture,
               struct qs_pool *pool, const char *path, struct qs_error *err);

/* Makes the frame of the recipe and writes it; statuses as above. */
QS_MUST_CHECK enum qs_status
gr_frame_to_file(const struct gr_recipe *recipe, struct qs_pool *pool, const char *path,
                 struct qs_error *err);

/* The writers behind gr_frame_write; they write to `path` as it is. */
QS_MUST_CHECK enum qs_status
gr_write_tiff(const struct gr_writing *writing, const char *path, struct qs_error *err);

QS_MUST_CHECK enum qs_status
gr_write_png(const struct gr_writing *writing, const char *path, struct qs_error *err);

/*
 * The EXIF facts of the recipe as a TIFF stream for PNG's eXIf chunk; returns
 * its size, at most GR_EXIF_MAX.
 */
enum {
    GR_EXIF_MAX = 512
};
size_t
gr_exif_stream(const struct gr_recipe *recipe, unsigned char out[GR_EXIF_MAX]);

#endif
