/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * tiff_read.h - TIFF files as rows
 *
 * Private to this folder; libtiff is known to the tiff_*.c files alone.
 */
#ifndef QS_IMAGE_TIFF_READ_H
#define QS_IMAGE_TIFF_READ_H

#include "image/image_reader.h"

extern const struct qs_image_reader qs_tiff_reader;

#endif
