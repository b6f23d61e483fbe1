/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * photos.h - clean pictures from files
 *
 * For the patch benchmark alone.
 */
#ifndef BENCH_PHOTOS_H
#define BENCH_PHOTOS_H

#include "sim.h"

/*
 * Reads a TIFF or PNG file as linear light, each pixel the mean of `reduce` by `reduce`
 * of the file's: a picture's own noise goes down as much.  Ends the program with a
 * sentence where the file cannot be used.
 */
struct picture
photo_read(const char *path, int reduce);

#endif
