/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * png_colour.h - the PNG chunks that say what the codes mean as colour
 *
 * Private to this folder, and free of libpng: works on chunk contents.
 * cICP, sRGB, gAMA and cHRM are read as plain bytes rather than through libpng,
 * which lets a later chunk lose to an earlier one whatever their ranks, drops gAMA
 * where cHRM is odd, and knows cICP since 1.6.45 only.
 *
 * Source: W3C, Portable Network Graphics (PNG) Specification, Third Edition,
 * 4.3 (priority) and 11.3.2 (contents).
 */
#ifndef QS_IMAGE_PNG_COLOUR_H
#define QS_IMAGE_PNG_COLOUR_H

#include <stddef.h>

#include "image/image.h"

/* What was found, whatever its rank; claims that outrank others are chosen later. */
struct qs_png_colour {
    bool has_cicp;
    bool has_srgb;
    bool has_gama;
    bool has_chrm;
    uint8_t cicp[4];
    double gama;
    double chrm[8];
};

/*
 * Takes in one chunk, in file order; other chunks, repeated ones and those with
 * contents the specification does not allow are passed over.
 */
void
qs_png_colour_add(struct qs_png_colour *found, const char name[4],
                  const uint8_t *contents, size_t bytes);

/* Fills *tags by rank; an ICC profile (NULL = none) remains its owner's. */
void
qs_png_colour_rank(const struct qs_png_colour *found, const uint8_t *icc,
                   size_t icc_size, struct qs_colour_tags *tags);

#endif
