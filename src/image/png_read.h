/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * png_read.h - PNG files as rows
 *
 * Private to this folder; libpng is known to the png_*.c files alone.
 */
#ifndef QS_IMAGE_PNG_READ_H
#define QS_IMAGE_PNG_READ_H

#include "image/image_reader.h"

extern const struct qs_image_reader qs_png_reader;

#endif
