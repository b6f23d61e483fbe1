/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * png_write.h - a picture as a PNG file: its chunks
 *
 * Private to this folder; writer.c calls it.  libpng writes what comes before the
 * pixels and frames the chunks; the pixels' deflate stream is put together from
 * packed strips.
 *
 * Threads: pack may run in many; the rest belongs to one thread at a time.
 */
#ifndef QS_IMAGE_PNG_WRITE_H
#define QS_IMAGE_PNG_WRITE_H

#include "image/picture_format.h"

extern const struct qs_picture_format qs_png_format;

#endif
