/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/png_colour.h"

#include <string.h>

/* A PNG four-byte unsigned integer ends at 2^31 - 1; gAMA and cHRM count 1/100000. */
#define LARGEST_NUMBER 0x7fffffffU
#define UNITS 100000.0

enum {
    CICP_BYTES = 4,
    SRGB_BYTES = 1,
    GAMA_BYTES = 4,
    CHRM_BYTES = 32
};

static bool
read_number(const uint8_t *at, double *number)
{
    uint32_t units = (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 |
                     (uint32_t)at[2] << 8 | (uint32_t)at[3];

    *number = units / UNITS;
    return units <= LARGEST_NUMBER;
}

/* RGB in a PNG leaves no choice of matrix: 0 is the only one allowed. */
static void
add_cicp(struct qs_png_colour *found, const uint8_t *contents)
{
    if (contents[2] != 0 || contents[3] > 1)
        return;
    memcpy(found->cicp, contents, sizeof found->cicp);
    found->has_cicp = true;
}

static void
add_srgb(struct qs_png_colour *found, const uint8_t *contents)
{
    found->has_srgb = contents[0] <= 3; /* rendering intents 0 to 3 */
}

static void
add_gama(struct qs_png_colour *found, const uint8_t *contents)
{
    double gama;

    if (!read_number(contents, &gama) || gama <= 0.0)
        return;
    found->gama = gama;
    found->has_gama = true;
}

/* A white of y = 0 has no luminance to be relative to. */
static void
add_chrm(struct qs_png_colour *found, const uint8_t *contents)
{
    double chrm[8];

    for (int i = 0; i < 8; i++)
        if (!read_number(contents + (size_t)i * 4, &chrm[i]))
            return;
    if (chrm[1] <= 0.0)
        return;
    memcpy(found->chrm, chrm, sizeof found->chrm);
    found->has_chrm = true;
}

void
qs_png_colour_add(struct qs_png_colour *found, const char name[4],
                  const uint8_t *contents, size_t bytes)
{
    if (memcmp(name, "cICP", 4) == 0 && bytes == CICP_BYTES && !found->has_cicp)
        add_cicp(found, contents);
    else if (memcmp(name, "sRGB", 4) == 0 && bytes == SRGB_BYTES && !found->has_srgb)
        add_srgb(found, contents);
    else if (memcmp(name, "gAMA", 4) == 0 && bytes == GAMA_BYTES && !found->has_gama)
        add_gama(found, contents);
    else if (memcmp(name, "cHRM", 4) == 0 && bytes == CHRM_BYTES && !found->has_chrm)
        add_chrm(found, contents);
}

void
qs_png_colour_rank(const struct qs_png_colour *found, const uint8_t *icc,
                   size_t icc_size, struct qs_colour_tags *tags)
{
    memset(tags, 0, sizeof *tags);
    tags->claim = found->has_cicp   ? QS_CLAIM_CICP
                  : icc != NULL     ? QS_CLAIM_ICC
                  : found->has_srgb ? QS_CLAIM_SRGB
                  : found->has_gama ? QS_CLAIM_GAMA
                                    : QS_CLAIM_NONE;
    if (tags->claim == QS_CLAIM_CICP)
        memcpy(tags->cicp, found->cicp, sizeof tags->cicp);
    if (tags->claim == QS_CLAIM_ICC) {
        tags->icc = icc;
        tags->icc_size = icc_size;
    }
    if (tags->claim != QS_CLAIM_GAMA)
        return;
    tags->gama = found->gama;
    tags->has_chromaticity = found->has_chrm;
    if (found->has_chrm)
        memcpy(tags->chromaticity, found->chrm, sizeof tags->chromaticity);
}
